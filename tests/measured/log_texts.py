"""Made-up logs whose truth is known: constant currents, a voltage that falls in a straight line."""

from bankSim.measured.log import Asked
from bankSim.measured.read import read_log

COUNT = 60


def volts(place):
    """Falls by 10 mV a sample."""
    return 12.8 - 0.01 * place


def amps(place):
    """5 A, then 6 A from sample 30 on."""
    return 5.0 + place // 30


def falling(head, row, count=COUNT):
    """A log of rows made by `row(place)`."""
    return head + "".join(row(place) + "\n" for place in range(count))


def comma(value, digits=2):
    """With a decimal comma."""
    return f"{value:.{digits}f}".replace(".", ",")


def write(folder, text, name="log.csv", encoding="utf-8"):
    """Write a log; return its path."""
    file = folder / name
    file.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
    return file


def read(folder, text, encoding="utf-8", **asked):
    """Write and read a log."""
    return read_log(write(folder, text, encoding=encoding), Asked(**asked))


def told(log):
    """All findings in one text."""
    return "\n".join(one.text for one in log.findings)


def meanings(log):
    """From what a column was read as to its header."""
    return {use.meaning: use.column for use in log.uses if use.meaning != "not used"}
