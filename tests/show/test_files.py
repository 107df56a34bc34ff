import csv
import io
import json
import math
import os
import re
import shutil

import made_up
import numpy as np
import pandas as pd
import pytest

from bankSim.show import files
from bankSim.show.cells_figure import cells_figure
from bankSim.show.files import json_text, other_figures, png_of, write_results
from bankSim.show.lanes_figure import lanes_figure
from bankSim.show.sheets import events_csv, guarded, numbers_csv, timeline_csv
from bankSim.show.targets import OutputError

PNG_START = b"\x89PNG\r\n\x1a\n"


@pytest.fixture(scope="module")
def with_figures(tmp_path_factory):
    """A folder with all results of a run, and the list of what was written."""
    folder = tmp_path_factory.mktemp("results") / "a" / "b"
    return folder, write_results(made_up.pair(), folder)


def test_everything_is_written_and_whole(with_figures):
    folder, written = with_figures
    names = [file.name for file in written]
    assert names == [
        "story.txt", "summary.json", "timeline.csv", "events.csv",
        "lanes.png", "current.png", "voltage.png", "cells.png", "charge.png",
    ]  # fmt: skip
    assert sorted(os.listdir(folder)) == sorted(names)
    assert all(file.read_bytes().startswith(PNG_START) for file in written[4:])
    summary = json.loads(written[1].read_text())
    assert summary["bank"]["cut_out_order"] == ["old", "new"]


def test_no_plots_also_removes_those_of_an_earlier_run(with_figures, tmp_path):
    shutil.copytree(with_figures[0], tmp_path, dirs_exist_ok=True)
    (tmp_path / "mine.png").write_bytes(b"mine")
    files = write_results(made_up.pair(), tmp_path, plots=False)
    assert sorted(file.name for file in tmp_path.glob("*.png")) == ["mine.png"]
    assert other_figures(tmp_path, files) == []


@pytest.mark.parametrize(
    "earlier",
    [None, "{", "[]", '{"files": "cells.png"}', '{"files": ["current.png"]}', "\xff", "[" * 99_999],
)
def test_a_figure_that_no_earlier_run_lists_is_left_and_named(tmp_path, earlier):
    (tmp_path / "cells.png").write_bytes(b"mine")
    if earlier is not None:
        (tmp_path / "summary.json").write_text(earlier, encoding="latin-1")
    files = write_results(made_up.pair(), tmp_path, plots=False)
    assert (tmp_path / "cells.png").read_bytes() == b"mine"
    assert other_figures(tmp_path, files) == [tmp_path / "cells.png"]


def test_the_list_of_an_earlier_run_reaches_no_other_file(tmp_path):
    (tmp_path / "deep").mkdir()
    (tmp_path / "notes.txt").write_text("mine")
    listed = {"files": ["../notes.txt", "notes.txt", str(tmp_path / "notes.txt")]}
    (tmp_path / "deep" / "summary.json").write_text(json.dumps(listed))
    write_results(made_up.pair(), tmp_path / "deep", plots=False)
    assert (tmp_path / "notes.txt").read_text() == "mine"


def test_summary_lists_the_files_beside_it(with_figures):
    folder, written = with_figures
    summary = json.loads((folder / "summary.json").read_text())
    assert summary["files"] == [file.name for file in written]


def test_a_figure_laid_out_once_has_the_bytes_that_matplotlib_saves_after_two_drawings():
    dpi = 60.0  # not that of the figures
    result = made_up.pair()
    for draw in (lanes_figure, cells_figure):  # a legend outside and strips; panels, words in them
        ours, theirs = draw(result), draw(result)
        page = io.BytesIO()
        theirs.savefig(page, format="png", metadata={"Software": None}, dpi=dpi)
        assert png_of(ours, dpi) == page.getvalue()
    assert png_of(ours, dpi) == page.getvalue()  # saved again


@pytest.mark.parametrize("error", [KeyboardInterrupt, MemoryError])
def test_a_stop_while_drawing_leaves_no_folder(tmp_path, monkeypatch, error):
    def stopped(result, folder):
        (folder / "current.png").write_bytes(b"half")
        raise error

    monkeypatch.setattr(files, "_write_figures", stopped)
    with pytest.raises(error):
        write_results(made_up.pair(), tmp_path / "a" / "b")
    assert os.listdir(tmp_path) == []


