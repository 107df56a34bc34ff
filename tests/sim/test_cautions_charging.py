"""What a charger holds against what batteries accept and block at; chemistries that do not mix."""

from dataclasses import replace

import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine, affine_cell, bank_of, battery

from bankSim.model.charger import Charger, Stage
from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.sim.cautions.charging import of_charging, stops_charge_V


def charger(hold_V, name="mains"):
    return Charger(name, (Stage(hold_V),), limit_A=10.0)


def of_cells(name, word, count, *rules):
    """A battery of that many cells alike."""
    cells = [affine_cell(base=2.0, span=0.1)] * count
    return battery(name, *cells, chemistry=word, rules=rules)


def stop(volts, watches=Watch.HIGHEST_CELL, blocks=Blocks.CHARGE, *, below=False):
    return Rule(watches, below, volts, 0.0, blocks)


def found(*batteries, chargers=()):
    bank = bank_of(*batteries, chargers=tuple(chargers))
    result = made(bank, [0.0, 1.0], *[Course()] * len(batteries))
    return {caution.topic: caution for caution in of_charging(result)}


# highest_charge_V of a cell (bankSim/model/lead_acid.py, lfp.py): AGM 2.45 V, LFP 3.65 V; six AGM
# cells 14.70 V, four LFP cells 14.60 V; chargers are set to within 5 mV (CLOSE_V)
@pytest.mark.parametrize(("hold_V", "told"), [(14.706, True), (14.704, False)])
def test_what_a_chemistry_accepts(hold_V, told):
    cautions = found(of_cells("a", "AGM", 6), chargers=[charger(hold_V)])
    assert ("charge voltage too high" in cautions) == told


# beyond 0.05 V a cell (AGM, gel), 0.25 V (flooded) it is no matter of age alone (LEAD_MUCH_V):
# AGM 14.70 + 0.30, gel 14.40 + 0.30, flooded 14.82 + 1.50
@pytest.mark.parametrize(
    ("word", "edge_V"), [("AGM", 15.0), ("gel", 14.7), ("flooded", 16.32), ("LFP", None)]
)
def test_how_bad_too_much_is(word, edge_V):
    topic, cells = "charge voltage too high", 4 if word == "LFP" else 6
    for off_V, severity in ((-0.02, "warning"), (0.02, "danger")):
        hold_V = 14.65 if edge_V is None else edge_V + off_V
        one = found(of_cells("a", word, cells), chargers=[charger(hold_V)])[topic]
        assert one.severity == ("danger" if edge_V is None else severity)
        assert ("Equalise a flooded battery" in one.advice) == (word == "flooded")


def test_who_accepts_what_and_which_chargers_to_set():
    batteries = [
        affine("untold"),  # without chemistry: nothing is known of it, those behind it are
        of_cells("a", "AGM", 6),
        of_cells("b", "AGM", 6),
        of_cells("c", "LFP", 4),
        of_cells("d", "LFP", 5),  # accepts 18.25 V
    ]
    chargers = [charger(14.62, "low"), charger(14.803, "high"), charger(14.59, "fine")]
    one = found(*batteries, chargers=chargers)["charge voltage too high"]
    assert (one.severity, one.unit) == ("danger", "V")
    assert (one.value, one.limit) == approx((14.803, 14.6))
    assert one.text == (
        '"high" holds up to 14.80 V; usually accepted are 14.70 V by "a" and "b" (AGM, 6 cells) '
        'and 14.60 V by "c" (LFP, 4 cells).'
    )
    assert one.advice == 'Set "low" and "high" to at most 14.60 V.'


# within what 5 mV leave open a charger counts as set to the limit
def test_a_charger_at_the_limit_need_not_be_set():
    chargers = [charger(14.803, "high"), charger(14.604, "at"), charger(14.606, "above")]
    one = found(of_cells("c", "LFP", 4), chargers=chargers)["charge voltage too high"]
    assert one.advice.startswith('Set "high" and "above" to')


