"""The state of charge at the start of each log, as people type it."""

from bankSim.measured.log import LogError

UNKNOWN = "?"


def typed_starts(text: str | None, count: int) -> tuple[float | None, ...]:
    """Return the state of charge at the start of each log from what was typed in percent.

    Parameters
    ----------
    text : str or None
        One for all, or one a log with commas between them; ? where it is not known.
    count : int
        Logs.

    Returns
    -------
    starts : tuple of float or None
        None: not known; empty: nothing was typed. [1]
    """
    if text is None:
        return ()
    allowed = "one value above 0 and up to 100, or ?"
    if count > 1:
        allowed += f"; or {count} of them with commas between"
    starts: list[float | None] = []
    for word in text.split(","):
        try:
            percent = None if word.strip() == UNKNOWN else float(word)
        except ValueError:
            raise LogError(f"--start-percent = {text!r}; expected {allowed}") from None
        if percent is not None and not 0.0 < percent <= 100.0:
            raise LogError(f"--start-percent = {text!r}; expected {allowed}")
        starts.append(None if percent is None else percent / 100.0)
    if len(starts) not in (1, count):
        raise LogError(f"--start-percent = {text!r}; expected {allowed}")
    return tuple(starts * count if len(starts) == 1 else starts)