def test_an_input_with_the_name_of_a_result_is_refused(tmp_path):
    (tmp_path / "timeline.csv").write_text("mine")
    with pytest.raises(OutputError, match=r"timeline\.csv: this run is read from it"):
        write_results(made_up.pair(), tmp_path, inputs=[tmp_path / "timeline.csv"])
    assert os.listdir(tmp_path) == ["timeline.csv"]


def test_a_failure_half_way_leaves_the_earlier_files_alone(tmp_path, monkeypatch):
    write_results(made_up.pair(), tmp_path, plots=False)
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}

    def full(result):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files, "events_csv", full)
    with pytest.raises(OutputError, match="No space left on device"):
        write_results(made_up.crowd(3), tmp_path, plots=False)
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before


def test_a_file_in_the_way_is_named(tmp_path):
    (tmp_path / "taken").write_text("x")
    with pytest.raises(OutputError, match=re.escape(f"{tmp_path / 'taken'}: is a file")):
        write_results(made_up.pair(), tmp_path / "taken" / "deeper")


def test_json_has_no_nan():
    text = json_text(made_up.result([made_up.outcome("a", stranded_Ah=math.nan)]))
    assert "NaN" not in text
    assert json.loads(text)["batteries"][0]["stranded_Ah"] is None


def test_timeline_keeps_nine_digits_and_its_columns():
    table = pd.read_csv(io.StringIO(timeline_csv(made_up.pair())))
    assert list(table.columns[:5]) == [
        "time_s", "bank.voltage_V", "bank.current_A", "old.current_A", "old.voltage_V",
    ]  # fmt: skip
    assert table["time_s"].iloc[-1] == pytest.approx(54.2 * 3600.0, rel=1e-9)


@pytest.mark.parametrize("rows", [0, 1, 25_001])
def test_the_timeline_is_written_as_pandas_writes_a_table(rows):
    values = np.random.default_rng(1).normal(0.0, 1e3, (rows, 3))
    values[::7, 1] = math.nan
    table = pd.DataFrame(values, columns=["time_s", "bank.voltage_V", 'a,"b"'])
    want = table.to_csv(index=False, float_format="%.9g", lineterminator="\n")
    columns = {name: table[name].to_numpy() for name in table}
    assert numbers_csv(columns) == want


def test_the_timeline_has_the_columns_of_the_table_of_a_result():
    result = made_up.pair()
    table = result.timeline()
    assert timeline_csv(result) == numbers_csv({name: table[name].to_numpy() for name in table})


def test_texts_that_look_like_formulas_are_guarded():
    name = '=HYPERLINK("http://example.org")'
    cut = made_up.trip(name, 1.0, [name], text="@SUM(A1)")
    result = made_up.result([made_up.outcome(name, cut=cut)], [cut])
    header, row = csv.reader(io.StringIO(events_csv(result)))
    assert header[-3] == f"'{name}.current_before_A"
    assert row[1] == f"'{name}"
    assert row[-1] == "'@SUM(A1)"
    assert next(csv.reader(io.StringIO(timeline_csv(result))))[3] == f"'{name}.current_A"
    assert guarded("plain") == "plain"
    assert all(guarded(start + "1").startswith("'") for start in "=+-@\t")


def test_events_sheet_gives_cells_and_currents_as_numbers():
    rows = list(csv.DictReader(io.StringIO(events_csv(made_up.pair()))))
    assert [row["battery"] for row in rows] == ["old", "new"]
    assert float(rows[0]["time_h"]) == 41.0
    assert float(rows[0]["cell3_voltage_V"]) == 2.5
    assert float(rows[0]["new.current_before_A"]) == 2.0
    assert float(rows[0]["new.current_after_A"]) == 4.0


def test_an_event_of_the_whole_bank_leaves_battery_fields_empty():
    result = made_up.result([made_up.outcome("a")], [made_up.collapse(1.0, ["a"])])
    (row,) = csv.DictReader(io.StringIO(events_csv(result)))
    assert (row["battery"], row["cell"], row["battery_voltage_V"]) == ("", "", "")
