"""What a gauge is held against, from what a person says beside a log, a run or one reading."""

from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from simple_banks import affine, bank_of, run, steady

from bankSim.measured.log import Log, LogError
from bankSim.measured.voltage_table import straight_line
from bankSim.model.chemistry import LFP
from bankSim.show.gauge_answer import Said, check, gauge_answer, of_log, of_run, typed_answer
from bankSim.show.printing import story_text

OWN = straight_line(12.8, 13.4, "my own")


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (Said(cells=0), "--cells-in-series = 0; expected 1 to 200"),
        (Said(cells=201), "--cells-in-series = 201; expected 1 to 200"),
        (Said(rated_Ah=0.009), "--rated-Ah = 0.009; expected 0.01 to 1,000,000"),
        (Said(rated_Ah=1.1e6), "--rated-Ah = 1.1e+06; expected 0.01 to 1,000,000"),
        (Said(start_percent=0.9), "--start-percent = 0.9; expected 1 to 100"),
        (Said(start_percent=101.0), "--start-percent = 101; expected 1 to 100"),
        (Said(typed_V=0.09), "--typed-voltage = 0.09; expected 0.1 to 1000 V"),
        (Said(typed_V=float("nan")), "--typed-voltage = nan; expected 0.1 to 1000 V"),
        (Said(typed_V=1001.0), "--typed-voltage = 1001; expected 0.1 to 1000 V"),
        (Said(at_A=1.1e5), "--at-A = 110000; expected a current of up to 100,000 A"),
        (Said(at_A=-1.1e5), "--at-A = -110000; expected a current of up to 100,000 A"),
    ],
)
def test_numbers_that_no_battery_has_are_refused(said, told):
    with pytest.raises(LogError) as error:
        check(said)
    assert str(error.value) == told


def test_the_last_numbers_that_are_taken():
    check(Said())
    check(Said(cells=1, rated_Ah=0.01, start_percent=1.0, typed_V=0.1, at_A=-1e5))
    check(Said(cells=200, rated_Ah=1e6, start_percent=100.0, typed_V=1000.0, at_A=1e5))


def typed(**said):
    """The numbers of one reading, what was taken for granted, and the story."""
    answer = typed_answer(Said(**said))
    found = answer.summary
    return found, found["remarks"], " ".join(story_text(answer.story).split())


CELLS = "{} cells in series, as in a 12 V battery (--cells-in-series)."
RATED = "The resistance is that of a typical 100 Ah battery (--rated-Ah)."
ASSUMED_LFP = "The chemistry was not given and taken as LFP (--chemistry)."


@pytest.mark.parametrize(
    ("said", "remarks"),
    [
        ({}, [ASSUMED_LFP, CELLS.format(4), RATED]),
        ({"chemistry": "LFP"}, [CELLS.format(4), RATED]),
        ({"chemistry": "AGM", "typed_V": 12.4}, [CELLS.format(6), RATED]),
        ({"chemistry": "LFP", "cells": 4}, [RATED]),
        ({"cells": 4, "rated_Ah": 50.0}, [ASSUMED_LFP]),
        ({"chemistry": "LFP", "cells": 4, "rated_Ah": 50.0}, []),
        ({"table": OWN}, []),
        ({"table": OWN, "chemistry": "LFP"}, []),
        ({"table": OWN, "chemistry": "LFP", "cells": 4}, [RATED]),
    ],
)
def test_what_is_taken_for_granted_of_one_reading_is_told(said, remarks):
    assert typed(**{"typed_V": 13.1, **said})[1] == remarks


def test_one_reading_on_a_table_of_ones_own():
    # by hand: half of 12.8 to 13.4 V; a typical LFP battery of 50 Ah resists its ohm x Ah / 50 Ah
    pairs = sum(ohm_Ah for ohm_Ah, _ in LFP.relaxation_ohm_Ah)
    ohm = (4 * (LFP.ohmic_ohm_Ah + pairs) + LFP.internal_ohm_Ah) / 50.0
    said = {"typed_V": 13.1, "at_A": 20.0, "table": OWN}
    found, _, told = typed(chemistry="LFP", cells=4, rated_Ah=50.0, **said)
    assert (found["reading_percent"], found["drop_V"]) == approx((50.0, 20.0 * ohm))
    assert found["rest_V"] == approx(13.1 + 20.0 * ohm)
    assert "the load takes off" in told
    # bars of 4 cells from 2.5 to 3.4 V: 3.1 of 3.6 V
    assert found["line_percent"] == approx(100.0 * 3.1 / 3.6)
    charged = typed(chemistry="LFP", cells=4, rated_Ah=50.0, **(said | {"at_A": -20.0}))
    assert charged[0]["rest_V"] == approx(13.1 - 20.0 * ohm)
    assert "the charge adds" in charged[2]


