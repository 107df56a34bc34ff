"""`banksim app` without its packages, and with its options."""

import sys
import tomllib
from pathlib import Path

import pytest

from bankSim.cli.main import main
from bankSim.screens import launch

PROJECT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("name", ["streamlit", "plotly"])
def test_missing_package_is_one_line(name, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, name, None)
    assert main(["app", "--no-browser"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err == f"the screen needs the package {name}: install banksim[screen]\n"


def test_both_settings_files_say_the_same():
    own = (PROJECT / "bankSim/screens/settings.toml").read_text(encoding="utf-8")
    repeated = (PROJECT / ".streamlit/config.toml").read_text(encoding="utf-8")
    assert tomllib.loads(own) == tomllib.loads(repeated)


def test_options_are_safe_by_default():
    found = launch.options(8501, "127.0.0.1", browser=False)
    assert found["server.address"] == "127.0.0.1"
    assert found["browser.gatherUsageStats"] is False
    assert found["server.enableXsrfProtection"] is True
    assert found["server.allowedHosts"] == ["localhost", "127.0.0.1"]
    assert found["client.showErrorDetails"] == "type"
    assert found["server.fileWatcherType"] == "none"


def test_every_option_is_one_that_the_server_knows():
    from streamlit import config

    config.get_config_options()
    known = set(config._config_options_template)
    assert set(launch.options(8501, "127.0.0.1", browser=True)) <= known


def test_other_addresses_are_allowed_as_hosts():
    one = launch.options(8501, "192.168.7.4", browser=False)
    assert one["server.allowedHosts"] == ["localhost", "127.0.0.1", "192.168.7.4"]
    assert launch.options(8501, "0.0.0.0", browser=False)["server.allowedHosts"] == []
