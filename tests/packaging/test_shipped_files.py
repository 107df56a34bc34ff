"""No file of the tree is forgotten in what people install, and one version is told everywhere.

These look at the rules for wheel and source archive, without building; `try_out.py` beside this
builds both, compares their files too, and installs them.
"""

import re
import shutil
import subprocess
import tomllib
from fnmatch import fnmatch
from pathlib import Path

import pytest

import bankSim
from bankSim.cli.main import main

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def tree():
    """Every file that git keeps, or is about to keep, with / between folders."""
    if not (ROOT / ".git").exists() or shutil.which("git") is None:
        pytest.skip("only a git checkout can say which files belong to the project")
    asked = ["git", "-C", str(ROOT), "ls-files", "-z", "--cached"]
    told = subprocess.run(asked, capture_output=True, text=True, check=True).stdout
    return {name for name in told.split("\0") if name and (ROOT / name).exists()}


def in_wheel(file):
    """Whether setuptools takes a file of the package into the wheel."""
    if file.endswith(".py"):
        return True
    return any(
        Path(file).match(f"{package}/{glob}") and file.count("/") == glob.count("/") + 1
        for package, globs in PROJECT["tool"]["setuptools"]["package-data"].items()
        for glob in globs
    )


def in_archive(file, rules):
    """Whether the rules of MANIFEST.in take a file; the last one that speaks of it wins."""
    taken = False
    for word, names in rules:
        if word in ("graft", "prune") and any(file.startswith(f"{name}/") for name in names):
            taken = word == "graft"
        elif word == "include" and file in names:
            taken = True
        elif word == "global-exclude" and any(fnmatch(file.split("/")[-1], n) for n in names):
            taken = False
    return taken


def archive_rules():
    lines = (ROOT / "MANIFEST.in").read_text(encoding="utf-8").splitlines()
    rules = [line.split() for line in lines if line.strip() and not line.startswith("#")]
    assert {rule[0] for rule in rules} <= {"graft", "prune", "include", "global-exclude"}
    return [(word, names) for word, *names in rules]


def test_wheel_takes_every_file_of_the_package(tree):
    own = {file for file in tree if file.startswith("bankSim/")}
    assert len(own) > 400
    assert {file for file in own if not in_wheel(file)} == set()


def test_source_archive_takes_every_file_of_the_project(tree):
    rules = archive_rules()
    assert {file for file in tree if not in_archive(file, rules)} == set()


def test_every_rule_of_the_wheel_still_finds_something():
    globs = PROJECT["tool"]["setuptools"]["package-data"]["bankSim"]
    assert [glob for glob in globs if not list((ROOT / "bankSim").glob(glob))] == []


def test_a_file_that_no_rule_names_would_be_noticed():
    rules = archive_rules()
    assert not in_wheel("bankSim/show/forgotten.json")
    assert not in_wheel("bankSim/show/deeper/forgotten.css")
    assert not in_archive("forgotten.md", rules)
    assert not in_archive("bankSim/show/__pycache__/words.cpython-311.pyc", rules)


def test_one_version_is_told_everywhere(capsys):
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"banksim {bankSim.__version__}\n"
    assert PROJECT["project"]["dynamic"] == ["version"]
    assert PROJECT["tool"]["setuptools"]["dynamic"]["version"] == {
        "attr": "bankSim.version.__version__"
    }
    changes = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    newest = re.search(r"^## (\S+)", changes, re.MULTILINE)
    assert newest is not None
    assert newest.group(1) == bankSim.__version__


def test_lock_file_holds_exact_versions_and_no_place():
    text = (ROOT / "requirements-dev.lock").read_text(encoding="utf-8")
    assert not re.search(r"://|\s@\s|^-[ief]|--(extra-)?index|find-links|\s/", text, re.MULTILINE)
    pins = re.findall(r"^([A-Za-z0-9._-]+)==(\S+)", text, re.MULTILINE)
    asked = PROJECT["project"]["dependencies"] + [
        need for needs in PROJECT["project"]["optional-dependencies"].values() for need in needs
    ]
    names = {re.split(r"[<>=\[]", need)[0].lower() for need in asked} - {"banksim"}
    assert names <= {name.lower() for name, _ in pins}
