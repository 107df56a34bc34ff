"""Step 1: logs come in, are understood, corrected, and taken away."""

import gc
import io
import zipfile
from pathlib import Path

from my_test_page import (
    LOGS,
    bring,
    button,
    command,
    digests,
    errors,
    log_text,
    open_page,
    said,
    shelf,
    step,
)

from bankSim.screens.my_test import examples
from bankSim.screens.my_test import shelf as shelves
from bankSim.screens.my_test.reading import headers, look


def test_log_is_told_as_by_the_command(capsys, monkeypatch):
    monkeypatch.chdir(LOGS)
    name = "synthetic-older-capacity.csv"
    page = open_page()
    bring(page, (name, (LOGS / name).read_bytes()))
    import json

    kept = shelf(page).logs[0]
    mine = json.loads(look(kept, shelf(page).asked_of(kept)).summary)
    assert mine == command(capsys, "log", name)
    assert f"{mine['samples']:,} samples" in said(page)[0]


def test_same_name_is_two_logs_and_same_bytes_one():
    page = open_page()
    one, two = log_text(3.0).encode(), log_text(4.0).encode()
    bring(page, ("../../x/run.csv", one), ("run.csv", two), ("C:\\logs\\run.csv", one))
    assert [kept.name for kept in shelf(page).logs] == ["run.csv", "run (2).csv"]
    assert errors(page) == ["run.csv: the same content as run.csv, which is here already"]
    assert all(kept.file.parent.parent.name == "logs" for kept in shelf(page).logs)
    assert {kept.file.stem for kept in shelf(page).logs} == set(
        digests(page, "run.csv", "run (2).csv")
    )


def test_what_is_no_table_is_refused_in_one_line_and_not_kept():
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as folder:
        folder.writestr("log.csv", log_text())
    page = open_page()
    bring(
        page,
        ("empty.csv", b""),
        ("noise.csv", bytes(range(256)) * 40),
        ("packed.zip", packed.getvalue()),
        ("<b>words.txt", b"nothing but words\nno table at all\n"),
    )
    told = errors(page)
    assert len(told) == 4
    assert all("\n" not in line and ".banksim-writing" not in line for line in told)
    assert told[0].startswith("empty.csv: is empty")
    assert told[1].startswith("noise.csv: is no text file")
    assert told[2].startswith("packed.zip: is a packed file")
    assert told[3].startswith("<b>words.txt: no rows")
    assert shelf(page).logs == []


def test_a_missing_column_is_told_without_words_of_the_command():
    rows = "\n".join(f"{60 * i},13.2" for i in range(60))
    page = open_page()
    bring(page, ("run.csv", f"Zeit;Spannung\n{rows}\n".replace(",", ";").encode()))
    (told,) = errors(page)
    assert told.endswith('say which with "Current"')


def test_a_steady_current_looks_steady():
    from bankSim.screens.my_test.log_chart import log_chart

    page = open_page()
    bring(page, ("run.csv", log_text().encode()))
    kept = shelf(page).logs[0]
    spec = log_chart(look(kept, shelf(page).asked_of(kept)), dark=False)
    assert spec["layout"]["yaxis2"]["rangemode"] == "tozero"  # its axis reaches down to 0 A


def test_the_log_that_was_brought_last_is_looked_at():
    page = open_page()
    bring(page, ("one.csv", log_text(3.0).encode()))
    bring(page, ("two.csv", log_text(4.0).encode()))
    shown = next(box for box in page.selectbox if box.label == "Log to look at")
    assert shelf(page).named(shown.value).name == "two.csv"
    bring(page, ("empty.csv", b""))
    shown = next(box for box in page.selectbox if box.label == "Log to look at")
    assert shelf(page).named(shown.value).name == "two.csv"


def test_warnings_of_a_log_have_the_words_of_the_page():
    # the voltage falls while the header says that the current charges
    rows = "\n".join(f"{60 * i},{13.4 - 0.01 * i:.3f},{20.0 if i else 0.0}" for i in range(150))
    page = open_page()
    bring(page, ("run.csv", f"time_s,voltage_V,charge_current_A\n{rows}\n".encode()))
    told = [one.value for one in page.warning]
    assert any("Direction of the current" in line for line in told), told
    assert not any("sign" in line for line in told)


