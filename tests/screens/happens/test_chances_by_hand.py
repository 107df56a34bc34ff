"""Chances, bands, studies in the form of a band, and cautions: made cases and exact sentences."""

import threading
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from simple_banks import affine, bank_of, steady

from bankSim.errors import SimulationError
from bankSim.scenario.record import Scenario
from bankSim.screens.happens import band, chances, harder, warned
from bankSim.screens.happens.wording import on_screen, told_on_screen
from bankSim.screens.shelf import Shelf
from bankSim.sim.cautions.lost_takers import LOSES_TAKERS
from bankSim.sim.result import Caution
from bankSim.study.quick_fan import QuickSpread
from bankSim.study.traced import Fan


def spread_of(draws=200, bank_Ah=(150.0, 160.0, 171.2), fan_draws=None, **more):
    steps = np.zeros((5, 1))
    fan = Fan(np.zeros(1), np.ones(1), steps, np.zeros((2, 5, 1)), fan_draws or draws)
    told = {
        "first": (), "nobody": 0.0, "together": 0.0, "cut_out_h": {}, "cuts_out": {},
        "delivered_Ah": {}, "stranded_Ah": {}, "runtime_h": np.zeros(3),
    }  # fmt: skip
    return QuickSpread(fan=fan, bank_Ah=np.array(bank_Ah), draws=draws, **(told | more))


def line(batteries=2, charger_only=False, **told):
    load = None if charger_only else steady(10.0)
    bank = bank_of(*[affine(f"b{k}") for k in range(batteries)], load=load)
    return chances.chances_line(Scenario("by hand", bank), spread_of(**told))


ALL_ELSE = "; 5 to 95 %: the bank delivers 150 to 171 Ah."


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"first": (("a", 1.0),)}, 'In all of 200 random cases "a" cuts out first'),
        ({"first": (("a", 1.0),), "draws": 12_000},
         'In all of 12,000 random cases "a" cuts out first'),
        ({"first": (("a", 0.9),), "nobody": 0.1},
         'In 90 of 100 random cases "a" cuts out first; nobody cuts out in 10 of 100'),
        ({"first": (("a", 0.5), ("b", 0.005)), "together": 0.495},  # "b" is too rare to be told
         'In 50 of 100 random cases "a" cuts out first; several are first at once in 50'),
        ({"first": (("a", 0.5), ("b", 0.006)), "together": 0.005},
         'In 50 of 100 random cases "a" cuts out first; "b" in less than 1'),
        ({"first": (("a", 0.995),), "nobody": 0.005},
         'In more than 99 of 100 random cases "a" cuts out first'),
        ({"nobody": 1.0}, "In none of 200 random cases does a battery cut out"),
        ({"nobody": 0.999}, "Nobody cuts out in more than 99 of 100"),
        ({"first": (("a", 2 / 3), ("b", 1 / 3)), "draws": 99},  # counted, not of 100
         'In 66 of 99 random cases "a" cuts out first; "b" in 33'),
        ({"first": (("a", 0.5), ("b", 0.25), ("c", 0.25)), "draws": 100},
         'In 50 of 100 random cases "a" cuts out first; "b" in 25 and "c" in 25'),
        ({"nobody": 1.0, "blocks_charge": 0.005},
         "In none of 200 random cases does a battery block its discharge"),
        ({"nobody": 1.0, "blocks_charge": 0.02},
         "In none of 200 random cases does a battery block its discharge; charge "
         "is blocked in 2 of 100 cases"),
        ({"nobody": 1.0, "loses_takers": 0.004},
         "In none of 200 random cases does a battery cut out; in less than 1 of 100 cases "
         "chargers give much "
         "as the last battery blocks its charge, or after that (load dump)"),
    ],
)  # fmt: skip
def test_who_cuts_out_first_and_how_surely(told, words):
    assert line(**told) == words + ALL_ELSE


def test_of_one_battery_it_is_only_told_how_often():
    assert line(1, first=(("a", 0.3),), nobody=0.7) == (
        "In 30 of 100 random cases it cuts out; nobody cuts out in 70 of 100" + ALL_ELSE
    )


