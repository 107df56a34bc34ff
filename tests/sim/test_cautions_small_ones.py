"""Loads that hunt, stages cut short, sharing by links, lost takers: limits on both sides."""

from dataclasses import replace

import pytest
from made_results import Course, event, made
from pytest import approx
from simple_banks import affine, bank_of, steady

from bankSim.model.bank import Layout, Wiring
from bankSim.model.charger import Charger, Stage, Sun
from bankSim.model.load import CutOff
from bankSim.sim.cautions.hunting import of_hunting
from bankSim.sim.cautions.lost_takers import of_lost_takers
from bankSim.sim.cautions.sharing import excess_share, of_sharing
from bankSim.sim.cautions.stages import of_stages
from bankSim.sim.result import LOAD_OFF, LOAD_ON, LOAD_STAYS_OFF, STAGE

DAY_S, HOUR_S = 86_400.0, 3600.0


def hunts(times_s, *others, loads=None):
    load = replace(steady(5.0), cut_off=CutOff(11.234, 1.0, 12.0))
    bank = replace(bank_of(affine()), loads=loads or (steady(1.0), load))
    events = [event(time_s, LOAD_ON, source="load") for time_s in times_s]
    return list(of_hunting(made(bank, [0.0, DAY_S], Course(), events=(*events, *others))))


# ten times within a day (HUNTS); just a day apart they are not within it
@pytest.mark.parametrize(
    ("count", "every_s", "told"),
    [(9, 60.0, False), (10, 60.0, True), (10, DAY_S / 9.0 - 1.0, True), (10, DAY_S / 9.0, False)],
)
def test_how_often_a_load_hunts(count, every_s, told):
    assert len(hunts([1000.0 + k * every_s for k in range(count)])) == told
    # other loads, and other things that happen, do not count
    others = [event(2000.0, LOAD_ON, source="pump"), event(2000.0, LOAD_OFF, source="load")]
    assert len(hunts([60.0 * k for k in range(9)], *others)) == 0


def test_how_hunting_is_told():
    # one a day before, then 11 in 50 minutes, one half an hour and one an hour and more later
    times_s = [600.0, *(DAY_S + 300.0 * k for k in range(11)), DAY_S + 4800.0, DAY_S + 9000.0]
    (one,) = hunts(times_s)
    assert (one.severity, one.value, one.limit, one.unit) == ("warning", 14.0, 10.0, "times")
    assert one.text.startswith(
        '"load" hunts: it cuts itself off below 11.23 V and starts again at 12.00 V 14 times, the '
        "first time after 10.0 min, up to 11 times within an hour."
    )
    assert one.text.endswith("wears the load's electronics and what hangs on it.")
    # 12 V - 11.234 V
    assert "between its cut-off and its restart than 0.77 V" in one.advice
    (one,) = hunts(times_s, event(2 * DAY_S, LOAD_STAYS_OFF, source="load"))
    assert one.text.endswith("In the end it is taken to stay off.")
    (one,) = hunts(times_s, event(2 * DAY_S, LOAD_STAYS_OFF, source="pump"))
    assert not one.text.endswith("stay off.")


def stages(*ends, volts, word=None, source="mains", count=2):
    """Stages of 1 h up to 14.4 V and 2 h at 13.8 V; they end at (time, next stage)."""
    charger = Charger(
        "mains", (Stage(14.4, most_s=HOUR_S), Stage(13.8, most_s=2 * HOUR_S), Stage(13.5))[:count],
        limit_A=5.0,
    )  # fmt: skip
    bank = bank_of(replace(affine(), chemistry=word), chargers=(charger,))
    events = [event(time_s, STAGE, source=source, value=value) for time_s, value in ends]
    times_s = [k * 900.0 for k in range(len(volts))]
    result = made(bank, times_s, Course(), loads_V=volts, events=events)
    return list(of_stages(result))