def test_too_large_is_refused(monkeypatch):
    from bankSim.screens.my_test import shelf as module

    monkeypatch.setattr(module, "MOST_LOG_MB", 0.001)
    page = open_page()
    bring(page, ("long.csv", log_text().encode()))
    assert "expected at most" in errors(page)[0]
    assert shelf(page).logs == []


def test_headers_with_markup_and_formulas_stay_words():
    text = (
        log_text()
        .replace("time_s", "time_s")
        .replace("current_A\n", "current_A,<img src=x onerror=alert(1)>,=1+1,**bold**\n", 1)
    )
    lines = text.splitlines()
    rows = [lines[0], *(f"{line},1,2,3" for line in lines[1:])]
    page = open_page()
    bring(page, ("=cmd()|' /C'!A0.csv", "\n".join(rows).encode()))
    assert errors(page) == []
    names = [one for box in page.selectbox if box.label == "Time" for one in box.options]
    assert "4: <img src=x onerror=alert(1)>" in names
    html = [one.proto.body for one in page.get("html")]
    assert any("&lt;img" in body for body in html)
    assert not any("<img" in body for body in html)


def test_columns_and_direction_can_be_said(capsys, monkeypatch, tmp_path):
    text = log_text().replace("time_s,voltage_V,current_A", "a,b,c")
    (tmp_path / "odd.csv").write_text(text)
    monkeypatch.chdir(tmp_path)
    page = open_page()
    bring(page, ("odd.csv", text.encode()))
    kept = shelf(page).logs[0]
    for meaning, number in (("Time", 1), ("Voltage", 2), ("Current", 3)):
        next(box for box in page.selectbox if box.label == meaning).set_value(number)
    next(one for one in page.radio if "Direction" in one.label).set_value("charge positive")
    button(page, "Read it so").click().run()
    import json

    mine = json.loads(look(kept, shelf(page).asked_of(kept)).summary)
    theirs = command(
        capsys, "log", "odd.csv", "--time", "a", "--voltage", "b", "--current", "c", "--sign",
        "charge",
    )  # fmt: skip
    assert mine == theirs
    # closed form: 20 A for 3 h, said to be charge
    assert abs(mine["given_Ah"] + 60.0) < 1e-6
    step(page, "more")
    step(page, "logs")
    assert "took in 60" in said(page)[0]


def test_removed_log_leaves_no_bytes_and_a_session_that_ends_no_folder():
    page = open_page()
    bring(page, ("one.csv", log_text(3.0).encode()), ("two.csv", log_text(4.0).encode()))
    first = shelf(page).logs[0]
    folder = first.file.parent
    button(page, "Remove one").click().run()
    assert not first.file.exists()
    assert [one.name for one in folder.iterdir()] == [shelf(page).logs[0].file.name]
    del page.session_state["shelf"]
    del page
    gc.collect()
    assert not folder.exists()


def test_a_log_that_one_visitor_lost_is_still_read_for_another_one():
    content = f"{log_text(3.0)}# lost by one\n".encode()
    one, two = shelves.Shelf(), shelves.Shelf()
    lost, own = one.add("run.csv", content), two.add("run.csv", content)
    lost.file.unlink()
    assert headers(lost) == ()
    assert len(headers(own)) == 3


def test_a_removed_log_takes_no_room_from_others():
    own = shelves.Shelf()
    kept = [own.add(f"{n}.csv", b"x" * (100 + n)) for n in range(2)]
    folder = kept[0].file.parent
    assert shelves._FOLDERS[folder] == 201
    own.remove(kept[0].digest)
    assert shelves._FOLDERS[folder] == 101


def test_sessions_do_not_see_each_other():
    one, two = open_page(), open_page()
    bring(one, ("run.csv", log_text(3.0).encode()))
    bring(two, ("run.csv", log_text(5.0).encode()))
    assert "over 3.00 h" in said(one)[0]
    assert "over 5.00 h" in said(two)[0]
    assert len(shelf(one).logs) == len(shelf(two).logs) == 1


def test_example_logs_are_called_made_up():
    page = open_page()
    button(page, "example logs").click().run()
    assert len(shelf(page).logs) == 7
    assert any("made up" in one.value for one in page.caption)


def test_example_logs_are_those_of_the_project():
    shipped = Path(examples.__file__).parents[1] / "ready_logs"
    assert sorted(one.name for one in shipped.iterdir()) == sorted(examples.LOGS)
    for name in examples.LOGS:
        assert (shipped / name).read_bytes() == (LOGS / name).read_bytes()
