"""What README.md and the pages show is typed as written, and gives what they say.

Marked blocks (words of a fence): ``sh run`` is typed line by line, ``toml file=NAME`` is written to
that file and read. In paragraphs that begin with "**The run says:**" every number and every quoted
name must stand in what the page has printed so far; a number with a unit must stand there with
it, or have three digits (tables).
"""

import re
import shlex
import shutil

import pytest
from docs_pages import DOCS, ROOT
from markdown_it import MarkdownIt

from bankSim import read_scenario
from bankSim.cli.main import main

HOW_TO = sorted(path for path in (DOCS / "how-to").glob("*.md") if path.name != "README.md")
SHOWN = [ROOT / "README.md", DOCS / "commands.md", DOCS / "scenario.md", *HOW_TO]
UNITS = r"Ah|A|Wh|W|V|kA|h|min|s|m|mm2|mohm|mV|%|of 100|points"
NUMBER = re.compile(rf"(?<![\w.])(\d+(?:\.\d+)?)(?: ({UNITS})(?!\w))?(?![\d])")
SAYS = "**The run says:** "
HAS_FIGURES = {"run", "study"}


def squeezed(text):
    return " ".join(text.split())


def command_of(line):
    """The words of a command after the program's name, or None for another program."""
    words = shlex.split(line, comments=True)
    if words and words[0] in ("banksim", ".venv/bin/banksim"):
        plain = [] if words[1] not in HAS_FIGURES or "--no-plots" in words else ["--no-plots"]
        return words[1:] + plain
    return None


def typed(block, capsys):
    """Type every line of a block; return what was printed."""
    said = ""
    for line in block.splitlines():
        words = command_of(line)
        if words is not None:
            assert main(words) == 0, line
            said += capsys.readouterr().out + "\n"
    return said


def missing(paragraph, output):
    """Return the numbers and quoted names of a paragraph that are not in the output."""
    told, text = squeezed(output), squeezed(paragraph)
    lost = [name for name in re.findall(r'"[^"]+"', text) if name.strip('"') not in told]
    for found in NUMBER.finditer(re.sub(r'"[^"]+"', "", text)):
        number, unit = found.groups()
        alone = re.search(rf"(?<![\d.]){re.escape(number)}(?![\d]|\.\d)", told)
        joined = unit and re.search(rf"(?<![\d.]){re.escape(number)} {unit}(?!\w)", told)
        digits = len(number.replace(".", "").lstrip("0"))
        if not (joined or (alone and (not unit or digits >= 3))):
            lost.append(found.group(0))
    return lost


@pytest.fixture
def desk(tmp_path, monkeypatch):
    """A folder with the shipped scenarios, which is the current one."""
    shutil.copytree(ROOT / "scenarios", tmp_path / "scenarios")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("path", SHOWN, ids=lambda path: str(path.relative_to(ROOT)))
def test_examples_run_and_say_what_the_page_says(path, desk, capsys):
    output, checked, lost = "", 0, []
    tokens = MarkdownIt("commonmark").parse(path.read_text(encoding="utf-8"))
    for token in tokens:
        words = token.info.split()
        if words[:1] == ["toml"] and words[-1].startswith("file="):
            (desk / words[-1].removeprefix("file=")).write_text(token.content, encoding="utf-8")
            assert read_scenario(desk / words[-1].removeprefix("file="))
        elif words == ["sh", "run"]:
            output += typed(token.content, capsys)
        elif token.type == "inline" and token.content.startswith(SAYS):
            lost += missing(token.content.removeprefix(SAYS), output)
            checked += 1
    assert lost == []
    assert checked or path not in HOW_TO


def test_a_wrong_number_is_seen():
    output = "The bank delivers 171 Ah.\n  old   90    67.9"
    assert missing('it delivers 171 Ah, "old" 67.9 Ah', output) == []
    assert missing('it delivers 172 Ah, "new" 90 Ah, 7.9 A', output) == [
        '"new"',
        "172 Ah",
        "90 Ah",
        "7.9 A",
    ]


def test_every_page_of_questions_is_in_the_index_and_has_its_parts():
    index = (DOCS / "how-to" / "README.md").read_text(encoding="utf-8")
    for path in HOW_TO:
        text = path.read_text(encoding="utf-8")
        title = text.splitlines()[0].removeprefix("# ")
        assert f"[{title}]({path.name})" in index
        assert text.splitlines()[2].startswith("**Short answer.** ")
        assert "## Cautions" in text
        assert "```sh run" in text
