"""Files handed in and taken home: sound ones whole, hostile ones refused in one clear line."""

import io
import stat
import tracemalloc
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bankSim.errors import ScenarioError
from bankSim.scenario.draft import Draft
from bankSim.screens.answers import checked
from bankSim.screens.bank import uploads
from bankSim.screens.bank.downloads import download, file_name
from bankSim.screens.bank.uploads import take
from bankSim.screens.ready import SHOWS, first_draft, ready_draft

SCENARIOS = Path(__file__).parents[3] / "scenarios"
DESK = first_draft()


def zipped(*files, **more):
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED, **more) as archive:
        for name, content in files:
            archive.writestr(name, content)
    return kept.getvalue()


def refused(*handed):
    with pytest.raises(ScenarioError) as found:
        take(handed, DESK)
    assert len(found.value.faults) == 1
    line = found.value.faults[0]
    assert "\n" not in line
    assert len(line) < 400
    return line


@pytest.mark.parametrize("word", SHOWS)
def test_what_is_taken_home_comes_back_the_same(word):
    draft = ready_draft(word)
    name, content, _ = download(draft)
    again = take([(name, content)], DESK).draft
    assert again == draft
    assert again.content == (SCENARIOS / f"{word}.toml").read_bytes()
    assert download(again) == (name, content, download(draft)[2])


def test_a_scenario_and_its_tables_come_together_in_any_order():
    draft = ready_draft("bench-cells")
    files = [*draft.tables[::-1], ("bench-cells.toml", draft.content)]
    assert take(files, DESK).draft == draft


def test_a_zip_of_a_folder_is_read_from_where_its_scenario_is():
    draft = ready_draft("boat")
    inside = [("trip/boat.toml", draft.content), ("trip/boat-sun.csv", draft.tables[0][1])]
    assert take([("trip.zip", zipped(*inside, ("trip/", b"")))], DESK).draft == draft


def test_a_table_alone_goes_to_the_scenario_that_names_it():
    draft = ready_draft("boat")
    bare = Draft(draft.text, name=draft.name)
    told = take([("boat.toml", draft.content)], DESK)
    assert told.draft == bare
    assert "boat-sun.csv" in told.told[0]
    assert checked(bare).at(("load", 3, "profile"))
    assert take([("boat-sun.csv", draft.tables[0][1])], bare).draft == draft


def test_a_table_in_a_folder_is_found_by_its_name():
    text = '[[load]]\nprofile = "tables/load.csv"\n'
    taken = take([("a.toml", text.encode()), ("load.csv", b"time_h,power_W\n0,1\n")], DESK)
    assert taken.draft.tables == (("tables/load.csv", b"time_h,power_W\n0,1\n"),)


def test_what_nobody_names_is_told():
    taken = take([("a.toml", b"title = 'a'"), ("b.csv", b"x")], DESK)
    assert taken.draft.tables == ()
    assert "b.csv" in taken.told[0]


@pytest.mark.parametrize(
    ("name", "content", "line"),
    [
        ("a.toml", b"\x89PNG\r\n\x1a\n\0\0", "not a text file"),
        ("a.toml", "title = 'ä'".encode("latin-1"), "not UTF-8"),
        ("a.toml", b"\xff\xfet\0", "UTF-16"),
        ("a.toml", b"", "empty"),
        ("a.toml", b"x = " + b"[" * 3000 + b"]" * 3000, "too deep"),
        ("a.toml", b"x = " + b"{a=" * 40 + b"1" + b"}" * 40, "too deep"),
        ("a.toml", b"x = 1\n" * 2, "given twice"),
        ("a.toml", b"#" * 1_000_001, "larger than 1 MB"),
        ("a.zip", b"PK\x03\x04 no zip", "not a ZIP file"),
        ("a.zip", b"", "not a ZIP file"),
        ("a.csv", b"x,y\n", "names no such table"),
        ("a.csv", b"time_s,volts\n0,13.2\n1,13.1\n2,13.0\n", "goes to the page My test"),
        ("<script>alert(1)</script>.csv", b"x,y\n", "names no such table"),
    ],
)
def test_files_that_are_no_scenario_are_refused(name, content, line):
    assert line in refused((name, content))


