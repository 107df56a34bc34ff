"""Sentences about snapshots at their limits, on numbers written by hand."""

from dataclasses import replace

import pytest

from bankSim.measured.snapshot import CellLeft, Circumstances, Range, Snapshot
from bankSim.measured.snapshot_answer import Answered
from bankSim.measured.snapshot_hints import FullHint, Kind, Stopped, SumCheck
from bankSim.measured.snapshot_repeats import Repeats
from bankSim.show.snapshot_words import (
    amount,
    base_of,
    between,
    catch_lines,
    cell_decided,
    danger_line,
    decider_line,
    failing_line,
    how_certain,
    left_words,
    repeat_lines,
    size_lines,
    stopped_line,
    sum_line,
    unit_of,
    won_line,
)


def cell(number, volts, *, chance=0.0, flat=False):
    return CellLeft(number, volts, Range(1.0, 0.5, 1.5), Range(1.0, 0.5, 1.5), chance, flat)


def shot(*volts, won=(0.5, 0.4, 0.6), gap=(2.0, 1.0, 3.0), left=1.0, chance=1.0, flat=False):
    """Cells that read so under load; the first one is the lowest."""
    cells = tuple(cell(n, one, chance=chance if n == 1 else 0.0) for n, one in enumerate(volts, 1))
    gap_Ah = Range(*gap) if len(volts) > 1 else None
    return Snapshot(cells, 1, 2.5, "usual", Range(*won), Range(left, left, left), gap_Ah,
                    min(volts), sum(volts), flat)  # fmt: skip


def answered(*shots, chemistry="LFP", rest_s=None, stopped=Stopped.CELL_RULE, **more):
    shots = shots or (shot(2.4, 2.6, 2.6, 2.6),)
    around = Circumstances(100.0, chemistry, rest_s=rest_s)
    return Answered(around, shots, (stopped,) * len(shots), **more)


@pytest.mark.parametrize(
    ("value", "told"),
    [(0.094, "0.09"), (0.096, "0.096"), (0.96, "0.96"), (9.94, "9.9"), (10.04, "10.0"),
     (123.4, "123"), (-0.5, "-0.50"), (0.0, "0")],
)  # fmt: skip
def test_amounts_have_the_digits_they_are_worth(value, told):
    assert amount(value) == told


def test_ranges():
    assert between(Range(0.21, 0.1, 0.63)) == "0.21 Ah (0.10 to 0.63)"
    assert left_words(Range(5.0, 3.0, 8.0), flat=False) == "5.0 (3.0 to 8.0)"
    assert left_words(Range(5.0, 3.0, 8.0), flat=True) == "at least 3.0"


@pytest.mark.parametrize(
    ("chance", "told"),
    [(0.995, "by more than the meter may be off"), (0.994, "very likely (99 %)"),
     (0.90, "very likely (90 %)"), (0.89, "only 89 % sure, given what the meter may be off")],
)  # fmt: skip
def test_how_sure_it_is_which_cell_was_the_lowest(chance, told):
    assert how_certain(chance) == told
    assert (
        decider_line(shot(2.31, 2.6, chance=chance)) == f"Cell 1 was the lowest (2.31 V), {told}."
    )


def test_the_lowest_reading_keeps_its_millivolts():
    assert "(2.305 V)" in decider_line(shot(2.305, 2.6))
    assert "(2.30 V)" in decider_line(shot(2.3, 2.6))
    assert decider_line(shot(2.3, 2.3, 2.6)).startswith("Cells 1 and 2 show the same lowest")


# LFP: harm from 2.0 V on; under load a quarter of a volt below that. Lead-acid: 1.5 V, own choice
@pytest.mark.parametrize(
    ("volts", "rest_s", "chemistry", "danger"),
    [
        (1.76, None, "LFP", False), (1.74, None, "LFP", True),
        (2.01, 60.0, "LFP", False), (1.99, 60.0, "LFP", True),
        (1.26, None, "AGM", False), (1.24, None, "AGM", True), (1.49, 60.0, "AGM", True),
    ],
)  # fmt: skip
def test_from_where_on_a_cell_is_in_danger(volts, rest_s, chemistry, danger):
    found = danger_line(answered(shot(volts, 2.9), rest_s=rest_s, chemistry=chemistry))
    assert bool(found) == danger
    assert ("Charge it soon and gently" in found) == (danger and chemistry == "AGM")
    assert ("Do not charge that cell, nor the battery" in found) == (danger and chemistry == "LFP")


