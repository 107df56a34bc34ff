"""Lead-acid held above float while it is full: how much gas, how bad, and what ends it."""

from dataclasses import replace

import pytest
from made_results import Course, made
from pytest import approx
from simple_banks import affine_cell, bank_of, battery

from bankSim.model.charger import Charger, Stage
from bankSim.sim.cautions.lead_full import gas_of, held_full, of_lead_full

HOUR_S = 3600.0
K_25, K_35 = 298.15, 308.15


def lead(word="AGM", cells=6, Ah=100.0):
    cell = affine_cell(Ah=Ah, base=2.0, span=0.15)
    return battery("a", *[cell] * cells, chemistry=word)


def result_of(hours, course, *, word="AGM", cells=6, chargers=(), Ah=100.0, **more):
    bank = bank_of(lead(word, cells, Ah), chargers=tuple(chargers))
    return made(bank, [hour * HOUR_S for hour in hours], course, **more)


def found(*args, charged_Ah=0.0, **more):
    result = result_of(*args, outcomes=[{"charged_Ah": charged_Ah}], **more)
    told = list(of_lead_full(result))
    return told[0] if told else None


# highest usual float of a cell 2.30 V (AGM, gel) and 2.27 V (flooded), 20 mV above it counts
# (ABOVE_FLOAT_V), 4 mV less for every K above 25 degC; full from 98 % on
@pytest.mark.parametrize(
    ("word", "volts", "kelvin", "z", "held"),
    [
        ("AGM", 13.91, K_25, 1.0, False), ("AGM", 13.93, K_25, 1.0, True),
        ("gel", 13.91, K_25, 1.0, False), ("gel", 13.93, K_25, 1.0, True),
        ("flooded", 13.73, K_25, 1.0, False), ("flooded", 13.75, K_25, 1.0, True),
        ("AGM", 13.67, K_35, 1.0, False), ("AGM", 13.69, K_35, 1.0, True),
        ("AGM", 13.93, K_25, 0.985, True), ("AGM", 13.93, K_25, 0.975, False),
    ],
)  # fmt: skip
def test_what_counts_as_held(word, volts, kelvin, z, held):
    result = result_of([0.0, 10.0], Course(A=-1.0, V=volts, z=z, K=kelvin), word=word)
    found = held_full(result, 0)
    assert found.hours == (10.0 if held else 0.0)
    assert (found.most_V, found.most_K) == ((volts, approx(kelvin)) if held else (0.0, 0.0))
    # warm alone makes it too much where that voltage would do at 25 degC
    assert found.warm_hours == (10.0 if held and kelvin == K_35 else 0.0)


def test_what_enters_and_is_not_stored_is_gas():
    # 4 A to 2 A in 5 h are 15 Ah, of which 98 to 99 % store 1 Ah; 2 A in 3 h, nothing stored
    course = Course(A=[-4.0, -2.0, -2.0], V=14.0, z=[0.98, 0.99, 0.99])
    held = held_full(result_of([0.0, 5.0, 8.0], course), 0)
    assert (held.hours, held.gassed_Ah) == (8.0, approx(14.0 + 6.0))
    assert (held.worst_hours, held.worst_Ah) == (8.0, approx(20.0))
    assert held.brisk_Ah == 0.0  # 14.1 V are 2.35 V a cell


@pytest.mark.parametrize(("volts", "brisk"), [(14.09, False), (14.11, True)])
def test_brisk_gassing_starts_at_2_35_v_a_cell(volts, brisk):
    # 2 h at that voltage, then 8 h at 14.0 V, 1 A
    course = Course(A=-1.0, V=[volts, volts, 14.0, 14.0], z=1.0)
    held = held_full(result_of([0.0, 2.0, 2.0, 10.0], course), 0)
    assert held.brisk_Ah == approx(2.0 if brisk else 0.0)
    assert held.most_V == max(volts, 14.0)


