"""Hypothesis strategies: files that begin well and then go anywhere, shrunk when they fail."""

from hypothesis import strategies as st

from tests.hostile import make_banks, shipped
from tests.hostile.mutate import NASTY, NUMBERS

FIELDS = st.one_of(
    st.sampled_from(NUMBERS),
    st.sampled_from(NASTY),
    st.floats(-100.0, 100.0).map(lambda value: repr(value).encode()),
    st.binary(max_size=8),
)


def sheets(*headers: bytes) -> st.SearchStrategy[bytes]:
    """CSV files below one of the headers."""
    row = st.lists(FIELDS, min_size=1, max_size=4).map(b",".join)
    rows = st.lists(row, max_size=8).map(b"\n".join)
    return st.tuples(st.sampled_from(headers), rows).map(lambda parts: b"\n".join([*parts, b""]))


def patched(contents: list[bytes]) -> st.SearchStrategy[bytes]:
    """Shipped files with a hole, and something else in it."""

    def patch(content: bytes, place: int, length: int, filling: bytes) -> bytes:
        at = place % (len(content) + 1)
        return content[:at] + filling + content[at + length :]

    return st.builds(patch, st.sampled_from(contents), st.integers(0, 10**6), st.integers(0, 40),
                     FIELDS)  # fmt: skip


CURVES = patched(shipped.curves()) | sheets(
    b"state_of_charge,voltage_V", b"state_of_charge,voltage_V,ohmic_mohm"
)
PROFILES = patched(shipped.profiles()) | sheets(b"time_h,power_W", b"time_h,current_A")
LOGS = patched(shipped.logs()) | sheets(b"time_s,voltage_V,current_A", b"t,V,A,cell 1,cell 2")
SCENARIOS = patched(list(shipped.scenarios().values()))
BANKS = st.randoms(use_true_random=False).map(make_banks.bank)
