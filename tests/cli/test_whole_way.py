"""The whole way: each battery tested alone, calibrated, put into the bank, and the bank compared.

The logs are synthetic (scenarios/make_logs.py holds the truth, which no command sees).
"""

import json
from pathlib import Path

from pytest import approx

from bankSim.cli.main import main

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
LOGS = SCENARIOS / "logs"
BANK_LOG = str(LOGS / "synthetic-bank-parallel.csv")


def block_of(file, lead):
    """The battery of a calibrated file, with its own lead."""
    text = file.read_text(encoding="utf-8")
    battery = text[text.index("\n[[battery]]") : text.index("\n[[load]]")]
    lines = [lead if line.startswith("lead_mohm") else line for line in battery.splitlines()]
    return "\n".join(lines)


def compared(scenario, capsys):
    assert main(["compare", str(scenario), BANK_LOG, "--json", "-"]) == 0
    return json.loads(capsys.readouterr().out)


def test_calibrated_batteries_predict_the_bank_that_labels_missed(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    for name, rated in (("older", "90"), ("newer", "120")):
        log = str(LOGS / f"synthetic-{name}-capacity.csv")
        words = ["--battery", f"{name}.toml", "--name", name, "--chemistry", "LFP", "--no-plots"]
        assert main(["calibrate", log, *words, "--rated-Ah", rated]) == 0
    text = (SCENARIOS / "bench-bank.toml").read_text(encoding="utf-8")
    leads = [line for line in text.splitlines() if line.startswith("lead =")]
    head, tail = text[: text.index("\n[[battery]]")], text[text.index("\n[[load]]") :]
    blocks = [
        block_of(tmp_path / f"{name}.toml", lead)
        for name, lead in zip(("older", "newer"), leads, strict=True)
    ]
    bank = tmp_path / "bank.toml"
    bank.write_text("\n".join([head, *blocks, tail]), encoding="utf-8")
    capsys.readouterr()

    by_labels, calibrated = (
        compared(file, capsys) for file in (SCENARIOS / "bench-bank.toml", bank)
    )
    labels, told = ({one["key"]: one for one in run["numbers"]} for run in (by_labels, calibrated))
    assert labels["bank.delivered_Ah"]["part"] < -0.1
    for key in ("bank.delivered_Ah", "bank.runtime_h"):
        assert told[key]["predicted"] == approx(told[key]["measured"], rel=0.01)
    assert calibrated["consistent"]
    assert not by_labels["consistent"]
