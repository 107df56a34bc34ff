"""The sheets to print: blank questions to hand out, and guesses beside what the solver said."""

import html
from collections.abc import Mapping

from bankSim.screens.charts.look import LIGHT
from bankSim.screens.lesson.circuit import circuit_svg, circuit_words
from bankSim.screens.lesson.step import Answer, Guess, Step
from bankSim.screens.lesson.steps import STEPS, THUMB
from bankSim.sim.summary import SAFETY_TEXT

_STYLE = """
body { font: 11pt/1.4 system-ui, 'Liberation Sans', sans-serif; color: #222; max-width: 46rem;
  margin: 1.5rem auto; padding: 0 1rem; }
h1 { font-size: 1.5rem } h2 { font-size: 1.1rem; margin: 0 0 .3rem }
section { break-inside: avoid; border-top: 1px solid #6f6f6f; padding: .7rem 0;
  display: flow-root }
img { float: right; width: 13rem; margin-left: 1rem; max-width: 45% }
.blank { display: inline-block; min-width: 9rem; border-bottom: 1px solid #222 }
li { list-style: none } ul { padding-left: 0; margin: .3rem 0 } li::before { content: "\\2610  " }
table { border-collapse: collapse } td, th { border: 1px solid #6f6f6f; padding: .3rem .5rem;
  text-align: left; vertical-align: top }
@page { margin: 13mm 15mm }
@media print { body { font-size: 10pt; line-height: 1.3; margin: 0; padding: 0; max-width: none }
  p { margin: .3rem 0 } section { padding: .45rem 0 } img { width: 11rem } }
"""


def blank_sheet() -> str:
    """Return the questions with room for answers, as one HTML file; it tells no answer."""
    body = "".join(_question(number, step) for number, step in enumerate(STEPS, 1))
    return _page("How parallel adds: your guesses", f"<p>Name {_blank()} Date {_blank()}</p>{body}")


def answer_sheet(guesses: Mapping[str, Guess], answers: Mapping[str, Answer]) -> str:
    """Return guesses and what the solver said; steps not answered yet stay questions.

    Parameters
    ----------
    guesses, answers : mapping
        By the key of the step.
    """
    body = "".join(
        _answered(number, step, guesses[step.key], answers[step.key])
        if step.key in guesses and step.key in answers
        else _question(number, step)
        for number, step in enumerate(STEPS, 1)
    )
    rows = "".join(f"<tr><td>{_safe(a)}</td><td>{_safe(b)}</td></tr>" for a, b in THUMB)
    thumb = (
        "<section><h2>Rules of thumb</h2><table><tr><th>rule of thumb</th><th>where it fails</th>"
        f"</tr>{rows}</table></section>"
    )
    return _page("How parallel adds: guesses and answers", body + thumb)


def _page(title: str, body: str) -> str:
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width">'
        f"<title>{_safe(title)}</title><style>{_STYLE}</style></head><body><h1>{_safe(title)}</h1>"
        f"{body}<section><p><small><b>Safety.</b> {_safe(SAFETY_TEXT)}</small></p></section>"
        "</body></html>"
    )


def _top(number: int, step: Step) -> str:
    from base64 import b64encode

    svg = circuit_svg(step.before, step.load, LIGHT)
    words = html.escape(circuit_words(step.before, step.load), quote=True)
    return (
        f'<img alt="{words}" src="data:image/svg+xml;base64,{b64encode(svg.encode()).decode()}">'
        f"<h2>{number}. {_safe(step.title)}</h2><p>{_safe(step.text)}</p>"
        f"<p><b>{_safe(step.question.text)}</b></p>"
    )


def _question(number: int, step: Step) -> str:
    options = getattr(step.question, "options", ())
    if options:
        room = "".join(f"<li>{_safe(option)}</li>" for option in options)
        room = f"<ul>{room}</ul>"
    else:
        room = f"<p>My guess: {_blank()} {_safe(getattr(step.question, 'unit', ''))}</p>"
    return f"<section>{_top(number, step)}{room}</section>"


def _answered(number: int, step: Step, guess: Guess, answer: Answer) -> str:
    verdict = step.question.verdict(guess, answer.truth)
    told = (
        verdict,
        answer.headline,
        answer.why,
        f"A sceptic would ask: {answer.doubt} {answer.reply}",
    )
    return (
        f"<section>{_top(number, step)}"
        + "".join(f"<p>{_safe(t)}</p>" for t in told)
        + "</section>"
    )


def _blank() -> str:
    return '<span class="blank">&nbsp;</span>'


def _safe(text: str) -> str:
    return html.escape(text)
