"""The private folder of the screen: exact contents, no way out, bounded."""

import stat
from dataclasses import replace
from pathlib import Path

import pytest

from bankSim.errors import ScenarioError
from bankSim.scenario import draft as draft_module
from bankSim.scenario.draft import Draft
from bankSim.screens import desk as desk_module
from bankSim.screens import room as screens_room
from bankSim.screens.answers import checked
from bankSim.screens.ready import ready_draft
from bankSim.show.report_data import read_tables


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


def test_large_folders_go_sooner(room, monkeypatch):
    monkeypatch.setattr(screens_room, "MOST_BYTES", 2_500)
    made = [
        screens_room.folder_of_tables(Draft("", (("a.csv", bytes([number]) * 1000),)))
        for number in range(5)
    ]
    assert [folder.exists() for folder in made] == [False, False, False, True, True]
    alone = screens_room.folder_of_tables(Draft("", (("a.csv", b"x" * 5000),)))
    assert [folder.exists() for folder in (*made, alone)] == [False] * 5 + [True]


def test_tables_of_a_scenario_are_bounded_together(monkeypatch):
    monkeypatch.setattr(draft_module, "MOST_TABLE_BYTES", 2_500)
    full = Draft("").with_table("a.csv", b"x" * 1000).with_table("b.csv", b"x" * 1000)
    with pytest.raises(ScenarioError, match="together"):
        full.with_table("c.csv", b"x" * 1000)
    assert len(full.with_table("b.csv", b"x" * 1400).tables) == 2


def test_undoing_keeps_large_tables_only_as_far_as_there_is_room(monkeypatch):
    monkeypatch.setattr(desk_module, "MOST_UNDONE_BYTES", 2_500)
    desk = desk_module.Desk(Draft(""))
    shared = b"s" * 1000
    for number in range(5):
        desk.change(Draft(f"x = {number}", (("a.csv", shared),)))
    assert len(desk.before) == 5  # one table, held once
    for number in range(5):
        desk.change(Draft("", (("a.csv", bytes([number]) * 1000),)))
    assert len(desk.before) == 2
    desk.undo()
    assert desk.draft.tables[0][1] == bytes([3]) * 1000


def test_the_folder_of_a_bank_that_is_looked_at_stays(room, monkeypatch):
    monkeypatch.setattr(screens_room, "MOST_FOLDERS", 3)
    own = ready_draft("bench-cells")
    own = replace(own, text=f"# looked at all the time\n{own.text}")
    scenario = checked(own).scenario
    for number in range(5):
        screens_room.folder_of_tables(Draft("", (("a.csv", str(number).encode()),)))
        assert checked(own).scenario is scenario
        assert Path(scenario.folder).is_dir()
    for number in range(5, 10):
        screens_room.folder_of_tables(Draft("", (("a.csv", str(number).encode()),)))
    assert not Path(scenario.folder).is_dir()
    assert checked(own).scenario is scenario
    assert sorted(read_tables(scenario)) == sorted(name for name, _ in own.tables)


def test_a_table_named_as_the_folder_of_another_one_is_told_in_a_line(room):
    curve = b"state_of_charge,voltage_V\n0,3.0\n1,3.4\n"
    draft = ready_draft("bench-cells")
    for name in ("a.csv", "a.csv/b.csv"):
        draft = draft.with_table(name, curve)
    with pytest.raises(ScenarioError, match="cannot be kept"):
        screens_room.folder_of_tables(draft)
    assert len(checked(draft).faults) == 1
    assert list(room.iterdir()) == []


def test_a_file_of_another_name_is_told_by_its_own_name(room):
    faults = [checked(Draft("x = 1\n", name=name)).faults for name in ("mine.toml", "hers.toml")]
    assert "mine.toml" in faults[0][0]
    assert "hers.toml" in faults[1][0]


def test_the_real_room_is_private():
    assert stat.S_IMODE(screens_room.room().stat().st_mode) == 0o700
