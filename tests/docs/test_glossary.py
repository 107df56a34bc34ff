"""The glossary names what results, timelines and tables of draws hold."""

import re

import pytest
from docs_pages import DOCS, ROOT

from bankSim import make_plan, read_scenario, simulate, threads
from bankSim.kernels.actions import FRUITLESS_PART
from bankSim.kernels.arrays import MOST_FRUITLESS
from bankSim.sim.cautions.cut_outs import MOST_HICCUPS
from bankSim.sim.hiccups import SHORT_RETURN
from bankSim.study.blocks import run_draws

GLOSSARY = (DOCS / "glossary.md").read_text(encoding="utf-8")
NAMED = set(re.findall(r"`([^`\n]+)`", GLOSSARY))


@pytest.fixture(scope="module")
def sunny():
    """Chargers, balancers, a battery that leaves and comes back."""
    return simulate(read_scenario(ROOT / "scenarios" / "three-days-of-sun.toml"))


def keys_of(value):
    """Return the names of all entries, at any depth."""
    if isinstance(value, dict):
        return set(value).union(*(keys_of(one) for one in value.values()))
    if isinstance(value, list):
        return set().union(*(keys_of(one) for one in value))
    return set()


def unnamed(column, names):
    """Return a column with NAME for the name of a battery or charger."""
    return next(
        (f"NAME.{column[len(name) + 1 :]}" for name in names if column.startswith(f"{name}.")),
        column,
    )


def test_every_name_of_a_summary_is_explained(sunny):
    summary = sunny.summary()
    tables = {"bank", "batteries", "events", "chargers", "joining", "returns", "balancing",
              "cautions", "assumed", "numerics", "energy", "pairs"}  # fmt: skip
    assert summary["balancing"]
    assert summary["chargers"]
    assert summary["events"]
    assumed = {"key", "source"}  # of the list "assumed"
    assert keys_of(summary) - tables - assumed - NAMED == set()


def test_every_column_of_a_timeline_is_explained(sunny):
    names = [*(one.name for one in sunny.batteries), *(one.name for one in sunny.chargers)]
    columns = {unnamed(column, names) for column in sunny.timeline().columns}
    assert {re.sub(r"cell\d+_", "cell1_", column) for column in columns} - NAMED == set()


def test_every_column_of_a_table_of_draws_is_explained():
    scenario = read_scenario(ROOT / "scenarios" / "weak-cell.toml")
    with threads() as workers:
        found = run_draws(make_plan(scenario), 2, workers)
    as_results = NAMED | {f"NAME.{name}" for name in NAMED} | {f"bank.{name}" for name in NAMED}
    assert "draw" in found.store.names()
    names = [battery.name for battery in scenario.bank.batteries]
    assert {unnamed(column, names) for column in found.store.names()} - as_results == set()


def test_the_example_of_a_sodium_ion_battery_runs(tmp_path):
    page = (DOCS / "chemistries" / "sodium-ion.md").read_text(encoding="utf-8")
    text, rows = (
        re.search(rf"```{kind}\n(.*?)```", page, re.DOTALL)[1] for kind in ("toml", "csv")
    )
    (tmp_path / "sodium.csv").write_text(rows)
    path = tmp_path / "bank.toml"
    path.write_text(text)
    result = simulate(read_scenario(path))
    assert result.end_reason == "bank empty"
    # 50 Ah of label and table; its lowest cell trips at 1.5 V, past the table's end at 1.8 V
    assert 48.0 < result.bank.delivered_Ah < 55.0


def test_hiccups_and_returns_in_vain_have_their_numbers_everywhere():
    hiccup, vain = f"{100.0 * SHORT_RETURN:g} %", f"{100.0 * FRUITLESS_PART:g} %"
    words = dict(re.findall(r"^\| (hiccup|return in vain) \| (.*) \|$", GLOSSARY, re.MULTILINE))
    assert hiccup in words["hiccup"]
    assert vain not in words["hiccup"]
    assert vain in words["return in vain"]
    (told,) = re.findall(r"\*In vain\.\*(.*?)\n\n", (DOCS / "scenario.md").read_text(), re.DOTALL)
    flat = " ".join(told.split())
    assert f"before {hiccup} of its label has passed, hiccups" in flat
    assert f"If less than {vain} of its label has passed" in flat
    assert f"after {MOST_FRUITLESS} times in a row" in flat
    assert MOST_HICCUPS == 3  # "from three times on"
    (field,) = re.findall(r"^\| `hiccups` .*$", GLOSSARY, re.MULTILINE)
    assert f"before {hiccup} of the label" in field
