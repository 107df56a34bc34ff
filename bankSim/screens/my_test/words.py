"""The core speaks to people at a command line: its options get the names they have on the page."""

import re

NAMES = {
    "--rated-Ah": "Capacity on the label",
    "--chemistry": "Chemistry",
    "--cells-in-series": "Cells in series",
    "--sign discharge": "Direction: discharge is positive",
    "--sign charge": "Direction: charge is positive",
    "--sign": "Direction of the current",
    "--time": "Time",
    "--voltage": "Voltage",
    "--current": "Current",
    "--temperature": "Temperature",
    "--cells": "Cell voltages",
    "--column": "Where the current of each battery is",
    "--log": "Where the current of each battery is",
    "--load measured": "Drive the bank with the measured current",
    "--load": "What the bank is driven with",
    "--shift-s": "The scenario starts at",
    "--stopped-early": "Recording stopped while the bank went on",
    "--current-error": "Error of the ammeter",
    "--voltage-error": "Error of the voltmeter",
    "--delivered-Ah": "Counted from full to cut-out",
    "--battery-V": "Voltage of the whole battery",
    "--full": "Cells at the end of a full charge",
    "--at-A": "Current at cut-out",
    "--limit-V": "Cut-out voltage of a cell",
    "--temperature-C": "Temperature",
    "--end-V": "The test ends at",
    "--start-A": "The test starts above",
    "--start-percent": "State of charge at the start",
    "--shunt-gain-percent": "Error of the current",
    "--shunt-offset-A": "Offset of the current",
    "--voltage-percent": "Error of the voltage",
    "--voltage-offset-V": "Offset of the voltage",
    "--repeatability-percent": "How well a test repeats",
    "--confidence": "Confidence",
    "--each": "Every discharge is a test",
    "--units": "Which battery each log is of",
    "--correct": "Correct for",
    "--peukert": "Exponent of the rate",
    "--draws": "Random cases",
    "--names": "Names",
    "--kg": "Weight",
    "--Ah": "Counted",
    "--Wh": "Energy",
    "--load-A": "Test current",
    "--load-W": "Test power",
    "--table": "Table",
    "--battery": "Battery",
    "--typed-voltage": "Voltage",
    "--starts-at": "Starts at",
    "--meter-mV": "What a cell reading is off",
    "--mass-kg": "Weight",
    "--hold-out-percent": "Part of the time kept out of the fit",
}
_OPTION = re.compile(
    "|".join(rf"{re.escape(name)}(?![\w-])" for name in sorted(NAMES, key=len, reverse=True))
)
_VALUE = re.compile(r'(?<=") COLUMN\b')  # stands for what is typed behind an option
_COMMAND = re.compile(r"`banksim log`")


def on_page(text: str) -> str:
    """Return a sentence of the core with the names that its options have on the page."""
    named = _OPTION.sub(lambda found: f'"{NAMES[found[0]]}"', text)
    return _VALUE.sub("", _COMMAND.sub('"How it is understood"', named))
