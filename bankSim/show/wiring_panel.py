"""The box of loads and chargers in a wiring drawing."""

from collections.abc import Sequence

from bankSim.show.wiring_facts import Facts, User
from bankSim.show.wiring_paper import FACT_PX, NAME_PX, SOFT, Paper
from bankSim.show.wiring_text import in_two, width_px

HEAD_PX, FLAT_PX, PAD_PX = 20.0, 17.0, 10.0
NAME_ROW_PX, SIZE_ROW_PX = 16.0, 13.5
GROUP_PX = 10.0
ASIDE_PX = 12.0  # between a name and its size


def groups_of(facts: Facts, most: int) -> list[tuple[str, list[User]]]:
    """Return loads and chargers under their headings; of many the first, the others counted."""
    groups = []
    for heading, users in (("Loads", facts.loads), ("Chargers", facts.chargers)):
        shown = list(users[:most])
        if len(users) > len(shown):
            shown.append(User(f"and {len(users) - len(shown)} more", "not drawn"))
        groups.append((heading, shown or [User("none", "")]))
    return groups


def tall_height(facts: Facts, width: float, most: int) -> float:
    """Return how high a box of `tall_panel` must be. [px]"""
    users = [user for _, group in groups_of(facts, most) for user in group]
    lines = sum(len(_sizes(user, width)) for user in users)
    return 2 * PAD_PX + 2 * HEAD_PX + NAME_ROW_PX * len(users) + SIZE_ROW_PX * lines + GROUP_PX


def _sizes(user: User, width: float) -> list[str]:
    return in_two(user.size, width - 2 * PAD_PX, FACT_PX)


def tall_panel(
    paper: Paper, x: float, y: float, width: float, height: float, facts: Facts, most: int
) -> None:
    """Draw a box with a line for each name of a load or charger, then its size.

    Unit: [px]
    """
    paper.box(x, y, width, height)
    room, at = width - 2 * PAD_PX, y + PAD_PX
    for heading, users in groups_of(facts, most):
        paper.text(x + PAD_PX, at + 11, heading, fill=SOFT)
        at += HEAD_PX
        for user in users:
            paper.name(x + PAD_PX, at + 10, user.name, room, bold=bool(user.size))
            at += NAME_ROW_PX
            for line in _sizes(user, width):
                paper.text(x + PAD_PX, at + 7, line, room=room)
                at += SIZE_ROW_PX
        at += GROUP_PX


def flat_panel(
    paper: Paper, x: float, y: float, width: float, facts: Facts, most: int, *, stacked: bool
) -> float:
    """Draw a box with one line a load or charger where there is room; return its height. [px]

    Parameters
    ----------
    paper : Paper
    x, y, width : float
        [px]
    facts : Facts
    most : int
        Of loads, and of chargers.
    stacked : bool
        Chargers below the loads rather than beside them.
    """
    groups = groups_of(facts, most)
    part = width if stacked else width / 2
    room = part - 2 * PAD_PX
    highs = [HEAD_PX + sum(_row_px(user, room) for user in users) for _, users in groups]
    height = 2 * PAD_PX + (sum(highs) + GROUP_PX if stacked else max(highs))
    paper.box(x, y, width, height)
    at = y + PAD_PX
    for place, (heading, users) in enumerate(groups):
        _flat_group(
            paper, x + PAD_PX + (0.0 if stacked else place * part), at, room, heading, users
        )
        at += highs[place] + GROUP_PX if stacked else 0.0
    return height


def _row_px(user: User, room: float) -> float:
    return FLAT_PX if _is_one_line(user, room) else FLAT_PX + SIZE_ROW_PX


def _is_one_line(user: User, room: float) -> bool:
    name_px = width_px(user.name, NAME_PX, bold=True)
    return name_px + width_px(user.size, FACT_PX) + ASIDE_PX <= room


def _flat_group(
    paper: Paper, x: float, y: float, room: float, heading: str, users: Sequence[User]
) -> None:
    paper.text(x, y + 11, heading, fill=SOFT)
    line = y + HEAD_PX
    for user in users:
        beside = _is_one_line(user, room)
        paper.name(x, line + 11, user.name, room, bold=bool(user.size))
        size_y = line + 11 + (0.0 if beside else SIZE_ROW_PX)
        paper.text(x + room, size_y, user.size, anchor="end", room=room)
        line += _row_px(user, room)