# closer than 10 mV to its hold it has reached it (REACHED_V)
@pytest.mark.parametrize(("most_V", "told"), [(14.389, True), (14.391, False)])
def test_a_stage_that_ends_below_its_voltage(most_V, told):
    volts = [13.0, 13.2, most_V, 13.4, 13.5, 14.5, 14.5]
    found = stages((HOUR_S, 2.0), volts=volts)
    assert len(found) == told
    assert stages((HOUR_S, 2.0), volts=volts, source="sun") == []


def test_only_the_time_of_the_stage_counts():
    # stage 2 runs from 1 h to 3 h; 14 V at 1 h, and after its end, are not of it
    volts = [13.0] * 4 + [14.0] + [13.7] * 8 + [14.0] * 2
    (one,) = stages((3 * HOUR_S, 3.0), volts=volts, count=3)
    assert (one.value, one.limit) == (13.7, 13.8)
    assert one.text.startswith('Stage 2 of "mains" is ended by its time limit of 2.00 h after')
    # its last stage: nothing follows
    (one,) = stages((3 * HOUR_S, None), volts=volts)
    assert one.text.startswith("Stage 2 of")
    # a stage without a limit ends otherwise
    assert stages((3 * HOUR_S, None), volts=volts, count=3) == []


def test_how_a_stage_cut_short_is_told():
    volts = [13.0, 13.1, 14.123, 13.1, 13.1, *[13.0] * 8]
    (one,) = stages((HOUR_S, 2.0), (3 * HOUR_S, 3.0), volts=volts, count=3)
    assert (one.severity, one.value, one.limit, one.unit) == ("note", 14.123, 14.4, "V")
    assert one.text == (
        'Stage 1 of "mains" is ended by its time limit of 1.00 h after 1.00 h, before its voltage '
        "was reached (14.12 of 14.40 V)."
    )
    (one,) = stages((HOUR_S, 2.0), (2 * HOUR_S, 2.0), volts=volts, word="AGM")
    assert one.severity == "warning"
    assert "after 1.00 h, the first of 2 times, before its voltage" in one.text
    assert one.text.endswith("Lead-acid without its absorption gets full late or never.")


def row(count, link_mohm, layout, ohm=0.01):
    wiring = Wiring(layout, link_ohm=link_mohm * 1e-3)
    return bank_of(*(affine(f"b{k}", ohm) for k in range(count)), wiring=wiring)


SAME, FAR = Layout.SAME_END, Layout.OPPOSITE_ENDS


# Kirchhoff, R of each, links r, x = 2 r / R. Two, same end: I1 R = I2 (R + 2 r), so the first has
# r / (R + r) more than an equal share. Three: I = (1 + 3 x + x^2, 1 + x, 1), sum 3 + 4 x + x^2; at
# opposite ends I = (1 + x / 2, 1, 1 + x / 2)
@pytest.mark.parametrize(
    ("count", "layout", "excess"),
    [
        (2, SAME, 0.002 / 0.012),
        (3, SAME, 3.0 * (1.0 + 1.2 + 0.16) / (3.0 + 1.6 + 0.16) - 1.0),
        (3, FAR, 3.0 * 1.2 / 3.4 - 1.0),
        (2, FAR, 0.0),
        (1, SAME, 0.0),
        (3, Layout.EQUAL_LEADS, 0.0),
    ],
)
def test_the_share_of_the_first_of_a_row(count, layout, excess):
    assert excess_share(row(count, 2.0, SAME), layout) == approx(excess, abs=1e-12)
    assert excess_share(row(count, 0.0, SAME), layout) == approx(0.0, abs=1e-12)


def test_a_row_without_resistances_and_one_of_unequal_ones():
    assert excess_share(row(3, 2.0, SAME, ohm=0.0), SAME) == 0.0
    # the mean of 5 and 15 mohm counts
    bank = bank_of(affine("a", 0.005), affine("b", 0.015), wiring=Wiring(SAME, link_ohm=0.002))
    assert excess_share(bank, SAME) == approx(0.002 / 0.012)