# breaks below 2 h are bridged (BRIDGED_S)
@pytest.mark.parametrize(("break_h", "worst_Ah", "worst_h"), [(1.9, 9.0, 8.0), (2.1, 6.0, 5.0)])
def test_short_breaks_do_not_end_a_hold(break_h, worst_Ah, worst_h):
    # 3 h of 1 A, a break, 4 h of 1 A and 1 h of 2 A
    end_h = 3.0 + break_h
    hours = [0.0, 3.0, 3.0, end_h, end_h, end_h + 4.0, end_h + 4.0, end_h + 5.0]
    volts = [14.0, 14.0, 13.0, 13.0, 14.0, 14.0, 14.0, 14.0]
    amps = [-1.0, -1.0, 0.0, 0.0, -1.0, -1.0, -2.0, -2.0]
    held = held_full(result_of(hours, Course(A=amps, V=volts, z=1.0)), 0)
    assert (held.hours, held.gassed_Ah) == (approx(8.0), approx(9.0))
    assert (held.worst_hours, held.worst_Ah) == (approx(worst_h), approx(worst_Ah))


def test_only_spans_between_two_such_rows_count():
    # full and above float for 1 h, then 2 h until the next row, where it is not; 3 h and it is
    course = Course(A=-1.0, V=[14.2, 14.2, 13.0, 14.0], z=1.0, K=[K_35, K_35, K_35, K_35])
    held = held_full(result_of([0.0, 1.0, 3.0, 6.0], course), 0)
    assert (held.hours, held.gassed_Ah, held.brisk_Ah) == (1.0, approx(1.0), approx(1.0))
    # brisk for 1 h of 6 h, and no more than at 25 degC would do for 3 h of them
    course = Course(A=-1.0, V=[14.2, 14.2, 13.8, 13.8], z=1.0, K=K_35)
    held = held_full(result_of([0.0, 1.0, 3.0, 6.0], course), 0)
    assert (held.hours, held.warm_hours, held.brisk_Ah) == (6.0, 3.0, approx(1.0))


def test_faraday():
    # 26.80 Ah are a mol of electrons: half a mol of water, 9.0 g, and of hydrogen, 11.2 l
    water_g, hydrogen_l = gas_of(26.801)
    assert (water_g, hydrogen_l) == (approx(9.0075, rel=1e-4), approx(11.207, rel=1e-4))


# of 100 Ah: 5 % are usual (flooded 10 %), 2 % more a warning, 20 % more a danger if briskly
@pytest.mark.parametrize(
    ("word", "volts", "gas_Ah", "severity"),
    [
        ("AGM", 14.0, 6.9, None), ("AGM", 14.0, 7.1, "warning"),
        ("gel", 14.0, 6.9, None), ("gel", 14.0, 7.1, "warning"),
        ("flooded", 14.0, 11.9, None), ("flooded", 14.0, 12.1, "warning"),
        ("AGM", 14.0, 25.1, "warning"), ("AGM", 14.2, 24.9, "warning"),
        ("AGM", 14.2, 25.1, "danger"), ("flooded", 14.2, 29.9, "warning"),
        ("flooded", 14.2, 30.1, "danger"), ("LFP", 14.2, 90.0, None),
    ],
)  # fmt: skip
def test_how_bad_it_is(word, volts, gas_Ah, severity):
    one = found([0.0, 100.0], Course(A=-gas_Ah / 100.0, V=volts, z=1.0), word=word)
    assert (one and one.severity) == severity


