"""Words that say charge or discharge, in several languages."""

from bankSim.measured.header_words import words_of

OUT, IN, REST = 1, -1, 0
_OUT_STEMS = ("discharg", "dischg", "dchg", "dchar", "dsch", "dch", "dsg", "entlad", "decharg",
              "descarg", "scaric", "ontla", "rozlad", "utlad", "urladd", "aflad", "vybij",
              "purku")  # fmt: skip
_IN_STEMS = ("charg", "chrg", "chg", "laden", "ladung", "lade", "laad", "carga", "carica", "cccv",
             "bulk", "absorp", "float", "lading", "ladning", "laddning", "oplad", "ladow", "nabij",
             "lataus")  # fmt: skip
_OUT_WORDS, _IN_WORDS = ("d", "dis"), ("c", "ch", "cha")
_WHOLE = {("out",): OUT, ("in",): IN}  # where nothing else is said
_NOT = ("not", "no", "non", "never", "without", "off", "stopped", "disabled", "inhibited", "nicht",
        "kein", "keine", "ohne", "aus", "pas", "sans", "sin", "senza", "niet", "geen", "ikke",
        "inte")  # fmt: skip


def state_of(text: str) -> int:
    """Return the direction that a state says, as `direction_of`; "Not charging" says none."""
    words = words_of(text)
    if words in _WHOLE:
        return _WHOLE[words]
    for word, after in zip(words, [*words, ""][1:], strict=True):
        if word in _NOT and not (word == "no" and after.isdigit()):  # "Charge no. 3" is one
            return REST
    return direction_of(text)


def header_ways(text: str) -> set[int]:
    """Return all directions that the words of a header say: both of "Charge +, discharge -"."""
    words = words_of(text.lower())
    out = {word for word in words if any(stem in word for stem in _OUT_STEMS)}
    into = {word for word in words if any(stem in word for stem in _IN_STEMS)} - out
    return {way for way, said in ((OUT, out), (IN, into)) if said}


def direction_of(text: str) -> int:
    """Return 1 where a word says discharge, -1 where it says charge, 0 otherwise."""
    words = words_of(text)
    if any(word in _OUT_WORDS or any(stem in word for stem in _OUT_STEMS) for word in words):
        return OUT
    if any(word in _IN_WORDS or any(stem in word for stem in _IN_STEMS) for word in words):
        return IN
    return REST
