"""Numbers in sentences: few digits, never in powers of ten."""

import math

KELVIN_AT_0_DEGC = 273.15


def number(value: float | None, digits: int = 3) -> str:
    """Round to significant digits, never in powers of ten; below 0.0005 it reads "0"."""
    if value is None or not math.isfinite(value):
        return "-"
    if abs(value) < 0.0005:
        return "0"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    return f"{value:.{min(decimals, 6)}f}"
