"""All checks of a run by hand."""

from .answers import check_answers, check_cells, follow_all
from .record import Record
from .rules import check_rules
from .totals import check_totals
from .wires import check_ends, check_wires


def wrong_with(bank, result):
    """Return sentences about what is wrong with a run; none if all is well."""
    record = Record(bank, result)
    check_wires(record)
    check_ends(record)
    check_rules(record)
    followed = follow_all(record)
    check_cells(record, followed)
    check_answers(record, followed)
    check_totals(record, followed)
    return record.sentences()
