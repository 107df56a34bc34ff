"""Which folder a question's results get, what is never replaced, and what is said of it."""

from pathlib import Path

import pytest

from bankSim.cli.hand_over import Target, _folder, _name_files, files_of, hand_over_as, target_of
from bankSim.cli.inputs import folder_name, inputs_of
from bankSim.cli.output import print_or_write
from bankSim.cli.study_folder import asked_name, folder_of, store_of
from bankSim.cli.study_options import FITS, QUESTIONS, Options, check_options
from bankSim.show.blocks import Story
from bankSim.show.targets import OutputError
from bankSim.study.store import StudyError


@pytest.mark.parametrize(
    ("file", "name"),
    [("hut.toml", "hut"), ("a/b/hut.v2.toml", "hut.v2"), (".toml", "toml"), ("..", "scenario"),
     ("hut .toml", "hut"), (". .toml", "scenario"), ("a\nb.toml", "a?b"), ("é.toml", "é")],
)  # fmt: skip
def test_a_folder_has_the_name_of_its_file_on_any_system(file, name):
    assert folder_name(Path(file)) == name


def test_inputs_are_the_scenario_and_every_table_it_names(tmp_path):
    file = tmp_path / "a.toml"
    file.write_text(
        "[[battery]]\nname = 'profile'\n[battery.cell]\nocv_table = 'curve.csv'\n"
        "[[battery.cells]]\nocv_table = 'own/second.csv'\n[[load]]\nprofile = '/day.csv'\n"
    )
    named = [tmp_path / "curve.csv", tmp_path / "own/second.csv", Path("/day.csv")]
    assert inputs_of(file) == [file, *named]
    file.write_text("[[load]]\nprofile = 5\nocv_table = ['x']\n")  # no names; told when it is read
    assert inputs_of(file) == [file]


