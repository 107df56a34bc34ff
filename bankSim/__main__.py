"""``python -m bankSim`` is the program ``banksim``."""

import sys

if __name__ == "__main__":
    try:
        from bankSim.cli.main import entry
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        sys.exit(130)
    entry()
