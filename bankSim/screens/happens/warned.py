"""The cautions as blocks with a sign, a word and a colour, dangers first."""

import html
from collections.abc import Sequence

from bankSim.show.beware import MOST_OF_A_KIND, SEVERITIES, ranked
from bankSim.sim.numbers import clean
from bankSim.sim.result import Caution, Result

WORDS = {"danger": "Danger", "warning": "Warning", "note": "Note"}
# our own signs: a filled triangle, an open one, a ring
_TRIANGLE = '<path d="M12 2.5 22.5 21H1.5Z" {}/>'
_BEAM = '<path d="M11 8.5h2v6.5h-2zM11 16.7h2v2h-2z" fill="{}"/>'
_SIGNS = {
    "danger": _TRIANGLE.format('fill="currentColor"') + _BEAM.format("#ffffff"),
    "warning": _TRIANGLE.format('fill="none" stroke="currentColor" stroke-width="2"')
    + _BEAM.format("currentColor"),
    "note": '<circle cx="12" cy="12" r="9.5" fill="none" stroke="currentColor" stroke-width="2"/>'
    '<path d="M11 10.5h2v7h-2zM11 6.5h2v2h-2z" fill="currentColor"/>',
}


def split(result: Result) -> tuple[list[Caution], list[Caution], int]:
    """Return what must be seen at once, the notes, and how many more of some kind there are.

    Of many cautions of one kind only the first few are shown.
    """
    shown: list[Caution] = []
    counts: dict[tuple[str, str], int] = {}
    for caution in ranked(result):
        kind = (caution.severity, caution.topic)
        counts[kind] = counts.get(kind, 0) + 1
        if counts[kind] <= MOST_OF_A_KIND:
            shown.append(caution)
    notes = [caution for caution in shown if caution.severity == "note"]
    pressing = [caution for caution in shown if caution.severity != "note"]
    return pressing, notes, len(result.cautions) - len(shown)


def cautions_html(cautions: Sequence[Caution]) -> str:
    """Return a list of cautions, every text escaped."""
    return f'<ul class="cautions">{"".join(_item(one) for one in cautions)}</ul>'


def _item(caution: Caution) -> str:
    severity = caution.severity if caution.severity in SEVERITIES else "danger"
    sign = f'<svg class="sign" viewBox="0 0 24 24" aria-hidden="true">{_SIGNS[severity]}</svg>'
    text = f'<span class="word">{WORDS[severity]}.</span> {html.escape(clean(caution.text))}'
    advice = (
        f'<div class="advice"><b>What to do:</b> {html.escape(clean(caution.advice))}</div>'
        if caution.advice
        else ""
    )
    return f'<li class="{severity}">{sign}<div>{text}</div>{advice}</li>'
