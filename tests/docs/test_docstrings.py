"""Docstrings of all public names are there and carry units; the rule itself can fail."""

from pathlib import Path

import pytest
from docstring_rule import faults_of, faults_under

import bankSim

SOUND = '''
"""A module."""

def power_W(voltage_V: float, current: float, share: float) -> float:
    """Return the power.

    Parameters
    ----------
    current : float
        Discharge positive. [A]
    """

def ratio(one: float, other: float) -> float:
    """Return one over the other, both in the unit of the key. [1]"""

def count(places: list[int], label: str) -> int:
    """Count."""

def _inside(x: float) -> float: ...
'''
BAD = {
    "a module without": ("x = 1", "file.py: docstring"),
    "a function without": ('"""M."""\ndef f(a: int) -> None: ...', "file.py f: docstring"),
    "a method without": (
        '"""M."""\nclass C:\n    """C."""\n    def f(self) -> None: ...',
        "file.py C f: docstring",
    ),
    "a number without a unit": (
        '"""M."""\ndef f(current: float) -> None:\n    """Do."""',
        "file.py f: unit of `current`",
    ),
    "an array without a unit": (
        '"""M."""\ndef f(volts_of: "Floats | None") -> None:\n    """Do."""',
        "file.py f: unit of `volts_of`",
    ),
    "a unit that belongs to another entry": (
        '"""M."""\ndef f(a: float, b: float) -> None:\n    """Do.\n\n    Parameters\n'
        '    ----------\n    a : float\n        [A]\n    b : float\n        Too.\n    """',
        "file.py f: unit of `b`",
    ),
    "an entry left out": (
        '"""M."""\ndef f(a: float, b: float) -> None:\n    """Do.\n\n    Parameters\n'
        '    ----------\n    a : float\n        [A]\n    """',
        "file.py f: unit of `b`",
    ),
    "a field without a unit": (
        '"""M."""\nclass C:\n    """C."""\n    time: "Sequence[float]"\n    count: int',
        "file.py C: unit of `time`",
    ),
    "an answer without a unit": (
        '"""M."""\ndef f(a_A: float) -> float:\n    """Return it, see a[i] and [12]."""',
        "file.py f: unit of what it returns",
    ),
}
BAD_KERNELS = {
    "an array without a unit": (
        '"""M."""\ndef f(a):\n    """Do.\n\n    Parameters\n    ----------\n'
        '    a : array (n,)\n        Some.\n    """',
        "file.py f: unit of `a`",
    ),
    "an answer without a unit": (
        '"""M."""\ndef f(a):\n    """Return the voltage."""\n    return a',
        "file.py f: unit of what it returns",
    ),
}


def test_public_docstrings_of_the_package():
    faults = [str(fault) for fault in faults_under(Path(bankSim.__file__).parent)]
    assert not faults, "\n".join(faults)


def test_the_rule_passes_what_is_sound():
    assert not list(faults_of(SOUND, "file.py"))


@pytest.mark.parametrize("case", BAD)
def test_the_rule_finds_what_is_bad(case):
    code, words = BAD[case]
    assert [str(fault) for fault in faults_of(code, "file.py")] == [words]


@pytest.mark.parametrize("case", BAD_KERNELS)
def test_the_rule_finds_what_is_bad_in_kernels(case):
    code, words = BAD_KERNELS[case]
    assert [str(fault) for fault in faults_of(code, "file.py", kernel=True)] == [words]
