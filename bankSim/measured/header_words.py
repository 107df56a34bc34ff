"""What a header says about its column, in several languages."""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from bankSim.measured.numerals import spaced, unit_of

TIME, VOLTAGE, CURRENT, TEMPERATURE, CELL, OTHER = (
    "time", "voltage", "current", "temperature", "cell", "other",
)  # fmt: skip
UNIT_MEANS = {
    **dict.fromkeys(("V", "mV", "uV", "kV"), VOLTAGE),
    **dict.fromkeys(("A", "mA", "uA", "kA"), CURRENT),
    **dict.fromkeys(("s", "ms", "us", "min", "h", "d"), TIME),
    **dict.fromkeys(("degC", "degF", "K"), TEMPERATURE),
    **dict.fromkeys(
        spaced("Ah mAh As C Wh kWh mWh J kJ W kW mW % ohm mohm Hz"), OTHER
    ),
}  # fmt: skip
_STEMS = {
    VOLTAGE: "voltage spannung tension voltaje tensione tensao spanning spaending spenning "
    "napiecie napeti potential",
    CURRENT: "current strom courant corriente corrente stroom intensidad intensite natezenie prad",
    TIME: "time zeit uhrzeit datetime elapsed",
    TEMPERATURE: "temperat",
    CELL: "zelle zell cell cellule celda cella",
}  # fmt: skip
_WORDS = {
    TIME: "time t zeit temps tiempo tempo tid tijd czas cas date datum fecha data heure hora ora "
    "uhr clock seconds sec secs second sekunden sekunde secondes segundos minutes minuten stunden "
    "hours heures horas dauer duration duree laufzeit unix epoch zeitstempel horodatage ts when",
    VOLTAGE: "v u volt volts vbat vbatt ubat ubatt vpack packv vbus ubus vdc udc vterm uterm vcell "
    "ucell battv batv tension voltaje",
    CURRENT: "i a amp amps ampere amperes ibat ibatt ipack packa packi ibus idc idis iload battc "
    "bati shunt courant",
    TEMPERATURE: "temp temperature tbat tbatt tcell tamb tmp",
    CELL: "cell cells zelle zellen cellule celda cella cel elem element elemento vcell ucell",
}  # fmt: skip
_NOT_USED = frozenset(
    spaced(
        "power leistung puissance potencia potenza watt watts energy energie energia "
        "energi capacity capacite kapazitaet kapazitat capacidad capacita ah mah wh kwh "
        "soc soh ladezustand sdc dod resistance widerstand ir esr cycle cycles zyklus "
        "cycl index record row nr no id idx status state mode flag flags error alarm "
        "setpoint sollwert soll set target limit max min maximum minimum avg mean average "
        "mittel delta diff spread range rpm speed humidity pressure bar lat lon rssi "
        "event remark note comment kommentar bemerkung zeile ligne linea phase"
    )
)
_OF_BATTERY = frozenset(
    spaced(
        "pack battery batt bat batterie bateria batteria akku accu bank total gesamt bus "
        "terminal klemmen sum summe system shunt stack string main dc"
    )
)
_OF_OTHERS = frozenset(
    spaced(
        "load last charger lader solar panel pv input in aux ref reference supply ocv set "
        "step starter alternator ac line grid mppt sense fuel logger "
        "board mcu cpu inverter wechselrichter onduleur"
    )
)
_DEVICES = _OF_OTHERS - {"in", "input"}
_MEAN = frozenset(spaced("avg mean average mittel moyenne media promedio medio"))
_OF_AIR = frozenset(spaced("tamb amb air luft room raum aussen surrounding surroundings"))
_AIR_STEMS = ("ambient", "umgebung", "lufttemp", "raumtemp", "airtemp", "roomtemp")
_ONE_OF_MANY = frozenset(
    spaced("pack battery batt bat batterie bateria batteria akku accu string stack bank unit")
)
LETTERS = "abcdefghijklmnop"
_NO_ACCENTS = str.maketrans({"ß": "ss", "ł": "l", "Ł": "L", "ø": "o", "Ø": "O", "æ": "ae"})
_UNIT_IN_BRACKETS = re.compile(r"[\[({<]\s*([^\])}>]*?)\s*[\])}>]\s*$")
_UNIT_BEHIND = re.compile(r"(?:\s*/\s*|,\s*|\s+in\s+|[_\s.\-]+)([^\s/,_.\-]+)\s*$")


