"""What a step of the lesson is made of: a question, a guess, an answer that a slider moves."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from bankSim.screens.lesson.circuit import Branch
from bankSim.screens.lesson.pictures import Picture
from bankSim.sim.numbers import number

Guess = float | str


@dataclass(frozen=True)
class Amount:
    """A question for a number.

    Parameters
    ----------
    text : str
    unit : str
    highest : float
        Largest guess that is taken, in `unit`; the smallest is 0.
    edges : tuple of float
        Between the groups in which a class puts its hands up, in `unit`.
    near : float
        A guess this close counts as right, in `unit`.
    """

    text: str
    unit: str
    highest: float
    edges: tuple[float, ...]
    near: float

    @property
    def groups(self) -> tuple[str, ...]:
        """Name the groups for hands."""
        edges = [f"{edge:g}" for edge in self.edges]
        between = [f"{a} to {b} {self.unit}" for a, b in pairwise(edges)]
        return (f"below {edges[0]} {self.unit}", *between, f"{edges[-1]} {self.unit} or more")

    def group_of(self, truth: Guess) -> int:
        """Return the group that is right."""
        return sum(float(truth) >= edge for edge in self.edges)

    def verdict(self, guess: Guess, truth: Guess) -> str:
        """Compare a guess with what the solver says."""
        gap = float(guess) - float(truth)
        if abs(gap) <= self.near:
            word = f"Close: within {self.near:g} {self.unit}."
        else:
            word = f"That is {number(abs(gap))} {self.unit} too {'high' if gap > 0 else 'low'}."
        said = f"You said {float(guess):g} {self.unit}"
        return f"{said}, the solver says {number(float(truth))} {self.unit}. {word}"


@dataclass(frozen=True)
class Choice:
    """A question with a few answers to choose from.

    Parameters
    ----------
    text : str
    options : tuple of str
    """

    text: str
    options: tuple[str, ...]

    @property
    def groups(self) -> tuple[str, ...]:
        """Name the groups for hands."""
        return self.options

    def group_of(self, truth: Guess) -> int:
        """Return the group that is right."""
        return self.options.index(str(truth))

    def verdict(self, guess: Guess, truth: Guess) -> str:
        """Compare a guess with what the solver says."""
        if guess == truth:
            return f'You said "{guess}", and so does the solver.'
        return f'You said "{guess}", the solver says "{truth}".'


@dataclass(frozen=True)
class Slider:
    """What may be tried after the answer; the question is about `start`.

    Numbers in the unit of the label.
    """

    label: str
    low: float
    high: float
    step: float
    start: float
    format: str


@dataclass(frozen=True)
class Answer:
    """What the solver says at one place of the slider.

    Parameters
    ----------
    truth : float or str
        To hold against a guess.
    headline, why : str
        What comes out, and why; one or two sentences each.
    picture : Picture
    branches : tuple of Branch
        Of the drawing of the circuit, with currents.
    doubt, reply : str
        What a sceptic would ask, and what to say.
    facts : dict
        Numbers that the sentences are about, by name; for tests. [any unit]
    load : str
        Beside the load in the drawing, where the slider moves it.
    """

    truth: Guess
    headline: str
    why: str
    picture: Picture
    branches: tuple[Branch, ...]
    doubt: str
    reply: str
    facts: dict[str, float]
    load: str = ""


@dataclass(frozen=True)
class Step:
    """One step of the lesson.

    Parameters
    ----------
    key : str
        A fixed word.
    title : str
        Short, for the list.
    text : str
        At most 60 words; says nothing of the answer.
    question : Amount or Choice
    slider : Slider
    before : tuple of Branch
        Of the drawing of the circuit before the answer.
    load : str
        Beside the load in the drawing.
    answer : callable
        From a place of the slider to the answer there.
    """

    key: str
    title: str
    text: str
    question: Amount | Choice
    slider: Slider
    before: tuple[Branch, ...]
    load: str
    answer: Callable[[float], Answer]