@pytest.mark.parametrize(
    ("draws", "fan_draws", "words"),
    [
        (200, 200, "in 50 of 100 cases"), (200, 100, "in 50 of 100 cases"),
        (200, 40, "in 20 of the 40 cases that were followed over time"),
        (40, 40, "in 20 of 40 cases"), (40, 200, "in 50 of the 100 cases that were followed"),
    ],
)  # fmt: skip
def test_charge_is_counted_in_the_cases_of_the_band(draws, fan_draws, words):
    told = line(draws=draws, fan_draws=fan_draws, nobody=1.0, blocks_charge=0.5)
    assert f"charge is blocked {words}" in told


@pytest.mark.parametrize(
    ("bank_Ah", "charger_only", "words"),
    [
        ((150.0, 160.0, 171.2), True, "5 to 95 %: the bank takes in 150 to 171 Ah."),
        ((0.0, 0.0, 1e-9), False, "5 to 95 %: the bank delivers nothing."),
        ((0.0, 0.0, 0.0), True, "5 to 95 %: the bank takes in nothing."),
        ((99.4, 100.0, 100.2), False, "5 to 95 %: the bank delivers 99.4 to 100 Ah."),
        ((0.0, 0.0, 5.0), False, "5 to 95 %: the bank delivers 0 to 5.00 Ah."),
        ((100.0, 100.0, 100.00005), False, "5 to 95 %: the bank delivers 100 Ah, all alike."),
        ((100.0, 100.0, 100.2), False, "5 to 95 %: the bank delivers about 100 Ah."),
    ],
)
def test_the_range_speaks_of_90_of_100_cases_only(bank_Ah, charger_only, words):
    # where 5 and 95 % agree the other tenth may still differ: not "in every case", not "no case"
    told = line(bank_Ah=bank_Ah, charger_only=charger_only, nobody=1.0)
    assert told.endswith(f"; {words}")


def test_a_range_that_is_not_known_is_left_out():
    told = line(bank_Ah=(np.nan,) * 3, nobody=1.0)
    assert told == "In none of 200 random cases does a battery cut out."


def test_the_table_has_chances_hours_and_charge_of_each_battery():
    spread = spread_of(
        first=(("a", 0.75),), cuts_out={"a": 1.0, "b": 0.25, "c": 0.0},
        cut_out_h={"a": np.array([4.0, 5.0, 6.25]), "b": np.full(3, np.nan)},
        delivered_Ah={"a": np.array([80.0, 90.0, 99.5])},
        stranded_Ah={"b": np.array([0.0, 1, 2.5])},
    )  # fmt: skip
    grid = chances.chances_grid(spread)
    assert grid.columns[1:4] == ("Out first, of 100", "Cuts out, of 100", "Cuts out after h")
    assert grid.rows == (
        ("a", "75", "100", "4 to 6.25", "80 to 99.5", "-"),
        ("b", "0", "25", "-", "-", "0 to 2.5"),
        ("c", "0", "0", "-", "-", "-"),
    )
    few = chances.chances_grid(replace(spread, draws=40))
    assert few.columns[1] == "Out first, of 40"
    assert few.rows[0][1:3] == ("30", "40")


# ---------- a band that is on its way


def job_of(trouble=None, answer=None, cut_short=False, done=True):
    over = threading.Event()
    if done:
        over.set()
    return SimpleNamespace(over=over, trouble=trouble, answer=answer, was_cut_short=cut_short)


@pytest.fixture
def empty_shelf(monkeypatch):
    monkeypatch.setattr(band, "WAITED_S", 0.0)
    monkeypatch.setattr(band, "_BANDS", Shelf(4))


@pytest.mark.usefixtures("empty_shelf")
def test_a_band_is_kept_once_it_has_come():
    draft, found = SimpleNamespace(digest="by hand: kept"), spread_of()
    assert band.band_if_quick(draft, job_of(done=False)) is None
    assert band.band_if_quick(draft, None) is None
    assert band.band_if_quick(draft, job_of(answer=found)) is found
    assert band.band_if_quick(draft, None) is found
    assert band.band_begun(draft, None) is None  # nothing is begun anew


@pytest.mark.usefixtures("empty_shelf")
def test_a_stopped_band_is_none_and_a_fault_of_ours_is_raised():
    draft = SimpleNamespace(digest="by hand: trouble")
    assert band.band_if_quick(draft, job_of(cut_short=True)) is None
    assert band.band_if_quick(draft, job_of(trouble=SimulationError("no"))) is None
    with pytest.raises(ZeroDivisionError):
        band.band_if_quick(draft, job_of(trouble=ZeroDivisionError()))
    assert band.band_if_quick(draft, None) is None