@pytest.mark.parametrize("name", ["none.toml", "broken.toml", ".", "a\0b"])
def test_a_file_that_cannot_be_read_is_its_own_only_input(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("broken.toml").write_text("profile = ")
    assert inputs_of(Path(name)) == [Path(name)]


def test_each_question_gets_a_folder_of_its_own():
    usual = Options()
    asked = [
        asked_name("spread", [], usual),
        asked_name("spread", [], Options(seed=0)),
        asked_name("spread", [], Options(seed=2)),
        asked_name("spread", [], Options(seed=2, even=True)),
        asked_name("matters", [], Options(of="Ah:a b")),
        asked_name("matters", [], Options(of="first:a b")),
        asked_name("versus", ["other/hut.toml"], usual),
        asked_name("sweep", ["battery[1].lead_mohm=1,2"], usual),
        asked_name("sweep", ["battery[2].lead_mohm=1,2"], usual),
        asked_name("sweep", ["a.x=1,2", "b.y=3,4"], usual),
    ]
    assert len(set(asked)) == len(asked)
    assert asked[:7] == [
        "spread", "spread-seed-0", "spread-seed-2", "spread-seed-2-even", "matters-of-Ah-a-b",
        "matters-of-first-a-b", "versus-hut",
    ]  # fmt: skip
    assert asked[7].startswith("sweep-lead_mohm-")
    assert asked[9].startswith("sweep-x-y-")
    # what changes no draw changes no folder: a broken-off study goes on
    same = Options(draws=5, threads=2, plots=False, fresh=True, precision_cases=1.0)
    assert asked_name("spread", [], same) == "spread"


def test_where_a_study_writes():
    file = Path("my/hut.toml")
    assert folder_of(file, "spread", [], Options()) == Path("results/hut/spread")
    assert folder_of(file, "spread", [], Options(out="o", json="-")) == Path("o")
    assert folder_of(file, "spread", [], Options(json="s.json")) == Path("results/hut/spread")
    assert folder_of(file, "spread", [], Options(json="-")) is None
    assert folder_of(file, "spread", [], Options(draw=0)) is None
    with pytest.raises(OutputError, match="--out = ' '; expected the name of a folder"):
        folder_of(file, "spread", [], Options(out=" "))


def test_finished_draws_are_told_once(tmp_path, capsys):
    assert store_of(None, "spread", Options()) is None
    store = store_of(tmp_path / "o", "sweep x=1,2", Options())
    first = store("x=1", {"seed": 1})
    assert first.folder == tmp_path / "o/draws/x=1"
    assert store("", {"seed": 1}).folder == tmp_path / "o/draws"
    assert capsys.readouterr().err == ""
    (first.folder / "block-000000.parquet").write_bytes(b"")
    again = store_of(tmp_path / "o", "sweep x=1,2", Options())
    for _ in range(2):
        again("x=1", {"seed": 1})
    told = f"Going on with the finished draws in {tmp_path / 'o/draws'}.\n"
    assert capsys.readouterr().err == told
    with pytest.raises(StudyError, match=r"another question \(sweep x=1,2, not sweep x=1,3\)"):
        store_of(tmp_path / "o", "sweep x=1,3", Options())("x=1", {"seed": 1})


def test_where_an_answer_about_logs_is_written():
    logs = [Path(f"dir/{name} log.csv") for name in "abcde"]
    assert _folder("gauge", None, None, logs[:1], writes=True) == Path("results/gauge-a-log")
    assert _folder("test", None, None, logs[:4], writes=True) == Path(
        "results/test-a-log-b-log-c-log-d-log"
    )
    many = _folder("test", None, None, logs, writes=True)
    assert many.name.startswith("test-a-log-and-4-more-")
    assert many != _folder("test", None, None, [*logs[:4], Path("f.csv")], writes=True)
    assert _folder("deeper", None, None, [], writes=True) == Path("results/deeper")
    assert _folder("gauge", None, "-", logs[:1], writes=True) is None
    assert _folder("gauge", None, None, logs[:1], writes=False) is None
    assert _folder("gauge", "o", "-", logs[:1], writes=False) == Path("o")
    with pytest.raises(OutputError, match="--out = ''"):
        _folder("gauge", "", None, logs[:1], writes=True)


def test_an_input_among_the_results_is_never_replaced(tmp_path):
    (tmp_path / "course.csv").write_text("mine")
    inputs = [tmp_path / "course.csv"]
    with pytest.raises(OutputError, match="this run is read from it"):
        target_of("gauge", str(tmp_path), None, False, inputs, ["course.csv"])
    assert target_of("gauge", str(tmp_path), None, True, inputs) == Target(tmp_path, None, False)


def test_where_a_summary_may_go_is_looked_at_before_any_work(tmp_path):
    (tmp_path / "log.csv").write_text("mine")
    inputs = [tmp_path / "log.csv", tmp_path / "table.csv"]
    with pytest.raises(OutputError, match="this run is read from it"):
        target_of("gauge", None, str(tmp_path / "log.csv"), True, inputs)
    # named after the log alone, not the table beside it; several logs give their names together
    assert target_of("gauge", None, None, True, inputs).folder == Path("results/gauge-log")
    both = target_of("test", None, None, True, inputs, logs=inputs)
    assert both.folder == Path("results/test-log-table")
    assert target_of("gauge", None, None, True, inputs, writes=False).folder is None


def test_files_of_an_answer():
    assert files_of(Target(None, None, True)) == files_of(Target(None, "-", True)) == []
    assert files_of(Target(Path("o"), "s.json", True)) == [
        Path("o/story.txt"), Path("o/summary.json"), Path("s.json"),
    ]  # fmt: skip


class Made:
    """An answer of one sentence."""

    story = Story("Title", ("It holds.",), ())
    summary = {"holds": True}  # noqa: RUF012 - never changed


def test_json_alone_on_standard_output(tmp_path, capsys):
    asked = []

    def write(folder):
        asked.append(folder)
        return [folder / "a.txt"]

    assert hand_over_as(Made(), Target(None, "-", True), write) == 0
    assert capsys.readouterr().out == '{\n  "holds": true\n}\n'
    assert asked == []
    hand_over_as(Made(), Target(tmp_path, "-", True), write)
    assert asked == [tmp_path]
    assert "Written" not in capsys.readouterr().out


def test_files_are_named_after_the_story(tmp_path, capsys):
    file = tmp_path / "s.json"

    def write(folder):
        return [folder / "a.txt", folder / "b.txt"]

    hand_over_as(Made(), Target(tmp_path / "o", str(file), True), write, lambda: "; draws kept")
    out = capsys.readouterr().out
    assert "It holds." in out
    folder = tmp_path / "o"
    assert out.endswith(f"\nWritten to {folder}: a.txt, b.txt; draws kept\nWritten: {file}\n")
    assert file.read_text() == '{\n  "holds": true\n}\n'
    _name_files([], folder, "")
    assert capsys.readouterr().out == ""


def test_a_reader_who_leaves_early_costs_no_files(tmp_path, monkeypatch):
    def gone(_):
        raise BrokenPipeError

    monkeypatch.setattr("bankSim.cli.hand_over.print_story", gone)
    written = []
    with pytest.raises(BrokenPipeError):
        hand_over_as(Made(), Target(tmp_path, str(tmp_path / "s.json"), True),
                     lambda folder: written.append(folder) or [])  # fmt: skip
    assert written == [tmp_path]
    assert (tmp_path / "s.json").exists()


def test_a_text_is_printed_or_written(tmp_path, capsys):
    print_or_write("one\n", None)
    print_or_write("two\n", tmp_path / "a.txt")
    assert capsys.readouterr().out == f"one\nWritten: {tmp_path / 'a.txt'}\n"
    assert (tmp_path / "a.txt").read_text() == "two\n"


GIVEN = {"draws": 5, "seed": 2, "even": True, "precision_Ah_percent": 1.0, "precision_cases": 1.0,
         "of": "bank", "draw": 1, "out": "o", "json": "j.json", "plots": False, "threads": 2,
         "cluster": "a:1", "fresh": True}  # fmt: skip


@pytest.mark.parametrize("question", QUESTIONS)
@pytest.mark.parametrize("name", [name for name in GIVEN if name != "draw"])
def test_each_option_has_its_effect_or_is_refused(question, name):
    options = Options(**{name: GIVEN[name]})
    assert options.given == [name]
    if name in FITS[question]:
        check_options(question, options)
        return
    typed = {"precision_Ah_percent": "--precision-Ah-percent", "precision_cases":
             "--precision-cases"}.get(name, f"--{name}")  # fmt: skip
    with pytest.raises(StudyError, match=f"^study {question}: {typed} has no effect; expected"):
        check_options(question, options)


@pytest.mark.parametrize("name", [name for name in GIVEN if name != "draw"])
def test_what_goes_with_one_draw(name):
    options = Options(draw=0, **{name: GIVEN[name]})
    if name in {"seed", "even", "plots"}:
        check_options("spread", options)
        return
    with pytest.raises(StudyError) as caught:
        check_options("spread", options)
    assert str(caught.value).endswith(
        "has no effect; expected one of --draw, --even, --no-plots, --seed"
    )


def test_one_draw_is_told_by_one_question_only():
    check_options("spread", Options(draw=0))
    for question in QUESTIONS[1:]:
        with pytest.raises(StudyError, match=f"^study {question} --draw: one draw is told by the"):
            check_options(question, Options(draw=0))


def test_options_that_go_together_are_no_fault():
    check_options("spread", Options(threads=2, fresh=True, json="-", out="o"))
    check_options("spread", Options(cluster="a:1", fresh=True))
