"""`banksim app` without its packages, and with its options."""

import sys
import tomllib
from pathlib import Path

import pytest

from bankSim.cli.main import main
from bankSim.screens import launch, ready

PROJECT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("name", ["streamlit", "plotly"])
def test_missing_package_is_one_line(name, monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, name, None)
    assert main(["app", "--no-browser"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err == f"the screen needs the package {name}: install banksim[screen]\n"


def test_a_server_that_lacks_a_package_of_its_own_is_one_line(monkeypatch, capsys):
    monkeypatch.setattr(launch, "check_free", lambda *_: None)
    monkeypatch.setitem(sys.modules, "streamlit.web.bootstrap", None)
    assert main(["app", "--no-browser"]) == 2
    told = capsys.readouterr()
    assert (told.out, told.err.count("\n")) == ("", 1)
    assert told.err.startswith("the screen cannot start (")
    assert "streamlit.web.bootstrap" in told.err
    assert told.err.endswith("): install banksim[screen] again\n")


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


def test_a_file_of_ones_own_is_what_visitors_find(monkeypatch):
    served = []
    monkeypatch.setattr(launch, "serve", lambda *_, **more: served.append(more) or 0)
    monkeypatch.setattr(ready, "_begun_with", [])
    file = PROJECT / "scenarios/boat.toml"
    assert main(["app", str(file), "--no-browser"]) == 0
    assert served == [{"browser": False}]
    assert ready.first_draft().content == file.read_bytes()


@pytest.mark.parametrize("content", [None, "[[battery"])
def test_a_file_that_cannot_be_opened_is_one_line(content, monkeypatch, capsys, tmp_path):
    monkeypatch.setattr(launch, "serve", lambda *_, **__: pytest.fail("served"))
    file = tmp_path / "mine.toml"
    if content is not None:
        file.write_text(content)
    assert main(["app", str(file), "--no-browser"]) == 2
    told = capsys.readouterr()
    assert (told.out, told.err.count("\n")) == ("", 1)
    assert told.err.startswith(str(file))