@dataclass(frozen=True, slots=True)
class Header:
    """What a header says.

    Parameters
    ----------
    text : str
        As in the file.
    unit : str
        "" where none is written.
    words : tuple of str
        Small letters without accents.
    index : int
        Number in it, -1 for none: the 3 of "Cell 3"; a letter counts from A as 1.
    scores : dict
        From what it may mean to how surely. [1]
    battery, others : bool
        Of the whole battery; of something else.
    """

    text: str
    unit: str
    words: tuple[str, ...]
    index: int
    scores: dict[str, float]

    @property
    def other(self) -> bool:
        """Something that a log is not read for: watts, Ah, numbers of rows."""
        return UNIT_MEANS.get(self.unit) == OTHER or any(one in _NOT_USED for one in self.words)

    @property
    def of_air(self) -> bool:
        """Of the air around a battery, not of the battery."""
        return _speaks_of_air(self.words)

    @property
    def of_others(self) -> bool:
        """Of a load, a charger or the like, not of the battery."""
        return not _OF_OTHERS.isdisjoint(self.words)

    @property
    def of_devices(self) -> bool:
        """Of a load, a charger or the like by more than "in"."""
        return not _DEVICES.isdisjoint(self.words)

    @property
    def family(self) -> tuple[str, ...]:
        """The words without the number."""
        return (*(word for word in self.words if not word.isdigit()), self.unit)


def read_header(text: str, unit_below: str = "") -> Header:
    """Read what a header says; `unit_below` is that of a row of units."""
    name, unit = split_unit(text)
    unit = unit or unit_of(unit_below)
    words = words_of(name)
    numbers = [int(word) for word in words if word.isdigit() and len(word) < 4]
    index = numbers[-1] if len(numbers) == 1 else -1
    place = _letter_of_one(words, unit) if index < 0 else 0
    if place:
        index, words = LETTERS.index(words[place]) + 1, words[:place] + words[place + 1 :]
    return Header(text, unit, words, index, _scores(words, unit, of_one=index >= 0))


def bare_unit(text: str) -> Header | None:
    """Return a header that is nothing but a unit read as such ("min" is minutes); else None."""
    unit = unit_of(text)
    meaning = UNIT_MEANS.get(unit, OTHER)
    if meaning == OTHER:
        return None
    return Header(text, unit, (), -1, {meaning: 5.0})


def split_unit(text: str) -> tuple[str, str]:
    """Split a header into its name and its unit."""
    found = _UNIT_IN_BRACKETS.search(text)
    if found:
        unit = unit_of(found[1])
        return text[: found.start()].strip(), unit
    if unit_of(text) and len(text.strip()) > 1:
        return text, unit_of(text)
    found = _UNIT_BEHIND.search(text)
    if found and _names_one(words_of(text[: found.start()]), found[1].lower()):
        return text, ""
    if found and unit_of(found[1]) and not found[1].isdigit():
        name_before = text[: found.start()]
        last, unit = found[1], unit_of(found[1])
        loose = found[0].lstrip()[:1] not in ("/", ",") and " in " not in found[0]
        if loose and UNIT_MEANS.get(unit) == TIME and not means(words_of(name_before), TIME):
            return text, ""
        if len(last) > 1 or last.isupper() or found[0].lstrip()[:1] in "/_" or last in "sh":
            return text[: found.start()].strip(), unit
    return text, unit_of(text) if text.strip() in ("V", "A", "s", "mV", "mA", "h") else ""


