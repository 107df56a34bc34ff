"""Calls a command in a folder and looks at what it printed and left: whole files, real numbers."""

import contextlib
import io
import json
import re
import shutil
import tempfile
from pathlib import Path

from bankSim.cli.main import main
from bankSim.scenario.read import read_scenario
from bankSim.whole import MARK, NOTE
from tests.hostile import refusals
from tests.hostile.wrong import WrongAnswerError, refuse_constant

ODD = re.compile(r"(?<![\w.'\"-])[-+]?(nan|inf|infinity)(?![\w-])", re.IGNORECASE)
REFUSED_CODE = 2


def call(folder: Path) -> tuple[bool, list[str]]:
    """Call a command; return whether it was refused, and what is wrong with the words of that."""
    with tempfile.TemporaryDirectory(dir=folder) as name:
        room = Path(name)
        for file in folder.iterdir():
            if file.is_file():
                shutil.copy(file, room)
        return _call(room, {file.name for file in room.iterdir()})


def _call(room: Path, given: set[str]) -> tuple[bool, list[str]]:
    words = json.loads((room / "words.json").read_text())
    told, wrong = io.StringIO(), io.StringIO()
    with (
        contextlib.chdir(room),
        contextlib.redirect_stdout(told),
        contextlib.redirect_stderr(wrong),
    ):
        code = main(words)
    left = sorted(file for file in room.rglob("*") if file.relative_to(room).parts[0] not in given)
    if code == REFUSED_CODE:
        if left:
            raise WrongAnswerError(f"refused, but left {left[0].name}")
        return True, refusals.of_command(wrong.getvalue())
    if code != 0:
        raise WrongAnswerError(f"exit code {code}")
    _look_at(told.getvalue(), "what is printed")
    if "-" in words:
        json.loads(told.getvalue(), parse_constant=refuse_constant)
    for file in left:
        _look_into(file)
    return False, []


def _look_into(file: Path) -> None:
    """Raise unless a file is a whole one of its sort."""
    if file.name.startswith(MARK) or file.name == NOTE:
        raise WrongAnswerError(f"left behind: {file.name}")
    if not file.is_file() or file.suffix == ".png":
        return
    text = file.read_text(encoding="utf-8")
    if not text.endswith("\n"):
        raise WrongAnswerError(f"{file.name} ends inside a line")
    _look_at(text, file.name)
    if file.suffix == ".json":
        json.loads(text, parse_constant=refuse_constant)
    if file.suffix == ".toml":
        read_scenario(file)


def _look_at(text: str, where: str) -> None:
    found = ODD.search(text)
    if found:
        raise WrongAnswerError(f"{found[0]} in {where}: {text[max(0, found.start() - 60) :][:120]}")
