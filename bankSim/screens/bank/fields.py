"""Fields of the form: each shows one value of the draft and writes it back when it is changed."""

import math
from collections.abc import Callable, Mapping

import streamlit as st

from bankSim.scenario.glossary import QUANTITIES
from bankSim.scenario.lines import Path
from bankSim.scenario.quantity import is_spread
from bankSim.screens.bank.board import Board, note_typed, put, typed_text
from bankSim.screens.bank.labels import PERCENT, label_of
from bankSim.sim.numbers import clean
from bankSim.sim.numbers import number as few_digits

LARGEST = 1e15  # beyond it a browser's number field is of no use
NOT_GIVEN = ""


def number(
    board: Board,
    path: Path,
    label: str | None = None,
    *,
    quantity: str | None = None,
    step: float | None = None,
    hint: str | None = None,
    unset: str | None = None,
) -> None:
    """Show a number, with its spread when it has one.

    Parameters
    ----------
    board : Board
    path : tuple
    label : str, optional
        With the unit; from the glossary of labels when not given.
    quantity : str, optional
        Its name in the glossary of quantities, where that is not the key.
    step : float, optional
        Of the buttons, as shown. In the unit that the field shows. [any unit]
    hint : str, optional
        Help; what the glossary says when not given.
    unset : str, optional
        What an empty field means.
    """
    label = label or label_of(path)
    value = board.draft.at(path)
    if is_spread(value):
        _spread(board, path, label, value)
        return
    kind = QUANTITIES[quantity or str(path[-1])]
    _number_widget(
        board,
        path,
        label,
        whole=kind.whole,
        step=step,
        hint=hint or f"{kind.meaning}.",
        unset=unset or _typical(board, path),
    )
    board.tell(path)
    asked = share_question(value) if scale_of(path) > 1.0 else None
    if asked:
        st.warning(asked)


def _number_widget(
    board: Board,
    path: Path,
    label: str,
    *,
    whole: bool = False,
    step: float | None = None,
    hint: str | None = None,
    unset: str | None = None,
) -> None:
    key, scale = board.key(path), scale_of(path)
    if key not in st.session_state:
        st.session_state[key] = _shown(board.draft.at(path), scale, whole=whole)
    st.number_input(
        label,
        value=None,
        step=int(step or 1) if whole else float(step or _step(board.draft.at(path), scale)),
        format="%d" if whole else "%.10g",
        key=key,
        help=hint,
        placeholder=unset or "not given",
        on_change=_take_number,
        args=(key, path, scale),
    )


def _take_number(key: str, path: Path, scale: float) -> None:
    typed = st.session_state[key]
    if typed is None:
        put({path: None})
    elif isinstance(typed, int):
        put({path: typed})
    else:
        put({path: float(f"{typed / scale:.12g}")})


def share_question(value: object) -> str | None:
    """Ask whether a share was typed where per cent were asked for.

    Parameters
    ----------
    value : object
        Of the file: 0.008 where 0.8 was typed.
    """
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.0 < value <= 0.01:
        return None
    typed, meant = 100.0 * value, 1e4 * value
    return f"{typed:.4g} % is next to nothing. If {meant:.4g} % is meant, type that."


def _spread(board: Board, path: Path, label: str, value: dict[str, object]) -> None:
    """Show the numbers of a spread, each in a field of its own."""
    for key in ("value", "sd", "sd_percent", "low", "high"):
        if key in value:
            _number_widget(board, (*path, key), f"{label}: {label_of((key,))}")
    if value.get("cells") == "independent":
        st.caption("Each cell differs for itself.")
    board.tell(path, below=True)


def scale_of(path: Path) -> float:
    """Return by what a value is multiplied to be shown: 100 for what is shown in per cent. [1]"""
    words = [part for part in path if isinstance(part, str)]
    if words[-1] == "sd_percent":
        return 1.0
    return 100.0 if any(word in PERCENT for word in words[-2:]) else 1.0


def _shown(value: object, scale: float, *, whole: bool) -> float | int | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    if not math.isfinite(value) or abs(value) > LARGEST:
        return None
    if whole:
        return value if isinstance(value, int) else None
    return float(f"{value * scale:.10g}")