def test_several_cells_in_danger_are_named_with_the_lowest_reading_of_all_snapshots():
    both = answered(shot(1.0, 1.2, 2.9), shot(0.8, 2.9, 2.9))
    told = danger_line(both)
    assert told.startswith("DANGER: cells 1 and 2 read down to 0.80 V, below the 2.0 V that harm")
    assert "Do not charge those cells, nor the battery around" in told


def test_what_a_gain_is_a_part_of():
    two = (shot(2.4, 2.6), shot(2.4, 2.6))
    assert base_of(answered(*two), 1) == (100.0, "of its capacity")
    assert base_of(answered(*two, delivered_Ah=(80.0, 90.0)), 1) == (90.0, "of what it delivered")
    assert base_of(answered(*two, delivered_Ah=(80.0,)), 1) == (80.0, "of what it delivered")
    assert unit_of(answered(percent_only=True)) == "% of capacity"
    assert unit_of(answered()) == "Ah"
    kinds = {one: cell_decided(answered(stopped=one), 0) for one in Stopped}
    assert [one for one, decided in kinds.items() if decided] == [
        Stopped.CELL_RULE, Stopped.EITHER, Stopped.TOO_LOW
    ]  # fmt: skip


# of 100 Ah: below 1 % nothing, below 3 % little, above 10 % a lot, whatever is surely meant
@pytest.mark.parametrize(
    ("won", "worth"),
    [
        ((0.5, 0.2, 0.99), "nothing worth having"),
        ((0.5, 0.2, 1.0), "little"),
        ((2.0, 1.5, 2.99), "little"),
        ((2.0, 1.01, 3.0), "worth looking into"),
        ((2.0, 1.0, 3.0), "little or some, this snapshot cannot tell better"),
        ((15.0, 10.0, 20.0), "worth looking into"),
        ((15.0, 10.1, 20.0), "a lot; one cell is far behind the others"),
    ],
)
def test_what_a_perfect_balance_is_worth(won, worth):
    found = won_line(answered(shot(2.4, 2.6, won=won)))
    assert found.startswith("A perfect balance would have won ")
    assert found.endswith(f" % of its capacity: {worth}.")


def test_above_the_knee_a_gain_is_at_least_what_it_surely_is():
    assert won_line(answered(shot(2.4, 3.2, won=(5.0, 2.0, 9.0), flat=True))) == (
        "A perfect balance would have won at least 2.0 Ah, 2.0 % of its capacity: worth looking "
        "into."
    )
    small = won_line(answered(shot(2.4, 3.2, won=(5.0, 0.9, 9.0), flat=True)))
    assert "won 5.0 Ah (0.90 to 9.0), 5.0 %" in small
    percent = answered(shot(2.4, 2.6, won=(5.0, 2.0, 9.0)), percent_only=True)
    assert "won 5.0 % (2.0 to 9.0) of its capacity" in won_line(percent)
    assert won_line(answered(shot(2.4))) == "Balance means nothing for a single cell."


def test_only_less_charge_is_won_back():
    much, little = shot(2.4, 2.6, won=(5.0, 1.01, 9.0)), shot(2.4, 2.6, won=(5.0, 1.0, 9.0))
    assert catch_lines(answered(little)) == []
    (told,) = catch_lines(answered(much))
    assert told == "That holds if cell 1 has less charge, not if it is smaller: see below."

    def full(kind):
        return answered(much, full=FullHint((3.5, 3.4), 100.0, kind))

    assert catch_lines(full(Kind.LESS_CHARGE)) == catch_lines(full(Kind.UNCLEAR)) == []
    assert catch_lines(full(Kind.SMALLER))[0].startswith("But cell 1 looks smaller or older")


def test_charge_against_size():
    assert size_lines(answered(shot(2.4))) == []
    lead = " ".join(size_lines(answered(chemistry="AGM")))
    assert "(a long full charge may help) or is smaller or older (it does not)" in lead
    assert "either way it lacks 2.0 Ah (1.0 to 3.0) against the mean of the others." in lead
    assert "give them as --full. Cell 1 behind there: less charge." in lead


