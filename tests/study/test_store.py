"""Blocks in a folder: kept to the bit, never mixed, and clear words where they cannot be used."""

import errno
import json
import os
import shutil
import tempfile
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hybrid_draws import assert_same_rows
from made_up_blocks import made_up_block, made_up_plan, made_up_workers, whole_table

from bankSim.study import store as store_module
from bankSim.study.blocks import run_draws
from bankSim.study.store import MANIFEST, Folder, Memory, StudyError
from bankSim.study.uniforms import Sampling
from bankSim.whole import MARK

PLAN = made_up_plan()


def filled(folder, blocks=3, plan=PLAN):
    """A folder with some blocks of a plan."""
    store = Folder(folder, plan.description)
    for number in range(blocks):
        store.write(number, made_up_block(plan, number))
    return store


def refusal(action):
    """The one line that something is refused with."""
    with pytest.raises(StudyError) as caught:
        action()
    told = str(caught.value)
    assert "\n" not in told
    return told


@pytest.mark.parametrize("make", [lambda _: Memory(), lambda path: Folder(path, PLAN.description)])
def test_blocks_come_back_to_the_bit(make, tmp_path):
    store = make(tmp_path / "study")
    assert store.finished() == set()
    for number in (2, 0, 1):
        store.write(number, made_up_block(PLAN, number))
    assert store.finished() == {0, 1, 2}
    wanted = whole_table(PLAN, 3)
    assert_same_rows({name: store.column(name, 3) for name in wanted}, wanted)
    assert store.column("draw", 2).tolist() == list(range(20))


def test_a_folder_goes_on_where_it_was(tmp_path):
    filled(tmp_path / "study")
    with made_up_workers() as workers:
        draws = run_draws(PLAN, 80, workers, Folder(tmp_path / "study", PLAN.description))
    wanted = whole_table(PLAN, 8)
    assert_same_rows({name: draws.column(name) for name in wanted}, wanted)


def test_a_folder_inside_others_is_made(tmp_path):
    folder = tmp_path / "a" / "b"
    filled(folder)
    assert sorted(file.name for file in folder.iterdir()) == [
        MANIFEST, "block-000000.parquet", "block-000001.parquet", "block-000002.parquet",
    ]  # fmt: skip


OTHERS = [
    (made_up_plan(title="another"), "scenario"),
    (made_up_plan(tolerance=1e-3), "tolerance"),
    (made_up_plan(block=20), "size of blocks"),
    (replace(PLAN, unknowns=(replace(PLAN.unknowns[0], label="other"),)), "list of unknowns"),
    (made_up_plan(seed=2), "seed (1, not 2)"),
    (replace(PLAN, design=replace(PLAN.design, sampling=Sampling.EVEN)), "kind of draws"),
]


@pytest.mark.parametrize(("other", "word"), OTHERS, ids=[row[1] for row in OTHERS])
def test_draws_of_something_else_are_not_mixed(other, word, tmp_path):
    filled(tmp_path / "study")
    told = refusal(lambda: Folder(tmp_path / "study", other.description))
    assert told.startswith(f"{tmp_path / 'study'}: holds draws of another {word}")
    assert "expected another --out, or --fresh" in told
    assert len(list((tmp_path / "study").glob("block-*"))) == 3, "nothing is thrown away"


def test_draws_of_another_version_are_not_mixed(tmp_path):
    filled(tmp_path / "study")
    name = "version of the program"
    told = refusal(lambda: Folder(tmp_path / "study", {**PLAN.description, name: "0.0.1 beef"}))
    assert f"holds draws of another {name};" in told


def test_the_first_thing_that_differs_is_told(tmp_path):
    filled(tmp_path / "study")
    other = made_up_plan(title="another", tolerance=1e-3)
    told = refusal(lambda: Folder(tmp_path / "study", other.description))
    assert "another scenario;" in told


@pytest.mark.parametrize("words", ["", "{", "[]", "7", "null", "\x00\x01", '"text"', "{}"])
def test_a_broken_manifest(words, tmp_path):
    filled(tmp_path / "study")
    (tmp_path / "study" / MANIFEST).write_text(words)
    told = refusal(lambda: Folder(tmp_path / "study", PLAN.description))
    assert str(tmp_path / "study") in told
    assert "expected another --out" in told


def test_a_manifest_in_no_known_encoding(tmp_path):
    filled(tmp_path / "study")
    (tmp_path / "study" / MANIFEST).write_bytes(b"\xff\xfe{}")
    assert "is no JSON" in refusal(lambda: Folder(tmp_path / "study", PLAN.description))


def test_blocks_without_a_manifest(tmp_path):
    filled(tmp_path / "study")
    (tmp_path / "study" / MANIFEST).unlink()
    told = refusal(lambda: Folder(tmp_path / "study", PLAN.description))
    assert f"holds blocks of draws but no {MANIFEST}" in told


