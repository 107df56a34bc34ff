"""Voltage curves and profiles from CSV files: what is read and what is refused."""

import os

import numpy as np
import pytest
from scenario_texts import LFP, TABLE_ONLY, faults_of, read

from bankSim.scenario.columns import TableError
from bankSim.scenario.read import parse_scenario
from bankSim.scenario.tables import read_ocv_table, read_profile

HEAD = "state_of_charge,voltage_V\n"


def written(folder, content):
    path = folder / "table.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


def test_comments_blank_lines_spaces_and_windows_ends(tmp_path):
    text = "# made up\r\n\r\n state_of_charge , voltage_V \r\n"
    text += "# more\r\n0, 2.5\r\n 1 ,3.5 # last\r\n\r\n"
    table = read_ocv_table(written(tmp_path, b"\xef\xbb\xbf" + text.encode()))
    assert table.ocv_V([-0.1, 0.0, 0.5, 1.0, 1.1]) == pytest.approx([2.4, 2.5, 3.0, 3.5, 3.6])
    assert table.ohmic_ohm is None
    assert table.highest_voltage == 3.5


def test_falling_rows_mean_the_same(tmp_path):
    rows = ["0,2.5,9", "0.5,3.2,5", "1,3.4,4"]
    head = "state_of_charge,voltage_V,ohmic_mohm\n"
    rising = read_ocv_table(written(tmp_path, head + "\n".join(rows)))
    falling = read_ocv_table(written(tmp_path, head + "\n".join(reversed(rows))))
    assert rising.ocv_V.same_as(falling.ocv_V)
    assert rising.ohmic_ohm.same_as(falling.ohmic_ohm)


def test_the_third_column_is_in_milliohms_and_holds_beyond_its_ends(tmp_path):
    table = read_ocv_table(
        written(tmp_path, "state_of_charge,voltage_V,ohmic_mohm\n0,2.5,9\n0.5,3.2,5\n1,3.4,4\n")
    )
    ohm = table.ohmic_ohm([-0.3, 0.0, 0.25, 0.5, 0.75, 1.0, 1.3])
    assert ohm == pytest.approx([9e-3, 9e-3, 7e-3, 5e-3, 4.5e-3, 4e-3, 4e-3])


@pytest.mark.parametrize(("quantity", "is_current"), [("power_W", False), ("current_A", True)])
def test_a_profile_is_in_hours(tmp_path, quantity, is_current):
    profile = read_profile(written(tmp_path, f"time_h,{quantity}\n0.5,60\n2,-7.5\n"))
    assert profile.time_s.tolist() == [1800.0, 7200.0]
    assert profile.amount.tolist() == [60.0, -7.5]
    assert profile.is_current is is_current