def test_hostile_zips_are_refused():
    toml = ("a.toml", b"title = 'a'")
    assert "leads out" in refused(("a.zip", zipped(toml, ("../b.csv", b"x"))))
    assert "leads out" in refused(("a.zip", zipped(toml, ("/etc/b.csv", b"x"))))
    assert "leads out" in refused(("a.zip", zipped(toml, ("c:\\b.csv", b"x"))))
    many = zipped(*((f"{number}.csv", b"") for number in range(10_000)))
    assert "10000 entries" in refused(("a.zip", many))
    assert "2 scenario files" in refused(("a.zip", zipped(toml, ("b.toml", b"x = 1"))))
    assert "nothing in it" in refused(("a.zip", zipped(("a.exe", b"MZ"))))
    assert "nothing in it" in refused(("a.zip", zipped(("b.zip", zipped(toml)))))
    link = zipfile.ZipInfo("b.csv")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    assert "leads out" in refused(("a.zip", zipped(toml, (link, "/etc/passwd"))))
    with pytest.warns(UserWarning, match="Duplicate"):
        twice = zipped(toml, toml)
    assert "same name" in refused(("a.zip", twice))


def test_a_zip_bomb_is_refused_before_it_fills_the_memory():
    bomb = zipped(("a.toml", b"title = 'a'"), *((f"{n}.csv", bytes(30_000_000)) for n in range(4)))
    assert len(bomb) < 200_000
    tracemalloc.start()
    assert "unfolds to more than" in refused(("a.zip", bomb))
    assert tracemalloc.get_traced_memory()[1] < 2.5 * uploads.LARGEST_BYTES
    tracemalloc.stop()


def test_a_zip_that_lies_about_its_sizes_is_refused():
    content = bytearray(zipped(("a.toml", b"title = 'a'" + b" " * 1000)))
    for place in range(len(content) - 4):
        if content[place : place + 4] in (b"PK\x01\x02", b"PK\x03\x04"):
            at = place + (24 if content[place : place + 4] == b"PK\x01\x02" else 22)
            content[at : at + 4] = (5).to_bytes(4, "little")
    refused(("a.zip", bytes(content)))


def test_too_many_and_too_large_are_refused():
    assert "at most 60" in refused(*((f"{number}.csv", b"") for number in range(61)))
    assert "too much at once" in refused(("a.csv", bytes(40_000_001)))


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=300), st.sampled_from(["a.toml", "a.zip", "a.csv", "a"]), st.booleans())
def test_any_bytes_give_a_draft_or_one_line(content, name, as_zip):
    lines = ["taken"]
    try:
        take([(name, b"PK\x03\x04" + content if as_zip else content)], DESK)
    except ScenarioError as error:
        lines = error.faults
    assert len(lines) == 1


@given(st.text(max_size=80))
def test_any_name_gives_a_plain_file_name(name):
    made = file_name(Draft("", name=name))
    assert made.endswith(".toml")
    assert not set(made) & set('/\\:*?"<>|\0\n')
    assert made.isascii()


def test_names_that_lead_out_of_the_folder_are_never_read():
    found = checked(Draft("[[load]]\nprofile = '../../../../etc/passwd'\n"))
    assert found.scenario is None
    assert "plain file name" in found.faults[0]
    assert found.at(("load", 0, "profile"))


def test_nobody_is_asked_for_a_table_that_cannot_be_handed_in():
    text = '[cell]\nocv_table = "{}"\n[[battery]]\nname = "a"\n'
    assert take([("x.toml", text.format("/etc/passwd").encode())], DESK).told == ()
    asked = take([("x.toml", text.format("curve.csv").encode())], DESK).told
    assert asked == ("Still missing: curve.csv. Hand it in as well.",)


def test_a_table_of_another_folder_never_takes_the_place_of_the_one_beside_the_scenario():
    draft = ready_draft("bench-cells")
    (name, content), *others = draft.tables
    older = b"state_of_charge,voltage_V\n0,2.0\n1,3.0\n"
    files = [("bench-cells.toml", draft.content), (name, content), *others]
    for handed in ([*files, (f"older/{name}", older)], [(f"older/{name}", older), *files]):
        found = take([("bank.zip", zipped(*handed))], DESK)
        assert dict(found.draft.tables)[name] == content
        assert f"older/{name}" in found.told[0]


def test_two_tables_that_fit_the_same_name_are_not_guessed_between():
    draft = ready_draft("bench-cells")
    (name, content), *_ = draft.tables
    twins = [(f"new/{name}", content), (f"old/{name}", b"state_of_charge,voltage_V\n0,2\n1,3\n")]
    line = refused(("bank.zip", zipped(("bench-cells.toml", draft.content), *twins)))
    assert f"new/{name}" in line
    assert f"old/{name}" in line


def test_many_small_zips_may_not_unfold_to_more_than_one(monkeypatch):
    monkeypatch.setattr(uploads, "LARGEST_BYTES", 1_000_000)
    bombs = [(f"{n}.zip", zipped((f"{n}.csv", b"0" * 600_000))) for n in range(5)]
    assert "unfolds to more than" in refused(*bombs)
