"""What is wrong with the words of a command line, on one line: option, value, what is allowed."""

import re
from contextvars import ContextVar
from typing import Any

from bankSim.errors import ParameterError

TYPED: ContextVar[tuple[str, ...]] = ContextVar("TYPED", default=())
LONGEST = 40
_COMMA = re.compile(r"([+-]?\d+),(\d+)")


def told_usage(error: Any) -> str:
    """Return the line of an error that the parser of the command line raised.

    Parameters
    ----------
    error : TyperException
        Where it comes from a number that cannot be read or is out of range, the line names the
        option, the value and what is allowed; else it is that of the parser.
    """
    param, found = getattr(error, "param", None), _first(error)
    option = next((one for one in getattr(param, "opts", ()) if one.startswith("-")), "")
    kind = str(found.get("type", ""))
    whole = kind.startswith("int_") or _is_whole(param)
    if not option or not (whole or kind.startswith("float_") or _limits(param)):
        return str(error.format_message())
    value = str(found.get("input", ""))
    shown = value if len(value) <= LONGEST else value[: LONGEST - 3] + "..."
    return f"{option} = {shown!r}; expected {_allowed(param, whole)}{_hint(value, whole)}"


def told_field(error: ParameterError) -> str:
    """Return the line of a value out of range, by its option where it was typed as one."""
    field, got, allowed = error.args
    option = "--" + str(field).replace("_", "-")
    typed = any(word.partition("=")[0] == option for word in TYPED.get())
    return f"{option} = {got!r}; expected {allowed}" if typed else str(error)


def _first(error: Any) -> dict[str, Any]:
    """Return the first fault that the check of a value found; empty where it was none."""
    listed = getattr(getattr(error, "__cause__", None), "errors", None)
    faults = listed() if callable(listed) else []
    return dict(faults[0]) if faults else {}


def _is_whole(param: Any) -> bool:
    annotation = getattr(getattr(param, "type_descriptor", None), "annotation", None)
    return annotation is int


def _limits(param: Any) -> tuple[float | None, float | None] | None:
    low, high = getattr(param, "min", None), getattr(param, "max", None)
    return None if low is None and high is None else (low, high)


def _allowed(param: Any, whole: bool) -> str:
    kind = "a whole number" if whole else "a number"
    limits = _limits(param)
    if limits is None:
        return kind
    low, high = (None if one is None else _plain(one) for one in limits)
    if high is None:
        return f"{kind}, {low} or more"
    return f"{kind}, {high} at most" if low is None else f"{kind} from {low} to {high}"


def _plain(value: float) -> str:
    """Write a limit without powers of ten."""
    return f"{value:,}" if isinstance(value, int) else f"{value:,.6f}".rstrip("0").rstrip(".")


def _hint(value: str, whole: bool) -> str:
    """Say what was probably meant where a comma stands in the number."""
    comma = _COMMA.fullmatch(value.strip())
    if comma is None:
        return ""
    if whole:
        meant = comma[1] + comma[2] * (len(comma[2]) == 3)  # "1,000" are a thousand
        return f" without a comma, such as {meant}"
    point = f"; write a decimal point: {comma[1]}.{comma[2]}"
    return f"{point}, or {comma[1]}{comma[2]}" if len(comma[2]) == 3 else point