# above 10 % (UNEVEN_SHARE): r / (R + r) with R = 10 mohm is that from 1.11 mohm on
@pytest.mark.parametrize(("link_mohm", "told"), [(1.10, False), (1.12, True)])
def test_how_uneven_is_told(link_mohm, told):
    found = list(of_sharing(made(row(2, link_mohm, SAME), [0.0, 1.0], Course(), Course())))
    assert len(found) == told


def test_what_evens_a_row_out():
    # three, x = 0.4: 48.7 % and 5.9 % more
    (one,) = of_sharing(made(row(3, 2.0, SAME), [0.0, 1.0], *[Course()] * 3))
    assert (one.severity, one.limit, one.unit) == ("warning", 10.0, "%")
    assert one.value == approx(48.74, abs=0.01)
    assert one.text.startswith(
        "By the links alone the battery next to the take-off carries 49 % more than an equal share "
        "at the start, even if all were the same. Taken off at opposite ends the largest would be "
        "5.9 % above; with equal leads"
    )
    assert one.advice.startswith("Move one of the two take-offs to the other end")
    # x = 1.6: 3 x 1.8 / 4.6 - 1 = 17.4 %; nothing but other leads helps
    (one,) = of_sharing(made(row(3, 8.0, FAR), [0.0, 1.0], *[Course()] * 3))
    assert "the battery at the ends carries 17 % more" in one.text
    assert one.text.endswith("With equal leads to common bars all would carry the same.")
    assert one.advice.startswith("Run equal leads to common bars, or")


def dumps(mains_A, sun_A=0.0, left_A=0.0):
    chargers = (
        Charger("mains", (Stage(14.0),), limit_A=99.0),
        Charger("sun", (Stage(14.0),), sun=Sun(1400.0, 0.0, DAY_S)),
    )
    course = Course(A=[-1.0, -1.0, 0.0, 0.0], mode=[0, 0, 1, 1])
    charger_A = [[mains_A, mains_A, left_A, left_A], [sun_A, sun_A, 0.0, 0.0]]
    bank = bank_of(affine(), chargers=chargers)
    result = made(bank, [0.0, 120.0, 120.0, 200.0], course, charger_A=charger_A)
    return list(of_lost_takers(result))


# more than 10 A (DUMPED_A); a danger from 20 A on (MUCH_A) of what is surely no solar regulator
@pytest.mark.parametrize(
    ("mains_A", "sun_A", "severity"),
    [
        (9.9, 0.0, None), (10.1, 0.0, "warning"), (19.9, 0.0, "warning"), (20.1, 0.0, "danger"),
        (0.0, 30.0, "warning"), (19.9, 30.0, "warning"), (5.1, 5.1, "warning"), (4.9, 4.9, None),
    ],
)  # fmt: skip
def test_how_much_chargers_lose(mains_A, sun_A, severity):
    assert [one.severity for one in dumps(mains_A, sun_A)] == ([severity] if severity else [])


def test_who_loses_its_batteries():
    (one,) = dumps(30.0, left_A=5.0)
    assert (one.value, one.limit, one.unit) == (approx(25.0), 10.0, "A")
    assert one.text.startswith(
        'After 2.00 min the last battery blocks its charge while "mains" gives 25.0 A more than '
        "the loads take: an alternator answers with a voltage spike"
    )
    (one,) = dumps(10.0, 10.0)
    assert 'while "mains" and "sun" give 20.0 A more' in one.text
    (one,) = dumps(0.0, 15.0)
    assert 'while "sun" gives 15.0 A more than the loads take: some solar regulators' in one.text
    (one,) = dumps(0.4, 15.0)
    assert 'while "mains" and "sun" give 15.4 A more than the loads take: an alternator' in one.text