def test_small_dips_are_kept(tmp_path):
    table = read_ocv_table(written(tmp_path, HEAD + "0,2.5\n0.5,3.3\n0.6,3.29\n1,3.6\n"))
    assert table.ocv_V([0.5, 0.6]) == pytest.approx([3.3, 3.29])


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", " is empty; expected the header state_of_charge,voltage_V"),
        ("# nothing\n", " is empty; expected the header"),
        ("soc,volt\n0,2\n", ' row 1: header "soc,volt"; expected state_of_charge,voltage_V or'),
        ("voltage_V,state_of_charge\n2,0\n", " row 1: header"),
        ("State_of_charge,voltage_V\n0,2\n", " row 1: header"),
        ("state_of_charge;voltage_V\n0;2\n", "separated by commas, numbers have a decimal point"),
        ("0,2.5\n1,3.5\n", ' row 1: header "0,2.5"'),
        (HEAD, " has no rows below its header"),
        (HEAD + "0.5,3.3\n", " has 1 row; expected at least 2"),
        (HEAD + "0,2.5\n1;3.5\n", " row 3: "),
        (HEAD + "0,2,5\n1,3,5\n", ' row 2: "0,2,5" has 3 columns; expected 2 columns (numbers'),
        (HEAD + "0,2.5\n\n1\n", ' row 4: "1" has 1 column; expected 2'),
        (HEAD + "0,2.5\n1,full\n", ' row 3: voltage_V = "full"; expected a number'),
        (HEAD + "0,2.5\n1,\n", ' row 3: voltage_V = ""; expected a number'),
        (HEAD + "0,2.5\n1,nan\n", ' row 3: voltage_V = "nan"; expected a number'),
        (HEAD + "0,2.5\n1,1e999\n", ' row 3: voltage_V = "1e999"; expected a number'),
        (HEAD + "0,2.5\n1,0x10\n", ' row 3: voltage_V = "0x10"; expected a number'),
        (HEAD + "0,2.5\n1,1_0\n", ' row 3: voltage_V = "1_0"; expected a number'),
        (HEAD + '0,2.5\n1,"3.5"\n', " row 3: voltage_V = "),
        (HEAD + "0,2.5\n0,3.5\n", " row 3: state_of_charge = 0; expected strictly rising values"),
        (HEAD + "0,2.5\n# x\n0.5,3\n0.4,3\n", " row 5: state_of_charge = 0.4; expected strictly"),
        (HEAD + "1,3\n0.5,3\n0.6,3\n", " row 4: state_of_charge = 0.6; expected strictly falling"),
        (HEAD + "0,2.5\n100,3.5\n", " row 3: state_of_charge = 100; expected -0.2 to 1.2"),
        (
            HEAD + "0,3.5\n0.5,3.6\n1,2.5\n",
            ": voltage_V is 3.5 at state of charge 0 and 2.5 at 1; expected a voltage that rises",
        ),
        (HEAD + "1,3\n0,3\n", ": voltage_V is 3 at state of charge 0 and 3 at 1; expected"),
        (HEAD + "0,2500\n1,3500\n", " row 2: voltage_V = 2500; expected 0 to 60 V"),
        (
            "state_of_charge,voltage_V,ohmic_mohm\n0,2.5,1\n1,3.5,-1\n",
            " row 3: ohmic_mohm = -1; expected 0 to 100000 mohm",
        ),
        (b"state_of_charge,voltage_V\n\0\1\2", ": not a text file"),
        (b"\xff\xfes\0t\0", ": saved as UTF-16"),
        (HEAD.encode() + b"0,2.5\n1,\xb5\n", " row 3: a letter is not UTF-8"),
        (HEAD + "".join(f"{n / 1e6},3\n" for n in range(100_001)), " has 100001 rows; expected at"),
    ],
)
def test_curves_that_are_refused(content, words, tmp_path):
    with pytest.raises(TableError) as caught:
        read_ocv_table(written(tmp_path, content))
    assert str(caught.value).startswith(words) or words in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("time_s,power_W\n0,1\n", " row 1: header"),
        ("time_h,power_W\n1,1\n1,2\n", " row 3: time_h = 1; expected strictly rising times"),
        ("time_h,power_W\n2,1\n1,2\n", " row 3: time_h = 1; expected strictly rising times"),
        ("time_h,power_W\n-1,1\n1,2\n", " row 2: time_h = -1; expected 0 to 87600 h"),
        (
            "time_h,power_W\n0,1e9\n",
            " row 2: power_W = 1000000000; expected -10000000 to 10000000 W",
        ),
        (
            "time_h,current_A\n0,1e9\n",
            " row 2: current_A = 1000000000; expected -100000 to 100000 A",
        ),
    ],
)
def test_profiles_that_are_refused(content, words, tmp_path):
    with pytest.raises(TableError) as caught:
        read_profile(written(tmp_path, content))
    assert str(caught.value).startswith(words)


def test_a_long_profile_is_read(tmp_path):
    count = 200_000
    rows = "".join(f"{n / 3600:.9f},{n % 7}\n" for n in range(count))
    profile = read_profile(written(tmp_path, "time_h,power_W\n" + rows))
    assert profile.time_s.shape == profile.amount.shape == (count,)
    assert profile.time_s == pytest.approx(np.arange(count), abs=1e-5)
    assert not profile.is_current


def test_one_row_is_a_profile(tmp_path):
    profile = read_profile(written(tmp_path, "time_h,current_A\n0,2.5\n"))
    assert (profile.is_current, list(profile.time_s), list(profile.amount)) == (True, [0.0], [2.5])


