"""Numbers given with a spread: every form that is taken, at every key that takes one."""

import tomllib

import pytest
from jsonschema import Draft202012Validator
from pytest import approx
from rich_scenario import numbers, rich
from scenario_texts import LFP, TABLE_ONLY, read

from bankSim.model.spread import Shape, Spread
from bankSim.scenario.given_spreads import given_spreads
from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.schema import scenario_schema
from bankSim.scenario.variant import Variants, put
from bankSim.sim.run import simulate

LOAD = "[[load]]\npower_W = 300\n"
SHORT = "[simulation]\nduration_h = 1\n"
# (what is written for lead_mohm, central value, spread)
FORMS = [
    ("{ value = 2.0, sd = 0.25 }", Spread(Shape.NORMAL, 2.0, 0.25, 0.0, 100_000.0)),
    ("{ value = 2, sd = 0 }", Spread(Shape.NORMAL, 2.0, 0.0, 0.0, 100_000.0)),
    ("{ value = 2.0, sd_percent = 10 }", Spread(Shape.NORMAL, 2.0, 0.2, 0.0, 100_000.0)),
    ("{ low = 1.5, high = 3.5 }", Spread(Shape.UNIFORM, 2.5, 0.0, 1.5, 3.5)),
    ("{ value = 2.0, low = 1, high = 4 }", Spread(Shape.TRIANGULAR, 2.0, 0.0, 1.0, 4.0)),
    ("{ value = 1.0, low = 1.0, high = 4.0 }", Spread(Shape.TRIANGULAR, 1.0, 0.0, 1.0, 4.0)),
]


def schema_takes(text):
    return Draft202012Validator(scenario_schema()).is_valid(tomllib.loads(text))


def lead(words):
    return f"{LFP}lead_mohm = {words}\n"


@pytest.mark.parametrize(("words", "spread"), FORMS, ids=[form[0] for form in FORMS])
def test_every_form(words, spread, tmp_path):
    (given,) = given_spreads(read(lead(words), tmp_path).keys)
    assert given.spread == spread
    assert given.path == ("battery", 0, "lead_mohm")
    assert given.key == "battery[1].lead_mohm"
    assert not given.independent
    assert schema_takes(lead(words))


def test_percent_of_a_negative_value(tmp_path):
    text = "[surroundings]\ntemperature_C = { value = -20, sd_percent = 10 }\n" + LFP
    (given,) = given_spreads(read(text, tmp_path).keys)
    assert given.spread.sd == approx(2.0)
    assert (given.spread.low, given.spread.high) == (-40.0, 80.0)


@pytest.mark.parametrize(("words", "spread"), FORMS, ids=[form[0] for form in FORMS])
def test_a_single_run_takes_the_central_value(words, spread, tmp_path):
    one = simulate(read(SHORT + lead(words) + LOAD, tmp_path))
    other = simulate(read(SHORT + lead(spread.value) + LOAD, tmp_path))
    assert one.trace.tobytes() == other.trace.tobytes()
    assert one.bank == other.bank
    assert one.batteries == other.batteries


# keys that the rich scenario gives in another way
MORE = [
    ("[surroundings]\ntemperature_C = {}\n" + LFP, ("surroundings", "temperature_C")),
    ("[wiring]\nlayout = 'same end'\nlink_mohm = {}\n" + LFP, ("wiring", "link_mohm")),
    ("[wiring]\nmain_mohm = {}\n" + LFP, ("wiring", "main_mohm")),
]


@pytest.mark.parametrize(("text", "path"), MORE, ids=[row[1][1] for row in MORE])
def test_more_keys(text, path, tmp_path):
    written = text.format("{ value = 2, sd = 1 }")
    (given,) = given_spreads(read(written, tmp_path).keys)
    assert (given.path, given.spread.value, given.spread.sd) == (path, 2.0, 1.0)
    assert schema_takes(written)


def test_every_key(tmp_path):
    scenario, validator = rich(tmp_path), Draft202012Validator(scenario_schema())
    variants = Variants(scenario)
    taken = [case for case in numbers(scenario) if not is_exact(case[0])]
    assert len({path[-1] for path, _ in taken}) > 45
    for path, value in taken:
        spread = {"value": value, "sd_percent": 0.5}
        (given,) = given_spreads(variants.with_values({path: spread}).keys)
        assert given.path == path
        assert (given.spread.value, given.spread.sd) == (value, approx(0.005 * abs(value)))
        document = tomllib.loads(scenario.text)
        put(document, path, spread)
        assert validator.is_valid(document), given.key


def is_exact(path):
    quantity = QUANTITIES.get(str(path[-1]))
    return "active_h" in path or (quantity is not None and (quantity.exact or quantity.whole))


SPREAD = "{ value = 2, sd = 1 }"


def test_file_order_of_the_tables(tmp_path):
    text = (
        f"[wiring]\nmain_mohm = {SPREAD}\n{TABLE_ONLY}ocv_table = 'curve.csv'\n".replace(
            "ohmic_mohm = 5.0\nocv_table = 'curve.csv'", f"ohmic_mohm = {SPREAD}"
        )
        + f"[[load]]\npower_W = {SPREAD}\n"
    )
    found = [given.key for given in given_spreads(read(text, tmp_path).keys)]
    assert found == ["wiring.main_mohm", "battery[1].cell.ohmic_mohm", "load[1].power_W"]
