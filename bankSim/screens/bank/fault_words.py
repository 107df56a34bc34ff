"""What is wrong with a bank, in the words of the fields of the page Your bank."""

from bankSim.scenario.draft import Draft
from bankSim.screens.answers import Checked
from bankSim.screens.bank.board import mend_words
from bankSim.screens.bank.labels import place_words


def fault_lines(draft: Draft, found: Checked) -> list[str]:
    """Return one line for each fault: where on the page it stands, and what is allowed.

    Parameters
    ----------
    draft : Draft
    found : Checked
        What was found in this draft; faults without a place are told as they are.
    """
    if len(found.places) < len(found.faults):
        return list(found.faults)
    lines = []
    for path, text in found.places:
        where = place_words(path, draft.data)
        lines.append(f"{where}: {mend_words(text, path)}" if where else mend_words(text, path))
    return lines
