"""The cautions as blocks with a sign, a word and a colour, dangers first."""

import html
from collections.abc import Sequence

from bankSim.screens.happens.wording import on_screen
from bankSim.show.beware import MOST_OF_A_KIND, SEVERITIES, ranked
from bankSim.sim.numbers import clean
from bankSim.sim.result import Caution, Result

WORDS = {"danger": "Danger", "warning": "Warning", "note": "Note"}


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
    sign = '<span class="sign" aria-hidden="true"></span>'  # drawn by look.css
    text = f'<span class="word">{WORDS[severity]}.</span> {html.escape(clean(caution.text))}'
    to_do = html.escape(clean(on_screen(caution.advice)))
    advice = f'<div class="advice"><b>What to do:</b> {to_do}</div>' if to_do else ""
    return f'<li class="{severity}">{sign}<div>{text}</div>{advice}</li>'
