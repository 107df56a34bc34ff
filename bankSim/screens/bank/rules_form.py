"""The protection rules of a battery's electronics."""

from typing import Any

import streamlit as st

from bankSim.model.cell import ZERO_C_K
from bankSim.model.rule import Rule, Watch
from bankSim.scenario.faults import key_path
from bankSim.scenario.lines import Path
from bankSim.screens.bank.board import Board, change, put
from bankSim.screens.bank.choices import BLOCKS, NEEDS, WATCHES
from bankSim.screens.bank.fields import choice, number
from bankSim.screens.bank.labels import LABELS
from bankSim.screens.bank.rows import row
from bankSim.screens.desk import desk
from bankSim.screens.plain import plain

USUAL, OWN, NONE = "the usual ones", "these", "none"
BELOW, ABOVE = "below", "above"
NEW_RULE = {
    "watches": "lowest cell voltage",
    "trips_below": 2.5,
    "after_s": 5.0,
    "blocks": "discharge",
}
PARTNER = {"trips_below": "releases_above", "trips_above": "releases_below"}


def show_rules(board: Board, place: int, battery: dict[str, Any]) -> None:
    """Show the rules: the usual ones in words, or those of the file as fields."""
    path: Path = ("battery", place, "protection")
    given = battery.get("protection")
    present = USUAL if given is None else OWN if given else NONE
    key = board.key(path, "which")
    st.session_state[key] = present
    st.radio(
        "Its electronics follow",
        (USUAL, OWN, NONE),
        key=key,
        horizontal=True,
        format_func=lambda word: {"these": "rules written here", "none": "no rules"}.get(
            word, word
        ),
        on_change=_take_which,
        args=(key, path, _written_out(board, place)),
        help="Choose rules written here to start from the usual ones and change them.",
    )
    if given is None:
        _show_usual(board, path)
    rules = given if isinstance(given, list) else []
    for number_, rule in enumerate(rules):
        if isinstance(rule, dict):
            with st.container(border=True):
                _show_rule(board, (*path, number_), rule, len(rules))
    if rules:
        st.button(
            "Add a rule",
            icon=":material/add:",
            key=f"bank add rule {place}",
            on_click=change,
            args=(lambda draft: draft.with_item(path, draft.count(path), NEW_RULE),),
        )
    board.tell(path)


def _show_usual(board: Board, path: Path) -> None:
    before = f"{key_path(path)}["
    assumed = board.known.assumed if board.known else ()
    lines = [str(one.value) for one in assumed if one.key.startswith(before)]
    if lines:
        st.markdown("\n".join(f"- {plain(line)}" for line in lines))
    else:
        st.caption("Its chemistry has no usual rules: nothing switches this battery off.")


def _show_rule(board: Board, path: Path, rule: dict[str, Any], count: int) -> None:
    place = int(path[-1])
    unit = _unit(rule.get("watches"))
    st.markdown(f"**Rule {place + 1}**")
    trips = next((key for key in PARTNER if key in rule), "trips_below")
    lets_go, never = PARTNER[trips], "never: stays tripped"
    row(
        lambda: choice(board, (*path, "watches"), {word: word for word in WATCHES}, then=_others),
        lambda: choice(board, (*path, "blocks"), {word: word for word in BLOCKS}),
    )
    row(
        lambda: number(board, (*path, trips), f"{LABELS[trips]} ({unit})", step=0.05),
        lambda: number(board, (*path, "after_s"), step=1.0, unset="0: at once"),
    )
    goes = f"{LABELS[lets_go]} ({unit})"
    row(
        lambda: number(board, (*path, lets_go), goes, step=0.05, unset=never),
        lambda: number(board, (*path, "release_after_s"), step=1.0, unset="0: at once"),
    )
    choice(board, (*path, "release_needs"), NEEDS, unset="nothing else")
    for key in ("trips_below", "trips_above", "releases_below", "releases_above"):
        if key in rule and key not in (trips, lets_go):
            number(board, (*path, key), f"{LABELS[key]} ({unit})")
    board.tell(path)
    with st.container(horizontal=True):
        other = ABOVE if trips == "trips_below" else BELOW
        _button(board, path, f"Trip {other} instead", lambda: _turn(path, trips), True)
        _button(board, path, "Up", lambda: _move(path, place - 1), place > 0)
        _button(board, path, "Down", lambda: _move(path, place + 1), place + 1 < count)
        _button(board, path, "Remove this rule", lambda: _remove(path), True)


def _button(board: Board, path: Path, word: str, work: Any, useful: bool) -> None:
    st.button(word, key=board.key(path, word), on_click=work, disabled=not useful)


def _others(word: object) -> dict[Path, object]:
    """Another quantity is watched: its fields are shown anew, with their unit."""
    return {}


def _unit(watches: object) -> str:
    known = [watch for watch in Watch if watch.value == watches]
    return known[0].unit if known else "V, A or degC"


def _turn(path: Path, trips: str) -> None:
    other = "trips_above" if trips == "trips_below" else "trips_below"
    draft = desk().draft
    put(
        {
            (*path, other): draft.at((*path, trips)),
            (*path, trips): None,
            (*path, PARTNER[other]): draft.at((*path, PARTNER[trips])),
            (*path, PARTNER[trips]): None,
        },
        anew=True,
    )


def _move(path: Path, to: int) -> None:
    change(lambda draft: draft.with_item_moved(path[:-1], int(path[-1]), to))


def _remove(path: Path) -> None:
    """Take a rule out; without the last one there are no rules, not the usual ones."""
    if desk().draft.count(path[:-1]) == 1:
        put({path[:-1]: []}, anew=True)
    else:
        change(lambda draft: draft.without_item(path[:-1], int(path[-1])))


def _take_which(key: str, path: Path, written_out: list[dict[str, object]]) -> None:
    which = st.session_state[key]
    values = {USUAL: None, NONE: [], OWN: written_out}
    put({path: values[which]}, anew=True)


def _written_out(board: Board, place: int) -> list[dict[str, object]]:
    """Return the rules of a battery as the file writes them, to begin with."""
    batteries = board.known.bank.batteries if board.known else ()
    rules = batteries[place].rules if place < len(batteries) else ()
    return [written_rule(rule) for rule in rules] or [dict(NEW_RULE)]


def written_rule(rule: Rule) -> dict[str, object]:
    """Return a rule as the file writes it."""
    zero = ZERO_C_K if rule.watches is Watch.TEMPERATURE else 0.0
    found: dict[str, object] = {
        "watches": rule.watches.value,
        "trips_below" if rule.below else "trips_above": _tidy(rule.threshold - zero),
        "after_s": rule.delay_s,
        "blocks": rule.blocks.name.lower(),
    }
    if rule.release is not None:
        lets_go = "releases_above" if rule.below else "releases_below"
        found[lets_go] = _tidy(rule.release.threshold - zero)
        found["release_after_s"] = rule.release.delay_s
        if rule.release.needs.value != "nothing":
            found["release_needs"] = rule.release.needs.value
    return found


def _tidy(value: float) -> float:
    return float(f"{value:.9g}") + 0.0