def test_a_manifest_of_another_format(tmp_path):
    filled(tmp_path / "study")
    place = tmp_path / "study" / MANIFEST
    place.write_text(json.dumps({**json.loads(place.read_text()), "format": 2}))
    told = refusal(lambda: Folder(tmp_path / "study", PLAN.description))
    assert "another format" in told


@pytest.mark.parametrize("part", [0.0, 0.1, 0.5, 0.9, 0.999])
def test_a_truncated_block(part, tmp_path):
    filled(tmp_path / "study")
    place = tmp_path / "study" / "block-000001.parquet"
    whole = place.read_bytes()
    place.write_bytes(whole[: int(part * len(whole))])
    store = Folder(tmp_path / "study", PLAN.description)
    told = refusal(lambda: store.column("bank.delivered_Ah", 3))
    assert told.startswith(f"{place}: cannot be read (")
    assert told.endswith("remove it and run again")


def test_names_of_the_columns(tmp_path):
    store = filled(tmp_path / "study")
    assert store.names() == list(made_up_block(PLAN, 0))
    (tmp_path / "study" / "block-000000.parquet").write_bytes(b"PAR1")
    assert "remove it and run again" in refusal(store.names)


def test_a_truncated_block_that_is_removed_is_marched_again(tmp_path):
    filled(tmp_path / "study")
    (tmp_path / "study" / "block-000001.parquet").unlink()
    with made_up_workers() as workers:
        draws = run_draws(PLAN, 30, workers, Folder(tmp_path / "study", PLAN.description))
    assert_same_rows(
        {name: draws.column(name) for name in whole_table(PLAN, 3)}, whole_table(PLAN, 3)
    )


@pytest.mark.parametrize("seed", range(40))
def test_a_block_with_wrong_bytes(seed, tmp_path):
    # whatever stands in the file, it is told or the numbers are read; never a traceback
    rng = np.random.default_rng(seed)
    filled(tmp_path / "study", 1)
    place = tmp_path / "study" / "block-000000.parquet"
    content = bytearray(place.read_bytes())
    for spot in rng.integers(0, len(content), 5):
        content[spot] = rng.integers(0, 256)
    place.write_bytes(content)
    with suppress(StudyError):
        Folder(tmp_path / "study", PLAN.description).column("bank.delivered_Ah", 1)


@pytest.mark.parametrize("kind", ["ArrowInvalid", "ArrowNotImplementedError", "ArrowKeyError"])
def test_whatever_the_reader_says(kind, tmp_path, monkeypatch):
    # seen with wrong bytes in the column types of a file: "Integers with more than 64 bits ..."
    def fail(*_, **__):
        raise getattr(pa, kind)("it is broken\nin two lines")

    filled(tmp_path / "study", 1)
    monkeypatch.setattr(pq.ParquetFile, "read", fail)
    told = refusal(lambda: Folder(tmp_path / "study", PLAN.description).column("draw", 1))
    assert "cannot be read (" in told
    assert "it is broken" in told


def test_a_column_that_a_block_does_not_have(tmp_path):
    filled(tmp_path / "study")
    store = Folder(tmp_path / "study", PLAN.description)
    told = refusal(lambda: store.column("b.delivered_Ah", 3))
    assert "block-000000.parquet: cannot be read" in told


def test_half_written_files_are_swept(tmp_path):
    filled(tmp_path / "study")
    half = tmp_path / "study" / f"{MARK}4711"
    half.write_bytes(b"PAR1 half")
    store = Folder(tmp_path / "study", PLAN.description)
    assert not half.exists()
    assert store.finished() == {0, 1, 2}


def test_foreign_files_stay(tmp_path):
    filled(tmp_path / "study")
    mine = [tmp_path / "study" / name for name in ("notes.txt", "block-x.parquet", ".hidden.tmp")]
    for file in mine:
        file.write_text("mine")
    assert Folder(tmp_path / "study", PLAN.description).finished() == {0, 1, 2}
    assert all(file.read_text() == "mine" for file in mine)


@pytest.mark.parametrize("name", ["block-7.parquet", "block-²²².parquet", "block--00007.parquet"])
def test_a_file_that_only_looks_like_a_block_is_none(name, tmp_path):
    # "7" was taken for block 7: "block-000007.parquet: cannot be read; remove it and run again"
    filled(tmp_path / "study")
    (tmp_path / "study" / name).write_bytes(b"mine")
    assert Folder(tmp_path / "study", PLAN.description).finished() == {0, 1, 2}
    Folder(tmp_path / "study", PLAN.description, fresh=True)
    assert (tmp_path / "study" / name).read_bytes() == b"mine"