def summed(off_V, *, drop_V=0.0):
    check = SumCheck(10.0, 10.0 - drop_V - off_V, drop_V, 0.05, off_V, abs(off_V) <= 0.05)
    return sum_line(answered(sums=(check,)), 0)


def test_whether_cells_add_up():
    assert summed(0.04).endswith("they go together.")
    less = summed(0.3, drop_V=0.02)
    assert "10.00 V and about 20 mV are lost inside; the battery showed 9.68 V, 0.30 V less" in less
    assert "or a drop in leads and switches: mend this first." in less
    more = summed(-0.3, drop_V=0.003)
    assert "lost inside" not in more
    assert "0.30 V more than that" in more
    assert "had not been typed" not in more
    for off_V, typed in ((-1.5, False), (-1.6, True), (-3.6, True), (-3.7, False), (2.4, False)):
        assert ("As if a cell of about" in summed(off_V)) == typed


SAME = Repeats((1, 1), (2.40, 2.45), (10.0, 10.05), (0.2, 0.4), Range(0.3, 0.1, 0.5), None,
               same_cell=True)  # fmt: skip


def repeated(*, left=(1.0, 2.5), shots=2, flat=False, delivered_Ah=(), **changes):
    made = [shot(2.4, 2.6, left=left[n % 2], flat=flat) for n in range(shots)]
    return repeat_lines(
        answered(*made, repeats=replace(SAME, **changes), delivered_Ah=delivered_Ah)
    )


def test_one_snapshot_has_no_repeats():
    assert repeat_lines(answered()) == []


def test_how_repeatable_a_cut_out_is():
    first, second, third = repeated()
    assert first == "The same cell, number 1, was the lowest in both snapshots."
    assert second == (
        "The lowest cell stood between 2.400 and 2.450 V, all together between 10.00 and 10.05 V. "
        "From the higher of these lowest readings to the lower one the cell gives only 0.30 Ah "
        "(0.10 to 0.50): on the knee volts differ much, Ah little."
    )
    assert third == "What balance would win: 0.20 to 0.40 Ah between snapshots (central values)."
    assert "in all 3 snapshots." in repeated(shots=3)[0]
    assert "(cells 1 and 2, in order)" in repeated(same_cell=False, deciders=(1, 2))[0]
    still = repeated(explained_Ah=Range(0.0, 0.0, 0.0))[1]
    assert still.endswith("It stopped at the same voltage each time.")


def test_voltages_that_differ_by_a_tenth_of_a_volt_are_explained():
    assert len(repeated(sum_V=(10.0, 10.09))) == 3
    told = repeated(sum_V=(10.0, 10.2))[3]
    # 2.5 less 1.0 of 100 Ah
    assert told.startswith(
        "The battery's voltage differs by 0.20 V between them, what the mean cell had left by 1.5 "
        "Ah (1.5 % of capacity): cells that did not decide"
    )
    assert repeated(sum_V=(10.0, 10.2), flat=True)[3].endswith(
        "by 1.5 Ah; some stand above the knee, so this is rough."
    )


@pytest.mark.parametrize(
    ("percent", "high_Ah", "words"),
    [
        (2.0, 0.5, "That is as repeatable as tests of one battery usually are (within 2 %)."),
        (2.1, 0.5, "The different ends of the discharge explain 0.62 % at most: look at how full"),
        (2.4, 2.0, "That is as repeatable"),  # 2.0 of 80 Ah are 2.5 %
    ],
)
def test_ah_that_differ(percent, high_Ah, words):
    told = repeated(delivered_percent=percent, delivered_Ah=(79.0, 81.0),
                    explained_Ah=Range(0.3, 0.1, high_Ah))[-1]  # fmt: skip
    assert told.startswith(f"Delivered Ah differ by {percent} %. {words}")


