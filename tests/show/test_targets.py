import os
import re

import pytest

from bankSim.show.targets import OutputError, check_file, check_folder, write_text


def test_a_new_file_and_an_ordinary_one_are_fine(tmp_path):
    (tmp_path / "x.json").write_text("old")
    check_file(tmp_path / "new.json", [tmp_path / "x.json"])
    check_file(tmp_path / "x.json", [tmp_path / "y.toml"])


def test_what_the_run_is_read_from_is_refused_by_any_name(tmp_path):
    source = tmp_path / "bench.toml"
    source.write_text("precious")
    (tmp_path / "link.json").symlink_to(source)
    os.link(source, tmp_path / "hard.json")
    (tmp_path / "deep").mkdir()
    for name in ("bench.toml", "link.json", "hard.json", "deep/../bench.toml"):
        with pytest.raises(OutputError, match="this run is read from it"):
            check_file(tmp_path / name, [source])
    assert source.read_text() == "precious"


def test_no_ordinary_file_is_refused(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for place, why in (
        (tmp_path, "is a folder"),
        (tmp_path / "pipe", "is no ordinary file"),
        (tmp_path / "none" / "x", "no such folder"),
    ):
        with pytest.raises(OutputError, match=re.escape(f"{place}: {why}")):
            check_file(place)
    with pytest.raises(OutputError, match="is no ordinary file"):
        check_file(type(tmp_path)("/dev/null"))


def test_a_link_in_a_circle_is_refused(tmp_path):
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    with pytest.raises(OutputError, match="cannot be written"):
        check_file(tmp_path / "a")


def test_a_folder_without_permission_is_refused_before_the_work(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "access", lambda place, mode: False)  # root may write anywhere
    with pytest.raises(OutputError, match="no permission to write here"):
        check_folder(tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_dangling_link_is_no_folder(tmp_path):
    (tmp_path / "link").symlink_to(tmp_path / "none")
    with pytest.raises(OutputError, match="is a file; expected a folder"):
        check_folder(tmp_path / "link")


def test_a_folder_with_a_folder_in_the_place_of_a_result_is_refused(tmp_path):
    (tmp_path / "story.txt").mkdir()
    with pytest.raises(OutputError, match=r"story\.txt: is a folder"):
        check_folder(tmp_path, ["story.txt"])


def test_write_text_replaces_and_leaves_nothing_beside(tmp_path):
    file = tmp_path / "x.json"
    write_text("one", file)
    write_text("two", file)
    assert file.read_text() == "two"
    assert os.listdir(tmp_path) == ["x.json"]


def test_write_text_goes_through_a_link(tmp_path):
    (tmp_path / "real.json").write_text("old")
    (tmp_path / "link.json").symlink_to(tmp_path / "real.json")
    write_text("new", tmp_path / "link.json")
    assert (tmp_path / "real.json").read_text() == "new"
    assert (tmp_path / "link.json").is_symlink()


def test_a_stop_while_writing_leaves_nothing_beside(tmp_path, monkeypatch):
    def stopped(source, target):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", stopped)
    with pytest.raises(KeyboardInterrupt):
        write_text("x", tmp_path / "x.json")
    assert os.listdir(tmp_path) == []
