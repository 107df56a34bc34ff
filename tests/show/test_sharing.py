"""How the first current is shared, on currents written by hand."""

from dataclasses import replace

import pytest
from made_results import Course, made
from simple_banks import affine, bank_of

from bankSim.show.sharing import currents_at_start, evens_out, sharing
from bankSim.sim.result import BankOutcome


def shared(amps, shares, *, labels=None, out_Ah=50.0, in_Ah=0.0):
    """Batteries "a", "b", ... with these first currents and shares of them, 100 Ah each."""
    labels = labels or [100.0] * len(amps)
    names = "abcdefg"[: len(amps)]
    bank = bank_of(*(affine(name, Ah=Ah) for name, Ah in zip(names, labels, strict=True)))
    courses = [Course(A=[0.0, one, 0.3 * one]) for one in amps]
    outcomes = [{"share_at_start": one} for one in shares]
    total = BankOutcome(out_Ah, 0.0, in_Ah, 0.0, 0.0, 7200.0)
    result = made(bank, [0.0, 3600.0, 7200.0], *courses, outcomes=outcomes)
    return replace(result, bank=total)


def lines(*given, **more):
    return list(sharing(shared(*given, **more)).lines)


def test_everyone_is_told_with_what_the_labels_say():
    assert lines((3.0, 1.0), (0.75, 0.25), labels=(100.0, 300.0)) == [
        'Of the bank current "a" 75 % and "b" 25 %.',
        'By their labels it would be "a" 25 % and "b" 75 %.',
    ]


def test_of_many_the_ends_are_told():
    told = lines((1.0, 3.0, 2.0, 2.5, 1.5), (0.1, 0.3, 0.2, 0.25, 0.15))
    assert told == [
        '"b" carried most, 30 % of the bank current (by its label 20 %), and "a" least, 10 % '
        "(by its label 20 %)."
    ]
    assert len(lines((1.0,) * 4, (0.25,) * 4)) == 2  # four are told one by one


@pytest.mark.parametrize(("share", "told"), [(-0.005, False), (-0.0051, True)])
def test_what_ran_the_other_way(share, told):
    against = 'A share below zero: the current of "b" ran the other way.'
    assert (against in lines((10.0, 0.1), (1.0 - share, share))) == told


def test_nothing_is_said_where_nothing_was_shared():
    both = ((3.0, 1.0), (0.75, 0.25))
    assert sharing(shared(*both, out_Ah=0.0)) is None
    assert sharing(shared(*both, out_Ah=0.0, in_Ah=10.0)) is not None
    assert sharing(shared((3.0,), (1.0,))) is None
    assert sharing(shared((3.0, 1.0), (1.0, None))) is None


@pytest.mark.parametrize(
    ("shares", "dwarfed"),
    [
        ((2.0, -1.0), False),
        ((2.01, 0.0, -1.0), True),
        ((1.5, 0.51, -1.01), True),
        ((None, None), False),
    ],
)
def test_from_twice_the_bank_current_on_amperes_are_told(shares, dwarfed):
    assert evens_out(shared((1.0,) * len(shares), shares)) == dwarfed


def test_batteries_that_even_each_other_out():
    result = shared((-9.0, 12.0, -1.0), (-4.5, 6.0, -0.5))
    assert currents_at_start(result) == [-9.0, 12.0, -1.0]  # where a bank current first flows
    assert sharing(result).lines == (
        "The batteries even each other out, and the current of the bank itself is small beside "
        'that (2.00 A): "b" gives 12.0 A, "c" takes 1.00 A and "a" takes 9.00 A.',
    )
    told = lines((-9.0, 12.0, -4.0, 2.0, 3.0), (-2.25, 3.0, -1.0, 0.5, 0.75))
    assert told[0].endswith(
        '(4.00 A): "b" gives 12.0 A, 3 others lie in between and "a" takes 9.00 A.'
    )
    charged = lines((-9.0, 8.0, -1.0), (4.5, -4.0, 0.5))  # the bank takes in 2 A
    assert '(2.00 A): "b" gives 8.00 A' in charged[0]
    idle = lines((-9.0, 12.0, 0.0), (-3.0, 4.0, 0.0))[0]
    assert '"c" gives 0 A' in idle
