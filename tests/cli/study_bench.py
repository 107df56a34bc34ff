"""Scenarios for studies on the command line: bare cells, some of whose numbers have a spread."""

from bench import TWO, write_bench

from bankSim.cli.main import main

SPREAD = TWO.replace("\ncapacity_Ah = 10.0", "\ncapacity_Ah = { value = 10.0, sd = 0.3 }").replace(
    "\ncapacity_Ah = 19.0", "\ncapacity_Ah = { value = 19.0, sd = 0.4 }"
)
EXACT = TWO.replace("power_W = 60.0", "current_A = 5.0") + "[surroundings]\ntemperature_C = 20.0\n"
SPREAD += "[simulation]\noutput_every_s = 3600.0\n"
BLOCK = 10  # draws; so short runs would come in blocks of 1000


def write_study(folder, text=SPREAD, name="bench.toml"):
    """Write a scenario and its curve; return the scenario's name."""
    write_bench(folder, text, name)
    return name


def study(*words):
    """Call the command without figures; return its exit code."""
    return main(["study", *words, "--no-plots"])


def everything(folder):
    """All files below a folder with what is in them and when they were written."""
    return {
        str(file.relative_to(folder)): (file.read_bytes(), file.stat().st_mtime_ns)
        for file in folder.rglob("*")
        if file.is_file()
    }


def own_folder(workbench, question):
    """Return the one folder of a question's results."""
    (folder,) = (workbench / "results" / "bench").glob(f"{question}*")
    return folder
