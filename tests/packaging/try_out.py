"""Build wheel and source archive, install both in bare environments, and use them.

    python tests/packaging/try_out.py [PYTHON ...]

Takes minutes and fetches packages, so it is no part of the usual tests. Without a PYTHON it takes
the one that runs it. Everything happens in a temporary folder, which goes afterwards.
"""

import os
import re
import subprocess
import sys
import tarfile
import tempfile
import time
import urllib.request
import zipfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
PORT = 8597
SMOKE = ("tests/cli/test_main.py", "tests/packaging", "tests/kernels/test_network.py")
SAFELY: dict[str, Any] = {"filter": "data"} if hasattr(tarfile, "data_filter") else {}
CLEAN = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}


def call(*words: object, where: Path) -> str:
    """Run a program outside the source tree and return what it printed; stop when it fails."""
    asked = [str(word) for word in words]
    done = subprocess.run(
        asked, cwd=where, env=CLEAN, capture_output=True, text=True, check=False, timeout=900
    )
    if done.returncode != 0:
        sys.exit(f"{' '.join(asked)}\n{done.stdout[-3000:]}\n{done.stderr[-3000:]}")
    return done.stdout


def new_environment(python: str, place: Path, where: Path) -> Path:
    """Make a bare virtual environment and return its Python."""
    call(python, "-m", "venv", place, where=where)
    return place / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def copy_of_the_tree(folder: Path) -> Path:
    """Put what git has committed into a folder, so that no file left about can help."""
    source = folder / "source"
    call("git", "-C", ROOT, "archive", "-o", folder / "tree.tar", "HEAD", where=folder)
    with tarfile.open(folder / "tree.tar") as tree:
        tree.extractall(source, **SAFELY)
    return source


def compare(tree: set[str], wheel: Path, archive: Path) -> None:
    """Stop when wheel or source archive lacks a file of the tree, or holds one too many."""
    with zipfile.ZipFile(wheel) as opened:
        in_wheel = {n for n in opened.namelist() if ".dist-info/" not in n}
    with tarfile.open(archive) as opened:
        in_archive = {m.name.split("/", 1)[1] for m in opened.getmembers() if m.isfile()}
    made = {n for n in in_archive if "egg-info" in n} | {"PKG-INFO", "setup.cfg"}
    package = {name for name in tree if name.startswith("bankSim/")}
    for what, odd in (("wheel", in_wheel ^ package), ("archive", (in_archive - made) ^ tree)):
        if odd:
            sys.exit(f"the {what} and the tree differ in: {sorted(odd)}")
    print(f"files agree: {len(in_wheel)} in the wheel, {len(in_archive)} in the source archive")


def use(python: Path, where: Path) -> None:
    """Use the installed program as a stranger would."""
    program = python.parent / "banksim"
    told = call(python, "-c", "import bankSim; print(bankSim.__file__)", where=where)
    if "site-packages" not in told:
        sys.exit(f"not the installed package: {told}")
    call(program, "new", "mine.toml", where=where)
    call(program, "run", "mine.toml", where=where)
    call(program, "report", "mine.toml", where=where)
    page = where / "results/mine/report.html"
    if "<svg" not in page.read_text(encoding="utf-8"):
        sys.exit("the report has no drawing")
    call(program, "schema", where=where)
    ready = (
        "from importlib.resources import files; from bankSim.cli.main import main; import sys; "
        "sys.exit(main(['run', str(files('bankSim.screens') / 'ready_files' / 'boat.toml'), "
        "'--no-plots']) or main(['log', str(sorted((files('bankSim.screens') / 'ready_logs')"
        ".iterdir())[0])]))"
    )
    call(python, "-c", ready, where=where)
    answers(program, where)


def answers(program: Path, where: Path) -> None:
    """Start the screen, and stop when it does not answer."""
    words = [str(program), "app", "--no-browser", "--port", str(PORT)]
    server = subprocess.Popen(
        words, cwd=where, env=CLEAN, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    )
    try:
        for _ in range(120):
            time.sleep(0.5)
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{PORT}/_stcore/health") as told:
                    if told.read() == b"ok":
                        return
            except OSError:
                if server.poll() is not None:
                    break
        sys.exit("the screen does not answer")
    finally:
        server.terminate()
        server.wait(20)


def try_python(python: str, parts: tuple[Path, Path], folder: Path) -> None:
    """Install wheel and source archive, one after the other, into bare environments."""
    version = re.sub(r"\W+", "-", call(python, "--version", where=folder).strip())
    for part in parts:
        where = folder / f"{version}-{part.suffix[1:]}"
        where.mkdir()
        own = new_environment(python, where / "env", where)
        call(own, "-m", "pip", "install", "--quiet", f"{part}[screen]", where=where)
        use(own, where)
        print(f"{version}: {part.name} installs and works", flush=True)
    smoke(own, parts[1], where)


def smoke(python: Path, archive: Path, where: Path) -> None:
    """Run a few tests out of the unpacked source archive."""
    with tarfile.open(archive) as opened:
        opened.extractall(where, **SAFELY)
    call(python, "-m", "pip", "install", "--quiet", "pytest", "hypothesis", where=where)
    inside = where / archive.name.removesuffix(".tar.gz")
    print(call(python, "-m", "pytest", "-q", *SMOKE, where=inside).splitlines()[-1], flush=True)


def main(pythons: list[str]) -> None:
    """Build, compare and try with every Python."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        source = copy_of_the_tree(folder)
        tree = {p.relative_to(source).as_posix() for p in source.rglob("*") if p.is_file()}
        builder = new_environment(sys.executable, folder / "builder", folder)
        call(builder, "-m", "pip", "install", "--quiet", "build", where=folder)
        call(builder, "-m", "build", "--outdir", folder / "dist", source, where=folder)
        wheel, archive = (next((folder / "dist").glob(end)) for end in ("*.whl", "*.tar.gz"))
        compare(tree, wheel, archive)
        for python in pythons:
            try_python(python, (wheel, archive), folder)


if __name__ == "__main__":
    main(sys.argv[1:] or [sys.executable])
