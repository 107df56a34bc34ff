"""``python -m bankSim`` is the program ``banksim``."""

from bankSim.cli.main import entry

if __name__ == "__main__":
    entry()
