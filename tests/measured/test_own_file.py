"""A battery file is replaced only while it is as it was written."""

import pytest

from bankSim.measured.battery_file import MARK, BatteryFiles
from bankSim.measured.own_file import EditedError, check_unedited, stamped


def write(place, tables, text="lead_mohm = 0.0\n"):
    made = stamped(BatteryFiles(f"{MARK}\n# Read from:\n{text}", tables), place)
    place.write_text(made.text, encoding="utf-8", newline="\n")
    for name, table in made.tables.items():
        (place.parent / name).write_text(table, encoding="utf-8", newline="\n")
    return made


@pytest.fixture
def place(tmp_path):
    file = tmp_path / "bow [1].toml"
    write(file, {"bow [1]-curve.csv": "a,b\n", "bow [1]-cell1-curve.csv": "c\n"})
    return file


def test_as_written_it_may_be_replaced_and_so_may_nothing(place, tmp_path):
    check_unedited(place)
    check_unedited(tmp_path / "none.toml")
    check_unedited(tmp_path / "no" / "folder.toml")


@pytest.mark.parametrize("name", ["bow [1].toml", "bow [1]-curve.csv", "bow [1]-cell1-curve.csv"])
def test_one_changed_byte_is_somebodys_work(place, name):
    file = place.parent / name
    file.write_bytes(file.read_bytes() + b" ")
    with pytest.raises(EditedError, match=r"is not as .* wrote it.*--battery, or --overwrite"):
        check_unedited(place)


def test_other_ends_of_lines_are_a_change(place):
    place.write_bytes(place.read_bytes().replace(b"\n", b"\r\n"))
    with pytest.raises(EditedError):
        check_unedited(place)


def test_files_of_older_versions_tell_nothing_and_stay(tmp_path):
    file = tmp_path / "old.toml"
    file.write_text(f"{MARK}\n# Read from:\n")
    with pytest.raises(EditedError, match=r"old\.toml"):
        check_unedited(file)


def test_a_curve_of_ones_own_is_not_replaced(tmp_path):
    (tmp_path / "bow-curve.csv").write_text("mine\n")
    (tmp_path / "bow-other-curve.csv").write_text("no name of ours\n")
    with pytest.raises(EditedError, match=r"bow-curve\.csv"):
        check_unedited(tmp_path / "bow.toml")
    (tmp_path / "bow-curve.csv").unlink()
    check_unedited(tmp_path / "bow.toml")


def test_what_is_missing_cannot_be_lost(place):
    (place.parent / "bow [1]-curve.csv").unlink()
    check_unedited(place)


def test_curves_of_an_earlier_calibration_stay_known(place):
    write(place, {"bow [1]-curve.csv": "new\n"})
    check_unedited(place)
    left = place.parent / "bow [1]-cell1-curve.csv"
    left.write_text("edited\n")
    with pytest.raises(EditedError, match="cell1"):
        check_unedited(place)
