"""Words that say charge or discharge, in several languages."""

from bankSim.measured.header_words import words_of

OUT, IN, REST = 1, -1, 0
_OUT_STEMS = ("discharg", "dischg", "dchg", "dchar", "dsch", "dch", "dsg", "entlad", "decharg",
              "descarg", "scaric", "ontlad", "rozlad")  # fmt: skip
_IN_STEMS = ("charg", "chrg", "chg", "laden", "ladung", "lade", "carga", "carica", "cccv", "bulk",
             "absorp", "float")  # fmt: skip
_OUT_WORDS, _IN_WORDS = ("d", "dis"), ("c", "ch", "cha")


def direction_of(text: str) -> int:
    """Return 1 where a word says discharge, -1 where it says charge, 0 otherwise."""
    words = words_of(text)
    if any(word in _OUT_WORDS or any(stem in word for stem in _OUT_STEMS) for word in words):
        return OUT
    if any(word in _IN_WORDS or any(stem in word for stem in _IN_STEMS) for word in words):
        return IN
    return REST