def test_faults_name_scenario_line_key_table_and_row(tmp_path):
    (tmp_path / "bad.csv").write_text(HEAD + "0,2.5\n1,x\n")
    (line,) = faults_of(TABLE_ONLY.replace("curve.csv", "bad.csv"), tmp_path)
    assert line == (
        'bank.toml:6: battery[1].cell.ocv_table = "bad.csv" row 3: voltage_V = "x"; '
        'expected a number (battery "bare")'
    )


def test_table_faults_come_together_with_all_others(tmp_path):
    text = (
        TABLE_ONLY.replace("curve.csv", "no.csv") + "[[load]]\nprofile = 'no2.csv'\npower_W = -1\n"
    )
    lines = faults_of(text, tmp_path)
    assert [line.split()[1] for line in lines] == [
        "battery[1].cell.ocv_table",
        "load[1].profile",
        "load[1].power_W",
    ]
    assert lines[0].endswith('"no.csv": no such file (battery "bare")')


@pytest.mark.parametrize("name", [".", "/dev/zero", "pipe"])
def test_what_is_not_a_file_is_refused(name, tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (line,) = faults_of(TABLE_ONLY.replace("curve.csv", name), tmp_path)
    assert ": not a file" in line


def test_a_curve_of_the_whole_battery_is_refused_for_cells_in_series(tmp_path):
    (tmp_path / "curve12.csv").write_text(HEAD + "0,11\n1,13.4\n")
    text = TABLE_ONLY.replace("curve.csv", "curve12.csv")
    (line,) = faults_of(text, tmp_path)
    assert "13.4 V is too much for one cell of several in series; expected up to 10 V" in line
    single = read(text.replace("cells_in_series = 2", "cells_in_series = 1"), tmp_path)
    assert single.bank.batteries[0].cells[0].ocv_V(1.0) == pytest.approx(13.4)


def test_exponent_does_not_go_with_a_current_profile(tmp_path):
    (tmp_path / "c.csv").write_text("time_h,current_A\n0,4\n")
    keys = "profile = 'c.csv'\nreference_voltage_V = 13\nvoltage_exponent = 1\n"
    lines = faults_of(LFP + "[[load]]\n" + keys, tmp_path)
    assert [line.split()[1] for line in lines] == [
        "load[1].reference_voltage_V",
        "load[1].voltage_exponent",
    ]


def test_one_curve_named_twice_is_read_once(tmp_path):
    cells = read(
        TABLE_ONLY + '[[battery.cells]]\nocv_table = "curve.csv"\n[[battery.cells]]\n', tmp_path
    )
    first, second = cells.bank.batteries[0].cells
    assert first.ocv_V is second.ocv_V


@pytest.mark.parametrize(
    ("rows", "where"),
    [
        ("0,3.0\n0.5,2.9\n1,4\n", r"3 at state of charge 0 and 2\.9 at 0\.5"),
        ("0,2.5\n0.5,3.6\n1,3.4\n", r"3\.6 at state of charge 0\.5 and 3\.4 at 1"),
    ],
)
def test_an_end_that_falls_is_refused_for_it_would_run_away(tmp_path, rows, where):
    with pytest.raises(TableError, match=where):
        read_ocv_table(written(tmp_path, HEAD + rows))


def test_deep_dips_inside_and_noise_at_the_ends_are_followed(tmp_path):
    rows = "0,2.501\n0.01,2.5\n0.5,3.3\n0.6,3.1\n0.99,3.4\n1,3.399\n"
    table = read_ocv_table(written(tmp_path, HEAD + rows))
    assert table.ocv_V([0.01, 0.55, 1.0]) == pytest.approx([2.5, 3.2, 3.399])


def test_a_table_that_leaves_out_some_charge_is_remarked(tmp_path):
    (tmp_path / "t.csv").write_text(HEAD + "0.2,3.1\n0.8,3.4\n")
    text = (
        '[[battery]]\ncells_in_series = 1\n[battery.cell]\ncapacity_Ah = 5.0\nocv_table = "t.csv"\n'
    )
    scenario = parse_scenario(text, tmp_path)
    assert [r for r in scenario.remarks if "covers state of charge 0.2 to 0.8 only" in r]
    (tmp_path / "t.csv").write_text(HEAD + "0,3.0\n1,3.4\n")
    assert not [r for r in parse_scenario(text, tmp_path).remarks if "covers" in r]
