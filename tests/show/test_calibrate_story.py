"""A calibration in sentences, on values and ends written by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from bankSim.measured.ends import End
from bankSim.measured.followed import Followed
from bankSim.measured.label import Label
from bankSim.measured.quantities import IN_LABEL_H, CellValue, Pair, Value
from bankSim.show.calibrate_story import tell_calibration, with_error

NONE = np.empty(0)
END = End(cut=True, dead=True, time_s=3600.0, current_A=20.0, voltage_V=10.4, cells_V=(),
          given_Ah=84.25, returned_Ah=0.0)  # fmt: skip


def value(number, sd, unit="Ah", name="capacity", learned=0.9):
    return Value(name, number, sd, number, 2.0 * sd, unit, learned)


def followed(**changes):
    told = {
        "file": "/logs/bench.csv", "hours": 5.25, "mean_A": 20.0, "highest_A": 20.5, "start": 1.0,
        "is_curve": False, "rms_mV": 6.1, "middle_rms_mV": 3.2, "worst_mV": -41.0,
        "held_out_rms_mV": None, "noise_mV": 1.0, "began_C": None, "air_C": 25.0, "end": END,
        "model_Ah": 84.25, "time_s": NONE, "residual_mV": NONE, "z": NONE,
    }  # fmt: skip
    return Followed(**(told | changes))


def found(**changes):
    """A battery of 100 Ah by its label that holds 84.2 Ah and shows 12 mohm."""
    slow = value(12.0, 0.5, "mohm", "resistance after long, half full")
    told = {
        "label": Label("old", "LFP", 4, 100.0), "values": (value(84.2, 0.6), slow), "cells": (),
        "followed": (followed(),), "pairs": (), "warnings": (), "assumed": (), "distrusted": "",
        "capacity_fraction": 0.842, "new_Ah": 105.0, "charge_in_reach": True,
        "recipe": SimpleNamespace(typical=SimpleNamespace(available_fraction=1.0)),
    }  # fmt: skip
    made = SimpleNamespace(**(told | changes))
    made.value = lambda name: next(one for one in made.values if one.name == name)
    return made


def headline(**changes):
    return " ".join(tell_calibration(found(**changes)).headline)


def section(title, **changes):
    return next(one for one in tell_calibration(found(**changes)).sections if one.title == title)


@pytest.mark.parametrize(
    ("number", "sd", "told"),
    [
        (84.213, 0.63, "84.21 +- 0.63 Ah"),
        (84.213, 1.26, "84.2 +- 1.3 Ah"),
        (84.213, 12.6, "84 +- 13 Ah"),
        (84.213, 126.0, "84 +- 126 Ah"),
        (0.84213, 0.00126, "0.8421 +- 0.0013 Ah"),
        (84.213, 0.0, "84.21 +- 0 Ah"),
    ],
)
def test_a_value_has_the_digits_of_its_error(number, sd, told):
    assert with_error(value(number, sd)) == told
    assert with_error(value(number, sd, unit="")) == told.removesuffix(" Ah")


def test_what_the_battery_holds_and_shows():
    assert headline() == (
        '"old" holds 84.20 +- 0.60 Ah, 84 % of the label. It shows 12.00 +- 0.50 mohm after long '
        "load, half full. It follows its logs within 3.2 mV a cell (rms, 10 to 95 % of charge) and "
        "their Ah within 0.10 %."
    )


def test_errors_of_ah_are_those_of_the_worst_log():
    logs = tuple(followed(model_Ah=Ah) for Ah in (84.25 * 0.98, 84.25 * 1.01))
    assert "their Ah within 2.0 %." in headline(followed=logs)
    unended = headline(followed=(followed(end=None, model_Ah=None),))
    assert unended.endswith("(rms, 10 to 95 % of charge).")
    poor = headline(followed=(followed(middle_rms_mV=40.0), followed()))
    assert "within 40 mV a cell" in poor
    assert "further off than their noise explains, see what they cannot tell." in poor


def test_a_log_that_never_ends_gives_a_least_capacity():
    guessed = Label("old", "LFP", 4, 61.5, rated_guessed=True)
    told = headline(label=guessed, followed=(followed(end=None, model_Ah=None),))
    assert told.startswith('"old" holds 61.5 Ah or more (no log reaches its end).')
    ended = headline(label=guessed, capacity_fraction=None)
    assert ended.startswith('"old" holds 84.20 +- 0.60 Ah. It shows')


def test_what_speaks_against_it_comes_first_and_no_part_of_the_label_is_told():
    told = headline(distrusted="Do not build on it.")
    assert told.startswith('Do not build on it. "old" holds 84.20 +- 0.60 Ah. It shows')


IN_20_H = value(80.0, 1.0, name=IN_LABEL_H)
WELLS = SimpleNamespace(typical=SimpleNamespace(available_fraction=0.4))


def test_two_wells_are_held_against_a_new_battery_of_the_label():
    values = (*found().values, IN_20_H)
    told = headline(recipe=WELLS, values=values, capacity_fraction=0.802)
    assert told.startswith(
        '"old" holds 84.20 +- 0.60 Ah in both wells, 80 % of the 105.0 Ah that a new one of this '
        "label holds there. Over 20 h at 25 degrees C it gives 80.0 +- 1.0 Ah, 80 % of the label's "
        "100 Ah. It shows"
    )
    alone = headline(recipe=WELLS, values=values, charge_in_reach=False)
    assert alone.startswith('"old" holds 84.20 +- 0.60 Ah in both wells. Over 20 h')
    doubted = headline(recipe=WELLS, values=values, distrusted="No.")
    assert "it gives 80.0 +- 1.0 Ah. It shows" in doubted
    lines = section("What was found", recipe=WELLS, values=values).lines
    assert "the faster a discharge, the less it gives of it." in lines[1]
    assert len(section("What was found").lines) == 1


def test_what_the_logs_have_told_of_each_value():
    rows = section("What was found", values=(value(84.2, 0.6, learned=0.04), *found().values)).grid
    assert [row[-1] for row in rows.rows] == ["no", "90 %", "90 %"]
    pair = (Pair("one", "other", -0.9123),)
    assert section("What was found", pairs=pair).lines[-1] == (
        "Hard to tell apart: one and other (correlation -0.91)."
    )


def cell(number, left_Ah, sd_Ah=0.1):
    return CellValue(number, 1.26, -0.5, 2.0, 0.4, 0.2, 3.0, left_Ah, sd_Ah)


def test_which_cell_decides():
    # the others hold 1.0 and 2.0 Ah more: 1.5 Ah on average
    cells = (cell(1, 1.0), cell(2, 0.0), cell(3, 2.0))
    made = section("Cells against their mean", cells=cells)
    assert made.lines == (
        "Cell 2 decides the end of discharge; the others then still hold 1.50 Ah more on average.",
    )
    assert made.grid.rows[0] == ("1", "+1.3 +- 0.40", "-0.5 +- 0.20", "+2.0 +- 3.0", "1.00 +- 0.10")
    close = (cell(1, 1.0, 0.9), cell(2, 0.0), cell(3, 2.0))  # less than two standard errors apart
    line = section("Cells against their mean", cells=close).lines[0]
    assert line.startswith(
        "Cell 2 probably decides the end of discharge, though another may; the others"
    )
    told = headline(cells=cells)
    assert told.startswith(
        '"old" gave 84.25 Ah, while its cells hold 84.20 +- 0.60 Ah on average. It shows'
    )
    unended = headline(cells=cells, followed=(followed(end=None, model_Ah=None),))
    assert unended.startswith('"old" has cells that hold 84.20 +- 0.60 Ah on average.')


def ends(**changes):
    end = End(**{name: getattr(END, name) for name in END.__slots__} | changes)
    return section("How the discharges ended", followed=(followed(end=end),)).lines[0]


def test_how_discharges_ended():
    start, rest = "bench.csv: ", " at 10.400 V under 20.0 A after 84.25 Ah."
    assert ends() == f"{start}the battery cut out (its terminals went dead){rest}"
    assert ends(dead=False) == f"{start}the current stopped{rest}"
    assert ends(dead=False, cut=False) == (f"{start}the log ends while it still discharges,{rest}")
    # 0.2 % of the Ah given are told: 0.17 of 84.25 Ah
    assert "put back" not in ends(returned_Ah=0.16)
    assert "after 84.25 Ah (drawn less 0.180 Ah put back)." in ends(returned_Ah=0.18)
    unended = (followed(end=None, model_Ah=None), followed())
    assert len(section("How the discharges ended", followed=unended).lines) == 1
    cells = ends(cells_V=(2.6, 2.5, 2.65, 2.65))
    assert cells.endswith("; cells 2.600, 2.500, 2.650 and 2.650 V, lowest: cell 2.")


def test_logs_stand_in_a_table_with_what_was_held_out():
    plain = section("How well it follows its logs")
    assert plain.grid.rows[0] == (
        "bench", "5.25", "20.0", "100.0", "6.1", "3.2", "-41", "84.25", "84.25", "+0.00"
    )  # fmt: skip
    assert len(plain.lines) == 1
    low = section("How well it follows its logs", followed=(followed(start=0.8),)).grid.rows[0]
    assert low[3] == "80.0"
    both = (followed(held_out_rms_mV=4.4), followed(file="Slow.csv", is_curve=True, end=None,
            model_Ah=None))  # fmt: skip
    held = section("How well it follows its logs", followed=both)
    assert [len(row) for row in held.grid.rows] == [len(held.grid.columns)] * 2 == [11] * 2
    assert [row[7] for row in held.grid.rows] == ["4.4", "-"]
    assert held.grid.rows[1][8:] == ("-", "-", "-")
    assert held.lines[1].startswith("Slow.csv is slow and complete: it became the voltage curve")
    assert held.lines[2].startswith("Held out: stretches of time that the fit never saw")


def test_a_curve_keeps_the_name_of_its_file():
    curve = (followed(file="/logs/c20\nslow.csv", is_curve=True),)
    line = section("How well it follows its logs", followed=curve).lines[1]
    assert line.startswith("c20?slow.csv is slow and complete")