def test_fresh_throws_blocks_away_and_nothing_else(tmp_path):
    folder = tmp_path / "study"
    filled(folder)
    (folder / "story.txt").write_text("mine")
    other = made_up_plan(seed=2)
    store = Folder(folder, other.description, fresh=True)
    assert store.finished() == set()
    assert sorted(file.name for file in folder.iterdir()) == [MANIFEST, "story.txt"]
    assert json.loads((folder / MANIFEST).read_text())["seed"] == 2
    assert refusal(lambda: Folder(folder, PLAN.description)).startswith(f"{folder}: holds draws")


def test_fresh_throws_nothing_away_that_no_study_has_made(tmp_path):
    filled(tmp_path / "study")
    (tmp_path / "study" / MANIFEST).unlink()
    told = refusal(lambda: Folder(tmp_path / "study", PLAN.description, fresh=True))
    assert told.endswith(f"but no {MANIFEST} that says of what; expected another --out")
    assert len(list((tmp_path / "study").glob("block-*"))) == 3


@pytest.mark.parametrize("blocks_at_hand", [0.0, 0.5, 1.0, 1.5, 3.0])
def test_blocks_are_at_hand_only_while_there_is_room(blocks_at_hand, tmp_path, monkeypatch):
    one = sum(column.nbytes for column in made_up_block(PLAN, 0).values())
    filled(tmp_path / "study")
    monkeypatch.setattr(store_module, "MOST_BYTES", int(blocks_at_hand * one))
    store = Folder(tmp_path / "study", PLAN.description)
    wanted = whole_table(PLAN, 3)
    for _ in range(2):  # from the files, then from what is at hand
        assert_same_rows({name: store.column(name, 3) for name in wanted}, wanted)
    shutil.rmtree(tmp_path / "study")
    for number in range(int(blocks_at_hand)):
        assert store._block(number, "draw").tolist() == list(range(10 * number, 10 * number + 10))
    if blocks_at_hand < 3.0:
        assert "cannot be read" in refusal(lambda: store.column("draw", 3))


def test_a_block_just_written_is_at_hand(tmp_path):
    store = filled(tmp_path / "study")
    shutil.rmtree(tmp_path / "study")
    assert store.column("draw", 3).tolist() == list(range(30))


def test_names_in_memory():
    store = Memory()
    store.write(1, {"other": np.zeros(1)})
    store.write(0, made_up_block(PLAN, 0))
    assert store.names() == list(made_up_block(PLAN, 0))


def test_a_half_written_manifest_is_swept(tmp_path):
    filled(tmp_path / "study")
    (tmp_path / "study" / MANIFEST).unlink()
    for block in (tmp_path / "study").glob("block-*"):
        block.unlink()
    half = tmp_path / "study" / f"{MARK}4712"
    half.write_text("{")
    Folder(tmp_path / "study", PLAN.description)
    assert not half.exists()
    assert (tmp_path / "study" / MANIFEST).is_file()


def test_a_file_in_place_of_the_folder(tmp_path):
    (tmp_path / "study").write_text("a file")
    told = refusal(lambda: Folder(tmp_path / "study", PLAN.description))
    assert told == f"{tmp_path / 'study'}: cannot be used (File exists)"


@contextmanager
def common_user():
    """Act as somebody without rights where the tests are run by root."""
    root = os.geteuid() == 0
    if root:
        os.seteuid(65534)
    try:
        yield
    finally:
        if root:
            os.seteuid(0)


@pytest.fixture
def open_folder():
    """A folder that everybody may look into, of the user who runs the tests."""
    folder = Path(tempfile.mkdtemp(prefix="banksim-test-"))
    folder.chmod(0o755)
    yield folder
    for one in [folder, *folder.iterdir()]:
        one.chmod(0o755)
    shutil.rmtree(folder)


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="rights of another kind")
def test_a_read_only_folder(open_folder):
    folder = open_folder / "study"
    store = filled(folder)
    folder.chmod(0o555)
    with common_user():
        again = Folder(folder, PLAN.description)  # what is there can be read
        assert again.column("draw", 3).tolist() == list(range(30))
        told = refusal(lambda: store.write(3, made_up_block(PLAN, 3)))
    assert told.startswith(f"{folder / 'block-000003.parquet'}: cannot be written (")
    assert told.endswith("Permission denied)")


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="rights of another kind")
def test_a_new_folder_where_nothing_may_be_written(open_folder):
    open_folder.chmod(0o555)
    with common_user():
        told = refusal(lambda: Folder(open_folder / "study", PLAN.description))
    assert told == f"{open_folder / 'study'}: cannot be used (Permission denied)"


def test_a_full_disk(tmp_path, monkeypatch):
    store = filled(tmp_path / "study")

    def full(handle):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)  # where a full disk is told at the latest
    told = refusal(lambda: store.write(3, made_up_block(PLAN, 3)))
    assert told.endswith("block-000003.parquet: cannot be written (No space left on device)")
    assert store.finished() == {0, 1, 2}
    assert not list((tmp_path / "study").glob(".*"))
