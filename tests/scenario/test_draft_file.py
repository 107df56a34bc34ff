"""A scenario file and its tables, taken up from disk to be worked on."""

import pytest

from bankSim.errors import ScenarioError
from bankSim.scenario.draft_file import read_draft

CURVE = b"state_of_charge,voltage_V\n0.0,3.0\n1.0,3.4\n"
CELL = '[[battery]]\nocv_table = "{}"  # measured\n'


def a_file(folder, text, name="mine.toml"):
    file = folder / name
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return file


def test_text_name_and_tables_come_byte_for_byte(tmp_path):
    (tmp_path / "curves").mkdir()
    (tmp_path / "curves" / "own.csv").write_bytes(CURVE)
    text = b"\xef\xbb\xbf" + CELL.format("curves/own.csv").replace("\n", "\r\n").encode()
    draft = read_draft(a_file(tmp_path, text))
    assert (draft.content, draft.name) == (text, "mine.toml")
    assert draft.tables == (("curves/own.csv", CURVE),)


@pytest.mark.parametrize("make", [lambda place: None, lambda place: place.mkdir()])
def test_a_table_that_is_not_there_stays_missing(tmp_path, make):
    make(tmp_path / "own.csv")
    draft = read_draft(a_file(tmp_path, CELL.format("own.csv")))
    assert [name for _, name in draft.missing_tables()] == ["own.csv"]


@pytest.mark.parametrize("name", ["../own.csv", "/etc/passwd", "C:own.csv"])
def test_a_table_elsewhere_is_refused(tmp_path, name):
    folder = tmp_path / "in"
    folder.mkdir()
    (tmp_path / "own.csv").write_bytes(CURVE)
    with pytest.raises(ScenarioError, match=r"expected a table in the folder of this file"):
        read_draft(a_file(folder, CELL.format(name)))


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"\0", "not a text file"),
        (b"[[battery\n", "mine.toml:1:10: not valid TOML"),
        (b"", "empty"),
    ],
)
def test_what_is_no_scenario_is_one_line(tmp_path, content, told):
    with pytest.raises(ScenarioError, match=told) as error:
        read_draft(a_file(tmp_path, content))
    assert len(error.value.faults) == 1
    with pytest.raises(ScenarioError, match="no such file"):
        read_draft(tmp_path / "none.toml")


def test_too_large_a_table_is_refused(tmp_path):
    with (tmp_path / "own.csv").open("wb") as stream:
        stream.truncate(20_000_001)
    with pytest.raises(ScenarioError, match=r"own\.csv: larger than 20 MB"):
        read_draft(a_file(tmp_path, CELL.format("own.csv")))
