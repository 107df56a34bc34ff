"""The cautions in the headline and in their own section, worst first."""

from collections.abc import Sequence

from bankSim.show.blocks import Section
from bankSim.show.words import counted
from bankSim.sim.cautions.cells import BELOW_EMPTY, BEYOND_FULL
from bankSim.sim.cautions.fuses import WOULD_BLOW
from bankSim.sim.cautions.joined import DO_NOT_MATCH
from bankSim.sim.cautions.lost_takers import LOSES_TAKERS
from bankSim.sim.numbers import clean, listing
from bankSim.sim.result import Caution, Result

SEVERITIES = ("danger", "warning", "note")
IN_TRUTH = {  # the dangers after which Ah, hours and charge exist on paper only, the first to tell
    WOULD_BLOW: "a fuse blows first",
    BELOW_EMPTY: "cells driven below empty are ruined",
    BEYOND_FULL: "cells charged beyond full are harmed",
}
ON_PAPER = "So the Ah told here are more than cells can give or take and live."
MOST_OF_A_KIND = 6
CHECKED = (
    "Checked: rest voltages against each other; what flows at the first connection and when a "
    "battery comes back; currents against labels and fuses, and against cables where an area is "
    "given; what a cut-out does to the others; cells below empty or above full, ahead of the "
    "others or behind; charge voltages and chemistries, lead-acid and LFP held at the top, "
    "lead-acid that never gets full; cold, freezing and heat; body diodes; sharing by the wiring; "
    "voltage at the loads, and loads that hunt; chargers that lose their batteries or leave a "
    "stage too soon; missing fuses and short-circuit currents. Not checked: what the file does "
    "not say (areas, kinds of fuses, terminals, switches), heat of cables and joints, "
    "ventilation, wear, and the makers' own conditions for parallel connection."
)


def on_paper(result: Result) -> bool:
    """Tell whether a fuse would have blown, or a cell gave or took more than it holds.

    Then no Ah of this run can be trusted.
    """
    return any(one.topic in IN_TRUTH and one.severity == "danger" for one in result.cautions)


def danger(result: Result) -> list[str]:
    """Return the first danger in one sentence, and how many more there are."""
    lines, more = dangers_of(ranked(result))
    return [*lines, f"There {are_more(more)} below."] if more else lines


def dangers_of(found: Sequence[Caution]) -> tuple[list[str], int]:
    """Return the gravest dangers, what they make of the Ah, and how many more there are.

    One is told, or one of each kind after which no Ah can be trusted; chargers that lose their
    batteries are told beside them, and batteries that do not belong together before them.

    Parameters
    ----------
    found : sequence of Caution
        In the order in which they are told.
    """
    dangers = [caution for caution in found if caution.severity == "danger"]
    told = [one for topic in IN_TRUTH for one in dangers if one.topic == topic]
    told = list({one.topic: one for one in reversed(told)}.values())[::-1]
    told = told or [one for one in dangers if one.topic != LOSES_TAKERS][:1]
    told += [one for one in dangers if one.topic == LOSES_TAKERS]
    apart = [one for one in dangers if one.topic == DO_NOT_MATCH]
    told = [*apart, *(one for one in told if one not in apart)]  # nothing else counts before that
    lines = [f"Danger: {clean(caution.text)}" for caution in told]
    if any(caution.topic in (BELOW_EMPTY, BEYOND_FULL) for caution in told):
        lines.append(ON_PAPER)
    return lines, len(dangers) - len(told)


def are_more(count: int) -> str:
    """Return "is 1 danger more", "are 2 dangers more"."""
    return f"{'is' if count == 1 else 'are'} {counted(count, 'danger')} more"


def beware(result: Result) -> list[str]:
    """Count the cautions, worst first."""
    counts = [(sum(c.severity == kind for c in result.cautions), kind) for kind in SEVERITIES]
    named = [counted(count, kind) for count, kind in counts if count]
    return [f"Look at the cautions below: {listing(named)}."] if named else []


def cautions(result: Result) -> Section:
    """Cautions, worst first, one line each, then what was looked at and what was not."""
    lines = _lines(ranked(result))
    return Section("Cautions", (*(lines or ["None."]), CHECKED))


def _lines(found: list[Caution]) -> list[str]:
    """One line each; of many of one kind only the first, and how many more there are."""
    lines = []
    for place, caution in enumerate(found):
        alike = sum(other.topic == caution.topic for other in found[:place])
        if alike < MOST_OF_A_KIND:
            lines.append(_line(caution))
    for topic in dict.fromkeys(caution.topic for caution in found):
        more = sum(caution.topic == topic for caution in found) - MOST_OF_A_KIND
        if more > 0:
            lines.append(f"And {more} more of the kind: {clean(topic)}.")
    return lines


def _line(caution: Caution) -> str:
    said = f"{caution.severity.upper()}: {clean(caution.text)}"
    return f"{said} What to do: {clean(caution.advice)}" if caution.advice else said


def ranked(result: Result) -> list[Caution]:
    """Cautions, the worst first; a severity of unknown name counts as the worst."""
    return sorted(result.cautions, key=_rank)


def _rank(caution: Caution) -> int:
    return SEVERITIES.index(caution.severity) if caution.severity in SEVERITIES else 0
