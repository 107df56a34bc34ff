"""What flows when batteries are bolted together, and when one comes back: the records."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class JoinedBattery:
    """One battery when the whole bank is joined at rest, without loads and chargers.

    Parameters
    ----------
    name : str
    rest_voltage_V : float
        Before joining. [V]
    first_A : float
        Current in the first instant, before any electronics act; discharge positive. [A]
    most_A : float
        The same if no cell below half charge resists more than when it is there. The rise near
        empty is known of steady currents; in the first instant there may be less of it. [A]
    limit_A : float or None
        Its label limit in that direction. [A]
    above_label_s : float
        How long it carries more than its label limits. [s]
    given_Ah, taken_Ah : float
        Both >= 0. [Ah]
    lead_heat_Wh : float
        Heat in its lead. [Wh]
    first_rule : str or None
        The first of its rules that acts on this, as a sentence; none that watches the temperature.
    """

    name: str
    rest_voltage_V: float
    first_A: float
    most_A: float
    limit_A: float | None
    above_label_s: float
    given_Ah: float
    taken_Ah: float
    lead_heat_Wh: float
    first_rule: str | None


@dataclass(frozen=True, slots=True)
class JoinedPair:
    """Two batteries alone, joined by their leads (and the links between them).

    Parameters
    ----------
    fuller, emptier : str
        Names; the fuller one rests at the higher voltage.
    difference_V : float
        Of their rest voltages now, >= 0. [V]
    first_A : float
        Current in the first instant. [A]
    moved_Ah : float
        What passes over until their rest voltages agree. [Ah]
    limit_A : float
        The smallest of their label limits and fuses, whichever may be the fuller. [A]
    limited_by : str
        Which one that is, in words.
    safe_difference_V : float
        Of rest voltages, at which the first current reaches `limit_A`: a limit by current only. [V]
    hidden_Ah : float
        The most that can pass over between these two at any states of charge with rest voltages
        no further apart than that. [Ah]
    text : str
        The same for people.
    """

    fuller: str
    emptier: str
    difference_V: float
    first_A: float
    moved_Ah: float
    limit_A: float
    limited_by: str
    safe_difference_V: float
    hidden_Ah: float
    text: str


@dataclass(frozen=True, slots=True)
class Joining:
    """The bank as it is at the start, joined and left alone; its rules act.

    Parameters
    ----------
    looked_at_s : float
        How long it was followed. [s]
    quiet_after_s : float or None
        From then on no current is above 1 % of a label capacity per hour; None if that does not
        come about. To within 5 minutes. [s]
    batteries : tuple of JoinedBattery
        In file order.
    pairs : tuple of JoinedPair
        All of up to 6 batteries; of more, that with the largest difference.
    """

    looked_at_s: float
    quiet_after_s: float | None
    batteries: tuple[JoinedBattery, ...]
    pairs: tuple[JoinedPair, ...]


@dataclass(frozen=True, slots=True)
class Return:
    """A battery whose discharge or charge path opens again during a run.

    Parameters
    ----------
    time_s : float
        [s]
    battery : str
        Name.
    direction : str
        What is allowed again: "discharge", "charge" or "both".
    currents_A, currents_after_A : tuple of float
        Of every battery just before and just after, discharge positive. [A]
    gives, takes : tuple of str
        Who discharges and who charges just after.
    looked_at_s : float
        Until the next event of that battery, the next switching in the bank, an hour, or the end.
        [s]
    above_label_s : float
        How long it is above its label limits in that time, read off the timeline. [s]
    given_Ah : float
        What its cells lose in that time; negative when they gain. [Ah]
    """

    time_s: float
    battery: str
    direction: str
    currents_A: tuple[float, ...]
    currents_after_A: tuple[float, ...]
    gives: tuple[str, ...]
    takes: tuple[str, ...]
    looked_at_s: float
    above_label_s: float
    given_Ah: float