# ---------- a study in the form of a band


def a_band(*values):
    return SimpleNamespace(percentiles=[SimpleNamespace(value=value) for value in values])


def chance(value):
    return SimpleNamespace(value=value)


def battery(name, first, at_all, out_h):
    return SimpleNamespace(
        name=name, first=chance(first), at_all=chance(at_all), cut_out_h=out_h,
        delivered=a_band(1.0, 2, 3, 4, 5), stranded=a_band(),
    )  # fmt: skip


def test_a_study_reads_as_the_quick_band():
    blocks = [np.array([np.nan, 1.0, np.nan, np.nan]), np.array([2.0, 3.0, np.nan, np.nan])]
    raised = [(LOSES_TAKERS, 0.25), ("other", 0.5), (LOSES_TAKERS, 0.125)]  # danger and warning
    study = SimpleNamespace(
        batteries=[battery("a", 0.2, 0.4, None), battery("b", 0.5, 0.9, a_band(6.0, 7, 8, 9, 10)),
                   battery("c", 0.0, 0.0, None)],
        main=a_band(10.0, 20, 30, 40, 50), runtime=a_band(1.0, 1, 2, 3, 3),
        nobody=chance(0.25), together=chance(0.05), draws=SimpleNamespace(count=77),
        traced=SimpleNamespace(
            fan="fan", happenings=SimpleNamespace(
                charge_blocks=[SimpleNamespace(hours=one) for one in blocks]),
            cautions=[SimpleNamespace(topic=one, chance=chance(value)) for one, value in raised],
        ),
    )  # fmt: skip
    found = harder.as_quick(study)
    assert found.first == (("b", 0.5), ("a", 0.2))  # likeliest first, without those that never are
    assert (found.nobody, found.together, found.draws) == (0.25, 0.05, 77)
    assert found.bank_Ah.tolist() == [10.0, 30.0, 50.0]  # 5, 50 and 95 of 5, 25, 50, 75 and 95 %
    assert found.runtime_h.tolist() == [1.0, 2.0, 3.0]
    assert {name: hours.tolist() for name, hours in found.cut_out_h.items()} == {"b": [6, 8, 10]}
    assert found.cuts_out == {"a": 0.4, "b": 0.9, "c": 0.0}
    assert np.isnan(found.stranded_Ah["a"]).all()
    assert found.blocks_charge == 0.5  # any battery: draws 0 and 1 of four
    assert found.loses_takers == 0.375  # a draw counts once, for the worst
    study.traced.happenings.charge_blocks = []
    assert harder.as_quick(study).blocks_charge == 0.0


# ---------- cautions, and their words on the screen


def caution(severity, topic="t", advice="do this"):
    return Caution(topic, severity, None, None, "", "x", advice)


@pytest.mark.parametrize(("count", "shown"), [(6, 6), (7, 6)])
def test_six_of_a_kind_are_shown_by_severity_and_topic(count, shown):
    one = [caution("warning")] * count
    pressing, notes, more = warned.split(SimpleNamespace(cautions=one))
    assert (len(pressing), notes, more) == (shown, [], count - shown)
    others = [*one, caution("warning", "u"), caution("danger"), *[caution("note")] * 2]
    pressing, notes, more = warned.split(SimpleNamespace(cautions=others))
    assert (len(pressing), len(notes), more) == (shown + 2, 2, count - shown)


def test_a_caution_without_advice_has_no_line_for_it():
    told = warned.cautions_html([caution("note", advice=""), caution("warning")])
    assert told.count("What to do:") == 1
    assert told.index('<li class="note">') < told.index('<li class="warning">')
    assert '<span class="word">Note.</span> x' in told


def test_sentences_that_name_no_option_stay_as_they_are():
    for say in (on_screen, told_on_screen):
        assert say("Charge each alone first.") == "Charge each alone first."
    assert told_on_screen("x Which of them count: the question matters. y") == (
        "x Which of them count most: page What if. y"
    )
    assert on_screen("Find it, and write it into the file as continuous_charge_A.") == (
        "Find it, and enter it here: Your bank, Batteries, Limits and insides, Most charge on the "
        "label."
    )
