"""The true error falls with the tolerance and keeps the promise; the books of a year balance."""

import numpy as np
import pytest
from pytest import approx

from benchmarks.accuracy import COLUMNS, promise_line
from benchmarks.accuracy_banks import CLOSED_FORM, Case, cases, single, single_answer
from benchmarks.accuracy_measure import error_of, truth_of
from benchmarks.drift import books_of, monthly_books, year_bank
from benchmarks.page import markdown, page
from benchmarks.show import Table


def test_single_battery_on_a_resistor_meets_its_closed_form():
    # Ohm and Faraday, by hand: E = 12 + 1.6 z falls as exp(-t / tau) over 0.28 ohm in all
    end_s, given_Ah, voltage_V = single_answer()
    assert end_s == approx(63_000.0 * np.log(13.52 * (0.25 / 0.28) / 11.2) + 7.0, rel=1e-12)
    assert voltage_V(end_s - 7.0) == approx(11.2, rel=1e-12)
    # the charge is what the fall of E says: 1.6 V hold 100 Ah
    fallen_V = 13.52 - voltage_V(end_s) * 0.28 / 0.25
    assert given_Ah(end_s) == approx(fallen_V / 1.6 * 100.0, rel=1e-12)
    truth = truth_of(Case("single", single(), CLOSED_FORM))
    errors = [error_of(single(), tolerance, truth) for tolerance in (2e-5, 1e-9)]
    assert errors[0].charge < 1e-6
    assert errors[0].event_s < 0.01
    assert errors[1].charge < 2e-9
    assert errors[1].event_s < 1e-5
    assert errors[1].voltage_worst_V < 1e-8


@pytest.mark.parametrize("case", cases(short=True), ids=lambda case: case.name)
def test_error_keeps_the_promise_of_the_tolerance(case):
    truth = truth_of(case)
    coarse, usual = (error_of(case.bank, tolerance, truth) for tolerance in (1e-3, 2e-5))
    assert coarse.of_allowed < 1.0
    assert usual.of_allowed < 1.0
    assert usual.event_s < 5.0  # and nothing happened in another order
    assert usual.charge <= coarse.charge
    assert usual.voltage_rms_V < 1e-3


def test_a_wrong_truth_is_seen():
    case = cases(short=True)[0]
    truth = truth_of(case)
    truth.through_Ah[:, 0, 0] *= 1.0001
    assert error_of(case.bank, 2e-5, truth).of_allowed > 1.0
    truth.events[0] = (truth.events[0][0], "release", 0)
    assert error_of(case.bank, 2e-5, truth).event_s == np.inf


def test_books_of_two_months_balance():
    # measured over a year: 1.3e-14 of the charge and 8e-15 of the energy that went through
    _, books = monthly_books(year_bank(60 * 24.0), months=2)
    assert books[-1].time_h == 60 * 24.0
    assert books[-1].through_Ah > 4000.0
    for one in books:
        assert one.charge_part < 1e-12
        assert one.energy_part < 1e-12


def test_books_that_do_not_balance_are_seen():
    engine, _ = monthly_books(year_bank(240.0), months=1)
    engine.run.tally["out"][0] += 1e-5 * 3600.0
    engine.run.ledger[2, 0] *= 1.0 + 1e-8
    books = books_of(engine)
    assert books.charge_Ah == approx(1e-5, rel=1e-3)
    assert books.energy_part > 1e-12


def test_a_page_is_a_table_in_markdown():
    table = Table("Speed", ("what", "ms"), [["a | b", "1"], ["c", "2"]])
    assert markdown(table).splitlines() == [
        "| what | ms |", "| :-- | --: |", "| a \\| b | 1 |", "| c | 2 |",
    ]  # fmt: skip
    text = page("Title", ["Opening."], [(table, ["A line."])])
    assert text.startswith("# Title\n\nOpening.\n\n## Speed\n\n| what")
    assert text.endswith("| c | 2 |\n\nA line.\n")


def test_a_broken_promise_is_told():
    table = Table("cold (truth: twin)", COLUMNS, [["1e-06", "-", "1.2", *["-"] * 5]])
    assert "cold at 1e-06 (1.2)" in promise_line([(table, [])])
    table.rows[0][2] = "0.9"
    assert "kept" in promise_line([(table, [])])
    assert "not kept" not in promise_line([(table, [])])
