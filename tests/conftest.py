"""Skips what needs ngspice where it is missing, with the reason; lets Ctrl-C reach programs."""

import gc
import shutil
import signal

import pytest

from bankSim.crosscheck.spice import SpiceError, run_deck

# A shell that starts tests in the background has Ctrl-C ignored, and so would all they start.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

TRIFLE = "* trifle\nV1 a 0 1\nR1 a 0 1\n.tran 1 2\n.end\n"


def pytest_collection():
    """Thousands of collected tests are no garbage: looking through them costs a few percent."""
    gc.disable()


def pytest_collection_finish():
    """Leave them out from here on."""
    gc.freeze()
    gc.enable()


@pytest.fixture(scope="session")
def spice():
    """PySpice and the ngspice library both work here."""
    try:
        run_deck(TRIFLE, timeout_s=60.0)
    except SpiceError as missing:
        pytest.skip(str(missing))


@pytest.fixture(scope="session")
def ngspice_program():
    """The ngspice program."""
    program = shutil.which("ngspice")
    if program is None:
        pytest.skip("the program ngspice is not installed")
    return program