def test_without_a_label_the_resistance_is_that_of_100_Ah():
    said = {"typed_V": 13.1, "at_A": 20.0, "chemistry": "LFP", "cells": 4}
    plain, given = typed(**said)[0], typed(rated_Ah=100.0, **said)[0]
    assert plain["drop_V"] == given["drop_V"] > 0.0
    assert typed(rated_Ah=200.0, **said)[0]["drop_V"] == approx(0.5 * plain["drop_V"])


@pytest.mark.parametrize("said", [{"chemistry": "LFP", "rated_Ah": 50.0}, {"cells": 4}, {}])
def test_what_is_missing_for_the_drop_by_a_load_is_named(said):
    found, _, told = typed(typed_V=13.1, at_A=20.0, table=OWN, **said)
    assert (found["drop_V"], found["rest_V"]) == (None, 13.1)
    assert "not known (that takes --chemistry, --cells-in-series and --rated-Ah)" in told


@pytest.mark.parametrize("volts", [9.9, 16.5])
def test_a_voltage_of_another_battery_is_refused(volts):
    # four fifths of 12.8 V, six fifths of 13.4 V
    with pytest.raises(LogError, match="does --cells-in-series fit"):
        typed(typed_V=volts, table=OWN)


def log(current_A=10.0):
    time = np.linspace(0.0, 8.0 * 3600.0, 97)
    left = 1.0 - current_A * time / 360_000.0
    return Log("a.csv", time, 12.8 + 0.6 * left - 0.05, np.full(time.size, current_A))


def test_a_log_with_a_table_of_ones_own():
    course, table, line = of_log(log(), "a", Said(table=OWN, rated_Ah=100.0))
    assert (table, line, course.ohm, course.chemistry) == (OWN, None, None, None)
    assert course.basis[-1] == "100 % is 100 Ah, as given."
    known = Said(table=OWN, rated_Ah=100.0, chemistry="LFP", cells=4, start_percent=90.0)
    course, table, line = of_log(log(), "a", known)
    assert table == OWN
    assert line.voltage_V.tolist() == approx([10.0, 13.6])
    assert course.ohm > 0.0
    assert course.true_percent[0] == 90.0


def test_a_log_of_which_nothing_is_said_is_looked_at():
    # 80 Ah come out; 13.3 to 12.8 V are those of four LFP cells
    course, table, line = of_log(log(), "a", Said())
    assert course.chemistry == "LFP"
    assert table.name == "a typical LFP table for 4 cells"
    assert line is not None
    assert course.capacity_Ah == approx(80.0)
    assert not any("1 Ah" in one for one in course.basis)
    given = of_log(log(), "a", Said(chemistry="AGM", cells=6))
    assert given[1].name == "a typical AGM table for 6 cells"
    with pytest.raises(LogError, match="no typical voltage table for chemistry 'mud'"):
        of_log(log(), "a", Said(chemistry="mud", cells=4))


@pytest.fixture(scope="module")
def two():
    """An hour of two batteries, of which the first is LFP by its file."""
    pair = [replace(affine("a", z=0.9), chemistry="LFP"), affine("b", z=0.9)]
    return run(bank_of(*pair, load=steady(10.0), duration_s=3600.0))


def test_of_a_run_one_battery_or_all(two):
    every = of_run(two, Said(table=OWN))
    assert [course.name for course, _, _ in every] == ['"a"', '"b"']
    # bars for the one of which the chemistry is known: 1 cell, as one element
    assert [line is None for _, _, line in every] == [False, True]
    ((course, table, line),) = of_run(two, Said(battery="b", table=OWN, chemistry="NMC", cells=3))
    assert (course.name, table) == ('"b"', OWN)
    assert line.voltage_V.tolist() == approx([9.0, 12.6])
    ((_, table, _),) = of_run(two, Said(battery="a"))  # by its file: one cell of LFP
    assert table.name == "a typical LFP table for 1 cell"  # was "1 cells"
    ((_, table, _),) = of_run(two, Said(battery="a", chemistry="AGM", cells=6))
    assert table.name == "a typical AGM table for 6 cells"
    with pytest.raises(LogError, match="--battery = 'c'; expected one of: 'a', 'b'"):
        of_run(two, Said(battery="c", table=OWN))
    with pytest.raises(LogError, match="no voltage table; expected --table"):
        of_run(two, Said(battery="b"))


def test_files_are_numbered_where_there_are_several(two):
    every = of_run(two, Said(table=OWN))
    assert list(gauge_answer(every).texts) == ["gauge-1.csv", "gauge-2.csv"]
    assert list(gauge_answer(every[:1]).texts) == ["gauge.csv"]
    assert [one["name"] for one in gauge_answer(every).summary["batteries"]] == ['"a"', '"b"']