# 3.5 V a cell, four of them: 14.00 V; AT_V is 1 mV
@pytest.mark.parametrize(
    ("hold_V", "told", "at_the_edge"),
    [
        (13.9985, False, False),
        (13.9995, True, True),
        (14.0005, True, True),
        (14.0015, True, False),
    ],
)
def test_a_charger_that_holds_what_a_battery_blocks_at(hold_V, told, at_the_edge):
    cautions = found(of_cells("a", "LFP", 4, stop(3.5)), chargers=[charger(hold_V)])
    assert ("charge voltage above a cut-out" in cautions) == told
    if told:
        one = cautions["charge voltage above a cut-out"]
        assert (one.severity, one.limit, one.unit) == ("warning", approx(14.0), "V")
        assert ('"a" blocks charge at 14.00 V as soon as the cells' in one.text) == at_the_edge


def test_who_blocks_at_what_and_which_chargers_to_set():
    batteries = [
        of_cells("a", "LFP", 4, stop(3.5)),
        of_cells("b", "LFP", 4, stop(3.5)),
        of_cells("c", "LFP", 4, stop(14.123, Watch.BATTERY_VOLTAGE)),
        of_cells("d", "LFP", 4, stop(14.4, Watch.BATTERY_VOLTAGE)),
        of_cells("told", "AGM", 5, stop(12.5, Watch.BATTERY_VOLTAGE)),  # accepts 12.25 V
    ]
    chargers = [charger(14.208, "high"), charger(13.9995, "at"), charger(13.99, "fine")]
    one = found(*batteries, chargers=chargers)["charge voltage above a cut-out"]
    assert one.value == approx(14.208)
    assert one.text.startswith(
        '"high" holds up to 14.21 V; "a" and "b" block charge at 14.00 V, "c" blocks charge at '
        "14.12 V (sum of even cells). A battery"
    )
    assert one.advice == 'Set "high" and "at" below 14.00 V.'


def test_which_rules_stop_a_charge():
    def stops(*rules):
        return stops_charge_V(of_cells("a", "LFP", 4, *rules))

    assert stops() is None
    assert stops(stop(3.6, blocks=Blocks.DISCHARGE)) is None
    assert stops(stop(3.6, below=True)) is None
    assert stops(stop(3.6, Watch.LOWEST_CELL)) is None
    assert stops(stop(3.6, blocks=Blocks.BOTH)) == approx(14.4)
    # the lower of 4 x 3.6 V and 14.3 V for the whole
    assert stops(stop(3.6), stop(14.3, Watch.BATTERY_VOLTAGE)) == approx(14.3)


MIXED, BESIDE_LEAD = "different chemistries in parallel", "lithium beside lead-acid"


@pytest.mark.parametrize(
    ("words", "topic"),
    [
        (["LFP", "LFP"], None),
        (["LFP", None], None),
        (["AGM", "gel"], MIXED),
        (["NMC", "LFP"], MIXED),
        (["LFP", "sodium-ion"], MIXED),  # of that no typical values are known
        (["AGM", "LFP"], BESIDE_LEAD),
    ],
)
def test_chemistries_side_by_side(words, topic):
    cautions = found(*(of_cells(f"b{k}", word, 4) for k, word in enumerate(words)))
    assert set(cautions) == ({topic} if topic else set())
    if topic:
        one = cautions[topic]
        assert (one.severity, one.value, one.limit) == ("warning", None, None)
        assert one.text.startswith(f"{' and '.join(sorted(words))} are wired in parallel: each ")
        assert ("lead-acid at its float" in one.text) == (topic == BESIDE_LEAD)
        assert "what suits one wears out or endangers the other." in one.text


def test_on_which_chargers_a_mixture_hangs():
    both = [of_cells("a", "AGM", 6), of_cells("b", "LFP", 4)]
    one = found(*both, chargers=[charger(13.0), charger(13.1, "sun")])[BESIDE_LEAD]
    assert 'wired in parallel on "mains" and "sun": each' in one.text
    assert found(*(replace(one, chemistry="LFP") for one in both)) == {}
