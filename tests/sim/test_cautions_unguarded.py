"""Batteries left deeply discharged, and batteries whose discharge nothing stops."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from made_results import Course, event, made
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery, steady

from bankSim.model.charger import Charger, Stage
from bankSim.model.load import CutOff
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.sim.cautions.unguarded import LEFT_EMPTY, UNGUARDED, of_unguarded
from bankSim.sim.result import LOAD_OFF

GUARD = Rule(Watch.LOWEST_CELL, True, 1.0)


def left(word="LFP", lasts_s=1e6, z=0.04, A=0.0, *, bank=None, cells_V=3.0, outcome=None, **more):
    """What is told of 100 Ah in use for an hour and then left, with that charge and current."""
    one = battery("a", *[affine_cell(base=2.0, span=0.1)] * 2, rules=[GUARD], chemistry=word)
    course = Course(A=[5.0, 5.0, A, A], V=2 * cells_V, z=[0.9, 0.9, z, z])
    times_s = [0.0, 3600.0, 3600.0, 3600.0 + lasts_s]
    result = made(bank_of(one, **(bank or {})), times_s, course, outcomes=[outcome or {}], **more)
    return result, list(of_unguarded(result))


# lithium below 5 % for 2 h, lead-acid below half for 12 h; a current of 1 % of the label is use
@pytest.mark.parametrize(
    ("word", "lasts_s", "z", "A", "severity"),
    [
        ("LFP", 7100.0, 0.04, 0.0, None), ("LFP", 7300.0, 0.04, 0.0, "warning"),
        ("LFP", 9e4, 0.049, 0.0, "warning"), ("LFP", 9e4, 0.051, 0.0, None),
        ("LFP", 9e4, 0.04, 0.9, "warning"), ("LFP", 9e4, 0.04, 1.1, None),
        ("LFP", 9e4, 0.04, -1.1, None),
        (None, 7300.0, 0.04, 0.0, "note"), ("sodium-ion", 9e4, 0.0, 0.0, None),
        ("AGM", 43_100.0, 0.1, 0.0, None), ("AGM", 43_300.0, 0.1, 0.0, "warning"),
        ("AGM", 9e4, 0.49, 0.0, "note"), ("AGM", 9e4, 0.51, 0.0, None),
        ("AGM", 9e4, 0.21, 0.0, "note"), ("AGM", 9e4, 0.19, 0.0, "warning"),
        # driven below empty: that has a graver caution
        (None, 9e4, -0.03, 0.0, None),
    ],
)  # fmt: skip
def test_what_is_left_how_empty_for_how_long(word, lasts_s, z, A, severity):
    _, told = left(word, lasts_s, z, A)
    assert [(one.topic, one.severity) for one in told] == (
        [(LEFT_EMPTY, severity)] if severity else []
    )


def test_what_nobody_uses_is_left_from_the_start():
    result = made(bank_of(affine()), [0.0, 7300.0], Course(z=0.04))
    assert [one.topic for one in of_unguarded(result)] == [LEFT_EMPTY, UNGUARDED]


def test_how_it_is_told():
    (one,) = left("LFP", 9000.0, 0.0412)[1]
    assert (one.value, one.limit, one.unit) == (approx(4.12), 5.0, "%")
    assert one.text == (
        '"a" ends at 4.1 % of its charge and has been left below 5.0 % for 2.50 h: standing draw '
        "goes on emptying it."
    )
    assert one.advice == "Charge it soon, within a day or so, and stop the loads earlier next time."
    (one,) = left("AGM", 180_000.0, 0.3)[1]
    assert "30 % of its charge and has been left below 50 % for 50.0 h" in one.text
    assert one.text.endswith("lead-acid left like this sulphates.")
    # just below empty is empty
    assert "ends at 0 % of" in left(None, z=-0.01)[1][0].text


@pytest.mark.parametrize(
    ("cells", "said"),
    [((0.02, 0.08), " (the mean of its cells, 2.0 to 8.0 %)"), ((0.02, 0.06), "")],
)
def test_cells_that_differ_by_5_percent_are_told(cells, said):
    (one,) = left(outcome={"final_state_of_charge": cells})[1]
    assert f"% of its charge{said} and has been left" in one.text


def test_what_runs_down_by_itself_is_a_danger():
    (one,) = left(z=0.01, cells_V=np.array([3.0, 3.0, 1.9, 1.9]))[1]
    assert one.severity == "danger"
    assert "a cell has run down by itself to below 2.0 V, and deep discharge ruins" in one.text
    assert one.advice.endswith("is not to be charged again without its maker's word.")


LOAD = replace(steady(5.0), cut_off=CutOff(2.0))
MAINS = Charger("mains", (Stage(14.0),), limit_A=1.0)


def idle(word="LFP", runtime_s=5000.0, lasts_s=10_000.0, fields=(), *, bank=None, gone=True):
    """The same, its load off for good at that time; the file gives those keys of a simulation."""
    events = [event(runtime_s, LOAD_OFF, source="load")] if gone else []
    result, _ = left(word, lasts_s, bank={"load": LOAD} | (bank or {}), events=tuple(events))
    keys = SimpleNamespace(simulation=SimpleNamespace(model_fields_set=set(fields)))
    result = replace(
        result, scenario=replace(result.scenario, keys=keys),
        bank=replace(result.bank, runtime_s=runtime_s),
    )  # fmt: skip
    return list(of_unguarded(result))


# 13,600 s in all, the last 10,000 s left; 2 h of them must not lie behind the end of its loads
def test_hours_that_no_file_asked_for_are_no_neglect():
    (one,) = idle()
    assert (one.severity, one.value, one.limit) == ("note", approx(4.0), 5.0)
    assert one.text == (
        '"a" is down to 4.0 % of its charge once its loads are off: if it is left so, standing '
        "draw goes on emptying it."
    )
    assert one.advice == "Charge it soon, within a day or so."
    (one,) = idle("AGM", lasts_s=50_000.0)
    assert one.text.endswith("if it is left so, lead-acid sulphates within days.")


@pytest.mark.parametrize(
    "given",
    [
        {"runtime_s": 11_000.0},  # left for 7400 s before
        {"fields": ("duration_h",)},
        {"gone": False},
        {"bank": {"chargers": (MAINS,)}},
    ],
)
def test_hours_that_were_asked_for_are(given):
    (one,) = (one for one in idle(**given) if one.topic == LEFT_EMPTY)
    assert one.severity == "warning"
    assert "has been left below" in one.text


def guarded(*batteries, load=None):
    result = made(bank_of(*batteries, load=load), [0.0, 1.0], *[Course(z=0.9)] * len(batteries))
    return list(of_unguarded(result))


def plain(name, word, *rules):
    return replace(affine(name, rules=rules), chemistry=word)


@pytest.mark.parametrize(
    ("rule", "stops"),
    [
        (Rule(Watch.LOWEST_CELL, True, 2.5), True),
        (Rule(Watch.BATTERY_VOLTAGE, True, 10.0, 0.0, Blocks.BOTH), True),
        (Rule(Watch.LOWEST_CELL, True, 2.5, 0.0, Blocks.CHARGE), False),
        (Rule(Watch.BATTERY_VOLTAGE, False, 14.0), False),
        (Rule(Watch.TEMPERATURE, True, 260.0), False),
    ],
)
def test_which_rules_stop_a_discharge(rule, stops):
    told = guarded(plain("a", "LFP", rule))
    assert [one.topic for one in told] == ([] if stops else [UNGUARDED])


def test_who_has_nothing_that_stops_it():
    (one,) = guarded(plain("a", "LFP"), plain("b", "LFP", GUARD), plain("c", "LFP"))
    assert (one.severity, one.value, one.unit) == ("warning", None, "")
    assert one.text.startswith('"a" and "c" have no rule that stops discharge at a low voltage;')
    assert guarded(plain("a", "LFP"))[0].text.startswith('"a" has no rule')


# loads that all stop by themselves guard lead-acid, not lithium
@pytest.mark.parametrize(
    ("words", "load", "advice"),
    [
        (["LFP", None], None, "Give each battery electronics"),
        (["AGM"], steady(5.0), "Give the loads low-voltage cut-offs"),
        (["AGM", "LFP"], steady(5.0), "Give lithium batteries their own electronics, and the"),
        (["AGM", "LFP"], LOAD, "Give each battery electronics"),
        (["AGM"], LOAD, None),
    ],
)
def test_what_to_give(words, load, advice):
    told = guarded(*(plain(name, word) for name, word in zip("ab", words, strict=False)), load=load)
    assert len(told) == (advice is not None)
    assert all(one.advice.startswith(advice) for one in told)
