"""Numbers and names as people read them: few digits, one line, nothing hidden in a name."""

import math

from bankSim.sim.numbers import clean, number


def whole_or(value: float, digits: int = 3) -> str:
    """Like `number`, without zeros that carry nothing: 100 rather than 100.0, 2.5 not 2.50.

    In any unit. [any unit]
    """
    text = number(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text


def beside(value: float, scale: float) -> str:
    """Round so that a number as large as `scale` keeps four digits: one decimal next to 240.

    Both in one unit. [any unit]
    """
    if not (math.isfinite(value) and scale > 0.0):
        return "-"
    decimals = min(max(0, 3 - math.floor(math.log10(scale))), 6)
    return f"{round(value, decimals) + 0.0:.{decimals}f}"


def volts(value: float | None, decimals: int = 2) -> str:
    """Voltage with its unit; "-" when unknown. [V]"""
    return "-" if value is None or not math.isfinite(value) else f"{value:.{decimals}f} V"


def percent(part: float | None) -> str:
    """A share of 1 as whole percent; "-" when unknown."""
    return "-" if part is None or not math.isfinite(part) else f"{100.0 * part:z.0f} %"


def shortened(text: str, longest: int) -> str:
    """One printable line; what is too long loses its middle, since both ends tell it apart."""
    line = clean(text)
    if len(line) <= longest:
        return line
    end = (longest - 3) // 2
    return f"{line[: longest - 3 - end].rstrip()}...{line[len(line) - end :].lstrip()}"


def counted(count: int, word: str, words: str = "") -> str:
    """Count as in "2 warnings"; `words` is the plural where an "s" does not make it."""
    return f"{count} {word if count == 1 else words or word + 's'}"


def left_over(count: int, word: str, one: str, several: str, words: str = "") -> str:
    """Say what those do that are not named: "1 more load does so", "2 more loads do so".

    Parameters
    ----------
    count : int
        1 or more.
    word : str
        What they are.
    one, several : str
        What one of them does, and what several do.
    words : str
        The plural where an "s" does not make it.
    """
    return f"{counted(count, f'more {word}', words and f'more {words}')} " + (
        one if count == 1 else several
    )


def clock(seconds: float, *, to_seconds: bool = False) -> str:
    """Wall clock from seconds after the first midnight: "21:31", later days "day 2, 07:30".

    To seconds it reads "21:31:05".
    """
    whole = round(seconds) if to_seconds else 60 * round(seconds / 60.0)
    day, second = divmod(whole, 24 * 3600)
    told = f"{second // 3600:02d}:{second // 60 % 60:02d}"
    told += f":{second % 60:02d}" if to_seconds else ""
    return told if day == 0 else f"day {day + 1}, {told}"
