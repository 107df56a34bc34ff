"""The private folder of the screen: exact contents, no way out, bounded."""

import stat

import pytest

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft
from bankSim.screens import room as screens_room


@pytest.fixture
def room(tmp_path, monkeypatch):
    monkeypatch.setattr(screens_room, "room", lambda: tmp_path)
    monkeypatch.setattr(screens_room, "_USED", type(screens_room._USED)())
    return tmp_path


def test_a_folder_holds_exactly_the_tables(room):
    draft = Draft("", (("a.csv", b"one"), ("deep/b.csv", b"two")))
    folder = screens_room.folder_of_tables(draft)
    held = {str(file.relative_to(folder)): file.read_bytes() for file in folder.rglob("*.csv")}
    assert held == dict(draft.tables)


def test_the_same_tables_share_a_folder_and_others_do_not(room):
    one = screens_room.folder_of_tables(Draft("x = 1", (("a.csv", b"one"),)))
    assert one == screens_room.folder_of_tables(Draft("y = 2", (("a.csv", b"one"),)))
    assert one != screens_room.folder_of_tables(Draft("x = 1", (("a.csv", b"two"),)))
    assert one != screens_room.folder_of_tables(Draft("x = 1", (("b.csv", b"one"),)))


@pytest.mark.parametrize(
    "name",
    ["../a.csv", "/a.csv", "a/../../b.csv", "C:\\a.csv", "a\\b.csv", "", ".", "a\0b", "a//b"],
)
def test_names_that_lead_elsewhere_are_refused(room, name):
    with pytest.raises(ScenarioError, match="plain file name"):
        screens_room.folder_of_tables(Draft("", ((name, b"x"),)))
    assert list(room.iterdir()) == []


def test_old_folders_go(room, monkeypatch):
    monkeypatch.setattr(screens_room, "MOST_FOLDERS", 3)
    made = [
        screens_room.folder_of_tables(Draft("", (("a.csv", str(number).encode()),)))
        for number in range(5)
    ]
    assert [folder.exists() for folder in made] == [False, False, True, True, True]
    assert screens_room.folder_of_tables(Draft("", (("a.csv", b"0"),))).exists()


def test_the_real_room_is_private():
    assert stat.S_IMODE(screens_room.room().stat().st_mode) == 0o700