def stopped(kind, *volts, chemistry="LFP", limit_V=None):
    made = answered(shot(*(volts or (2.41, 2.6, 2.6, 2.6))), chemistry=chemistry, stopped=kind)
    around = replace(made.around, limit_V=limit_V)
    facts, count = around.facts, len(made.shots[0].cells)
    low, high = facts.limits_V
    usual = f"{low:.1f} to {high:.1f} V"
    pack = " to ".join(f"{count * one:.1f}" for one in facts.battery_V)
    return stopped_line(replace(made, around=around), 0), usual, pack


def test_a_limit_of_a_cell_is_told_with_what_is_usual():
    line, usual, pack = stopped(Stopped.CELL_RULE)
    # 2.41 + 3 x 2.6 V
    assert line == (
        f"Probably the limit of one cell: the lowest, 2.41 V, is near the usual {usual}, and all "
        f"cells together, 10.21 V, are not where whole-battery limits and the cut-offs of loads "
        f"usually are ({pack} V)."
    )
    alone = stopped(Stopped.CELL_RULE, 2.41)[0]
    assert (
        alone == f"Probably the limit of one cell: the lowest, 2.41 V, is near the usual {usual}."
    )
    given = stopped(Stopped.CELL_RULE, 2.41, limit_V=2.4)[0]
    assert given.endswith("is near the limit given, 2.40 V.")


def test_other_ends_of_a_discharge():
    either, usual, pack = stopped(Stopped.EITHER)
    assert either == (
        f"Either the limit of one cell (lowest 2.41 V, near the usual {usual}) or one of the whole "
        f"battery or the load (all cells together 10.21 V; usual {pack} V)."
    )
    whole = stopped(Stopped.BATTERY_RULE)[0]
    assert f"together stand at 10.21 V, usual for those is {pack} V; the lowest cell is" in whole
    lead, _, six = stopped(Stopped.BATTERY_RULE, *(1.8,) * 6, chemistry="AGM")
    assert f"stand at 10.80 V, usual for those is {six} V. Lead-acid batteries seldom" in lead
    low = stopped(Stopped.TOO_LOW)[0]
    assert low.startswith(
        f"The lowest cell, 2.41 V, is below the usual {usual}: a limit that acted"
    )
    other = stopped(Stopped.OTHER)[0]
    assert f"the lowest, 2.41 V, is above the usual {usual}, and all cells together" in other
    assert f"are not at a usual battery limit ({pack} V)" in other
    bare = stopped(Stopped.OTHER, *(1.9,) * 6, chemistry="AGM")[0]
    assert "electronics that watch them are rare on lead-acid, and all cells together" in bare
    given = stopped(Stopped.OTHER, *(1.9,) * 6, chemistry="AGM", limit_V=1.8)[0]
    assert "the lowest, 1.90 V, is above the limit given, 1.80 V, and all" in given
    assert stopped(Stopped.RESTED)[0].startswith("Cells that rested have come back up")


def test_a_failing_cell_of_lead_acid():
    # the others have a mean of 1.95 V, 0.35 V above it
    weak = shot(1.6, 1.95, 1.95, 1.95, 1.95, 1.95)
    line = failing_line(answered(weak, chemistry="AGM", stopped=Stopped.BATTERY_RULE), 0)
    assert line.startswith("Cell 1, 1.60 V, lies 0.35 V below the mean of the others: it is at its")
    assert line.endswith("lead-acid cells cannot be balanced one by one.")
    high = failing_line(answered(weak, chemistry="AGM", stopped=Stopped.OTHER), 0)
    assert "All cells together, 11.35 V, are not at a usual battery limit (" in high
    assert failing_line(answered(shot(1.9, 1.95, 1.95), chemistry="AGM"), 0) == ""


def test_what_cells_at_full_say():
    def told(kind, mV):
        hint = FullHint((3.4, 3.5), mV, kind)
        return " ".join(size_lines(answered(shot(2.4, 2.6), full=hint)))

    less = told(Kind.LESS_CHARGE, -98.6)
    assert less.startswith("At the end of the charge cell 1 is 99 mV below the others, and it is f")
    assert "A hint at imbalance, of about 2.0 Ah (1.0 to 3.0);" in less
    small = told(Kind.SMALLER, 98.6)
    assert "cell 1 is 99 mV above the others, and it is first at empty too" in small
    assert "within 2 mV of the others: too little to tell" in told(Kind.UNCLEAR, -1.6)