def _step(value: object, scale: float) -> float:
    """Return a step that suits the size of a number."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not value:
        return 1.0
    if not math.isfinite(value):
        return 1.0
    return 10.0 ** math.floor(math.log10(abs(value * scale)) - 0.9)


def _typical(board: Board, path: Path) -> str | None:
    found = board.assumed(path)
    if found is None:
        return None
    if isinstance(found.value, str):
        return found.value
    return f"typical: {few_digits(found.value * scale_of(path))}"


def choice(
    board: Board,
    path: Path,
    options: Mapping[str, str],
    label: str | None = None,
    *,
    unset: str | None = None,
    hint: str | None = None,
    then: Callable[[object], Mapping[Path, object]] | None = None,
) -> None:
    """Show one of a few words.

    Parameters
    ----------
    board : Board
    path : tuple
    options : mapping
        From what the file says to what the screen says.
    label : str, optional
    unset : str, optional
        What it means when the file says nothing; without it the key always has a value.
    hint : str, optional
    then : callable, optional
        Told the new word; returns what else changes with it.
    """
    present = board.draft.at(path)
    words = ([NOT_GIVEN] if unset is not None else []) + list(options)
    own = present if isinstance(present, str) and present else NOT_GIVEN
    if own not in words:
        words = [own, *words]
    key = board.key(path)
    if st.session_state.get(key) not in words:
        st.session_state[key] = own
    st.selectbox(
        label or label_of(path),
        words,
        format_func=lambda word: _told(word, options, unset),
        key=key,
        help=hint,
        on_change=_take_choice,
        args=(key, path, then),
    )
    board.tell(path)


def choose_way(
    board: Board,
    path: Path,
    item: Mapping[str, object],
    label: str,
    ways: Mapping[str, str],
    take: Callable[[str, Path], None],
) -> None:
    """Ask which one of some keys an item has.

    Parameters
    ----------
    board : Board
    path : tuple
        Of the item.
    item : mapping
    label : str
    ways : mapping
        From key to what the screen says for it.
    take : callable
        Told the key of the widget and the path when another way was chosen.
    """
    key = board.key(path, "way")
    st.session_state[key] = next((way for way in ways if way in item), None)
    st.selectbox(
        label,
        list(ways),
        index=None,
        format_func=lambda way: ways[way],
        key=key,
        placeholder="choose",
        on_change=take,
        args=(key, path),
    )


def _told(word: str, options: Mapping[str, str], unset: str | None) -> str:
    """Return what the screen says for a word of the file; no two options may say the same."""
    if word in options:
        return options[word]
    if word == NOT_GIVEN:
        same = unset in options.values()
        return f"not said: {unset}" if same else unset or "choose"
    return f'"{clean(word, 60)}"'


def _take_choice(
    key: str, path: Path, then: Callable[[object], Mapping[Path, object]] | None
) -> None:
    word = st.session_state[key] or None
    put({path: word, **(then(word) if then else {})}, anew=then is not None)


def text(
    board: Board,
    path: Path,
    label: str | None = None,
    *,
    hint: str | None = None,
    unset: str | None = None,
    long: bool = False,
) -> None:
    """Show a text."""
    key = board.key(path)
    present = board.draft.at(path)
    if key not in st.session_state:
        st.session_state[key] = present if isinstance(present, str) else ""
    widget = st.text_area if long else st.text_input
    widget(
        label or label_of(path),
        key=key,
        help=hint,
        placeholder=unset,
        max_chars=20_000 if long else 500,
        on_change=_take_text,
        args=(key, path),
    )
    board.tell(path)


def _take_text(key: str, path: Path) -> None:
    put({path: st.session_state[key].strip() or None})


def written(
    board: Board,
    path: Path,
    read: Callable[[str], object],
    write: Callable[[object], str],
    label: str | None = None,
    *,
    hint: str | None = None,
    unset: str | None = None,
) -> None:
    """Show a list in a short spelling of its own; what cannot be read stays as it was typed."""
    key = board.key(path)
    if key not in st.session_state:
        kept = typed_text(path)
        st.session_state[key] = write(board.draft.at(path)) if kept is None else kept
    st.text_input(
        label or label_of(path),
        key=key,
        help=hint,
        placeholder=unset,
        on_change=_take_written,
        args=(key, path, read),
    )
    board.tell(path, below=True)


def _take_written(key: str, path: Path, read: Callable[[str], object]) -> None:
    typed = st.session_state[key].strip()
    try:
        value = read(typed) if typed else None
    except ValueError as error:
        note_typed(path, str(error), typed)
        return
    put({path: value})
