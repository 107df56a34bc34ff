"""``banksim report``: page and data written, targets refused, nothing half done."""

import io
import zipfile
from types import SimpleNamespace

import pytest
from bench import write_bench

from bankSim.cli.main import main
from bankSim.show import report_pictures
from bankSim.show.report import run_in_full


@pytest.fixture
def drawn_here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_bench(tmp_path)
    return tmp_path


@pytest.fixture
def here(drawn_here, monkeypatch):
    """The same folder; drawing, which is slow, is seen in one test."""
    monkeypatch.setattr(report_pictures, "png_of", lambda *_: b"a picture")
    return drawn_here


def test_page_and_data_are_written(drawn_here, capsys):
    here = drawn_here
    words = ["report", "bench.toml", "--no-draws", "--out", "page.html", "--question", "How long?"]
    assert main(words) == 0
    out = capsys.readouterr().out
    assert "Two on a bench" in out
    assert "A prediction is not a permission" in out
    assert "Written: page.html, page-data.zip" in out
    page = (here / "page.html").read_text(encoding="utf-8")
    assert "How long?" in page
    assert "No draws were made" in page
    with zipfile.ZipFile(here / "page-data.zip") as pack:
        assert {"scenario.toml", "curve.csv", "summary.json", "story.txt"} <= set(pack.namelist())
        assert "report.html" not in pack.namelist()
        assert pack.read("figures/lanes.png")[:8] == b"\x89PNG\r\n\x1a\n"  # ISO/IEC 15948
    assert not [one for one in here.iterdir() if one.name.endswith(".tmp")]


def test_the_usual_place_is_beside_the_results(here, capsys):
    assert main(["report", "bench.toml", "--no-draws"]) == 0
    folder = here / "results" / "bench"
    assert sorted(one.name for one in folder.iterdir()) == ["report-data.zip", "report.html"]


def test_no_data_writes_the_page_only(here, capsys):
    assert main(["report", "bench.toml", "--no-draws", "--no-data", "--out", "p.html"]) == 0
    assert (here / "p.html").exists()
    assert not (here / "p-data.zip").exists()
    assert capsys.readouterr().out.rstrip().endswith("Written: p.html")


def test_draws_are_recorded_with_their_seed(here, capsys):
    words = ["report", "bench.toml", "--draws", "20", "--seed", "5", "--out", "p.html"]
    assert main(words) == 0
    page = (here / "p.html").read_text(encoding="utf-8")
    assert "20 draws, seed 5" in page
    with zipfile.ZipFile(io.BytesIO((here / "p-data.zip").read_bytes())) as pack:
        names = set(pack.namelist())
    assert {"draws-story.txt", "draws-summary.json", "figures/shares.png"} <= names


@pytest.mark.parametrize(
    ("out", "told"),
    [
        ("folder", "is a folder"),
        ("bench.toml", "this run is read from it"),
        ("curve.csv", "this run is read from it"),
        ("nowhere/page.html", "no such folder"),
        ("notes.txt", "--out = 'notes.txt'; expected the name of a file that ends in .html"),
        ("  ", "expected the name of a file"),
        ("blocked.html", "is a folder"),
    ],
)
def test_refused_targets_are_one_line(here, capsys, monkeypatch, out, told):
    (here / "folder").mkdir()
    (here / "blocked-data.zip").mkdir()
    (here / "notes.txt").write_text("keep")
    before = {one: one.read_bytes() for one in here.iterdir() if one.is_file()}

    def never(*_):
        raise AssertionError("solved although the target is refused")

    monkeypatch.setattr("bankSim.cli.run.predict", never)
    assert main(["report", "bench.toml", "--out", out]) == 2
    seen = capsys.readouterr()
    assert told in seen.err
    assert len(seen.err.splitlines()) == 1
    assert seen.out == ""
    assert {one: one.read_bytes() for one in here.iterdir() if one.is_file()} == before


def test_a_faulty_scenario_is_told_as_everywhere(here, capsys):
    (here / "bad.toml").write_text("[[battery]]\nrated_capacity_Ah = -1\n")
    assert main(["report", "bad.toml"]) == 2
    assert "bad.toml" in capsys.readouterr().err
    assert not (here / "results").exists()


def test_the_page_of_before_stays_when_something_fails(here, monkeypatch):
    (here / "page.html").write_text("before")

    def fails(*_args, **_more):
        raise RuntimeError("broken")

    monkeypatch.setattr("bankSim.show.report.report_html", fails)
    with pytest.raises(RuntimeError):
        main(["report", "bench.toml", "--no-draws", "--out", "page.html"])
    assert (here / "page.html").read_text() == "before"
    assert not (here / "page-data.zip").exists()


@pytest.mark.parametrize(("batteries", "expected"), [(1, 60), (4, 60), (8, 30), (24, 10), (64, 10)])
def test_few_stories_are_told_in_full_of_large_banks(batteries, expected):
    assert run_in_full(SimpleNamespace(batteries=range(batteries))) == expected