def _letter_of_one(words: tuple[str, ...], unit: str) -> int:
    """Return where a letter names one cell or battery of several ("pack A current"), 0 for none."""
    if len(words) == 2 and words[1] in LETTERS and means(words[:1], CELL):
        return 1
    for place in range(1, len(words)):
        rest = words[:place] + words[place + 1 :]
        named = words[place - 1] in _ONE_OF_MANY and words[place] in LETTERS.replace("i", "")
        if named and (unit or _says_what(rest)):
            return place
    return 0


def _names_one(before: tuple[str, ...], last: str) -> bool:
    """Tell whether a letter at the end is a battery's name and no unit: "current pack A"."""
    return _says_what(before) and last in LETTERS and before[-1] in _ONE_OF_MANY


def _says_what(words: tuple[str, ...]) -> bool:
    """Tell whether words name what is measured of a battery."""
    return any(means(words, meaning) for meaning in (VOLTAGE, CURRENT, TEMPERATURE))


def words_of(name: str) -> tuple[str, ...]:
    """Split a name into small words without accents; digits stand alone."""
    plain = unicodedata.normalize("NFKD", name.translate(_NO_ACCENTS))
    plain = "".join(mark for mark in plain if not unicodedata.combining(mark))
    plain = re.sub(r"([a-z])([A-Z])", r"\1 \2", plain).lower()
    plain = re.sub(r"(\d+)", r" \1 ", plain)
    return tuple(str(int(w)) if w.isdigit() and len(w) < 9 else w
                 for w in re.sub(r"[^a-z0-9]+", " ", plain).split())  # fmt: skip


def means(words: Sequence[str], meaning: str) -> bool:
    """Tell whether small words without accents speak of a meaning, in any language known.

    Parameters
    ----------
    words : sequence of str
    meaning : str
        `TIME`, `VOLTAGE`, `CURRENT`, `TEMPERATURE` or `CELL`.
    """
    exact, stems = _WORDS.get(meaning, "").split(), _STEMS[meaning].split()
    return any(word in exact or any(stem in word for stem in stems) for word in words)


def _speaks_of_air(words: tuple[str, ...]) -> bool:
    return any(word in _OF_AIR or any(stem in word for stem in _AIR_STEMS) for word in words)


def _scores(words: tuple[str, ...], unit: str, *, of_one: bool = False) -> dict[str, float]:
    """How surely a header means what; `of_one`: of one battery (or cell) among several."""
    kind = UNIT_MEANS.get(unit, "")
    if kind == OTHER:
        return {}
    scores = {one: 6.0 for one in (TIME, VOLTAGE, CURRENT, TEMPERATURE, CELL) if means(words, one)}
    if kind:
        scores = {one: has for one, has in scores.items() if one in (kind, CELL)}
        scores[kind] = scores.get(kind, 0.0) + 5.0
        if kind != VOLTAGE:
            scores.pop(CELL, None)
    if TEMPERATURE in scores and TIME in scores and unit == "" and "temp" not in words:
        scores.pop(TEMPERATURE)
    if words[:1] == ("t",) and len(words) == 2 and words[1].isdigit() and not kind:
        scores = {TEMPERATURE: 5.0}
    whole = any(w in _OF_BATTERY or "batter" in w or "gesamt" in w for w in words)
    bonus = 3.0 * (whole and not of_one)
    bonus -= 4.0 * (_speaks_of_air(words) or not _OF_OTHERS.isdisjoint(words))
    bonus -= 1.5 * any("charg" in word or "lade" in word for word in words)
    bonus -= 7.0 * any(word in _NOT_USED for word in words)
    bonus += 2.0 * any(word in _MEAN for word in words)  # rather than least or most
    return {one: has + bonus for one, has in scores.items() if has + bonus > 0.0 or kind == one}