# many holds of 6 Ah add up: to more than 20 Ah of 100 (ADDED_UP_PART) and twice 5 % of the rest of
# what was charged (OF_CHARGED): 24 Ah of gas are that up to 240 Ah stored
@pytest.mark.parametrize(
    ("holds", "charged_Ah", "told"),
    [(3, 18.0, False), (4, 24.0 + 239.0, True), (4, 24.0 + 241.0, False)],
)
def test_many_short_holds_add_up(holds, charged_Ah, told):
    hours, volts = [], []
    for k in range(holds):
        hours += [10.0 * k, 10.0 * k + 6.0, 10.0 * k + 6.0, 10.0 * k + 10.0]
        volts += [14.0, 14.0, 13.0, 13.0]
    one = found(hours, Course(A=-1.0, V=volts, z=1.0), charged_Ah=charged_Ah)
    assert (one is not None) == told
    assert one is None or one.severity == "warning"


def mains(name, *holds_V):
    return Charger(name, tuple(map(Stage, holds_V)), limit_A=5.0)


def test_how_it_is_told():
    chargers = [mains("high", 13.5, 14.4), mains("fine", 13.79), mains("also", 13.81)]
    one = found([0.0, 26.801], Course(A=-1.0, V=14.123, z=1.0), chargers=chargers)
    assert (one.topic, one.unit) == ("lead-acid held at gassing voltage", "Ah")
    assert (one.value, one.limit) == (approx(26.801), approx(5.0))
    # 9.01 g of each, 6 x 11.2 l (Faraday, as above)
    assert one.text == (
        '"a" is full and still held above float, at up to 14.12 V, for 26.8 h in all: 26.8 Ah go '
        "into gas and heat. If nothing recombines, that is 9.01 g of water from each cell and 67.2 "
        "l of hydrogen from all 6 (Faraday: 0.336 g and 0.42 l at 0 degrees C for each Ah and "
        "cell)."
    )
    assert one.advice.startswith(
        'Let "high" and "also" drop to float (13.5 to 13.8 V for 6 cells at 25 degrees C) when '
        "the current has tapered off, to 1 to 2 % of the label. Sealed cells recombine"
    )
    assert one.advice.endswith("hydrogen is explosive from 4 % on.")


def test_a_single_flooded_cell_without_a_charger():
    one = found([0.0, 30.0], Course(A=-1.0, V=2.4, z=1.0), word="flooded", cells=1)
    assert "l of hydrogen from it (Faraday" in one.text
    assert one.advice.startswith("Let whatever charges it drop to float (2.20 to 2.27 V for 1 cell")
    assert "Top up its water" in one.advice
    assert one.limit == approx(10.0)


def test_the_usual_float_of_gel():
    one = found([0.0, 30.0], Course(A=-1.0, V=14.0, z=1.0), word="gel")
    assert "drop to float (13.5 to 13.8 V for 6 cells" in one.advice


# 10 K above 25 degC: 6 cells x 4 mV x 10 K = 0.24 V less
@pytest.mark.parametrize(("warm_h", "told"), [(51.0, True), (49.0, False)])
def test_float_that_is_too_much_for_its_warmth_alone(warm_h, told):
    kelvin, hours = [K_35, K_35, K_25, K_25], [0.0, warm_h, warm_h, 100.0]
    course = Course(A=-1.0, V=[13.7, 13.7, 14.0, 14.0], z=1.0, K=kelvin)
    one = found(hours, course)
    said = f", {warm_h:.1f} h of it only because float is lower for its warmth, up to 35.0 degrees"
    assert (said in one.text) == told
    start = "Float is 13.5 to 13.8 V for 6 cells at 25 degrees C and about 0.24 V less at its"
    assert one.advice.startswith(start) == told


def test_the_label_is_not_what_the_cells_hold():
    # held on a label of 50 Ah: 3.4 Ah are 6.8 % of it, 3.6 Ah 7.2 %
    for gas_Ah, told in ((3.4, False), (3.6, True)):
        bank = bank_of(replace(lead(), rated_C=50.0 * 3600.0))
        course = Course(A=-gas_Ah / 10.0, V=14.0, z=1.0)
        assert len([*of_lead_full(made(bank, [0.0, 10.0 * HOUR_S], course))]) == told
