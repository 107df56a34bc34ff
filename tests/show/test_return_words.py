"""What comes back, on courses written by hand: modes are 1 charge, 2 discharge, 3 both blocked."""

import numpy as np
import pytest
from made_results import Course, event, made
from simple_banks import affine, bank_of

from bankSim.show.returns import has_returns, returns
from bankSim.sim.result import RELEASE, STAYS_OUT

HOURS = np.array([0.0, 2.0, 2.0, 3.0, 3.0, 5.0, 5.0, 9.0, 9.0, 10.0])
OPEN, AT_2_TO_3, AT_2_AND_5 = (
    (0,) * 10,
    (0, 0, 2, 2, 0, 0, 0, 0, 0, 0),
    (0, 0, 2, 2, 0, 0, 2, 2, 0, 0),
)


def of_modes(*modes, events=()):
    """What is said of batteries "a", "b", ... of 100 Ah each that block so at the hours above."""
    names = "abcdefg"[: len(modes)]
    bank = bank_of(*(affine(name) for name in names), duration_s=36_000.0)
    courses = [Course(mode=np.array(mode)) for mode in modes]
    return made(bank, 3600.0 * HOURS, *courses, events=tuple(events))


def test_who_comes_back_how_often():
    result = of_modes(AT_2_TO_3, AT_2_AND_5, OPEN, AT_2_TO_3)
    assert has_returns(result)
    assert returns(result) == ['"a" and "d" come back once and "b" comes back 2 times.']
    assert returns(of_modes(AT_2_TO_3, OPEN)) == ['"a" comes back once.']


def test_what_stays_blocked_has_no_return():
    gone = (0, 0, 2, 2, 2, 2, 2, 2, 2, 2)
    assert not has_returns(of_modes(gone, OPEN))
    assert returns(of_modes(gone, OPEN)) == []
    assert not has_returns(of_modes([one // 2 for one in AT_2_TO_3], OPEN))  # of charge alone
    assert has_returns(of_modes([3 if one else 0 for one in AT_2_TO_3], OPEN))


def test_those_given_up_are_named_where_they_had_come_back():
    lost = [event(9 * 3600.0, STAYS_OUT, name, blocks="discharge") for name in ("b", "c")]
    came, *more = returns(of_modes(AT_2_TO_3, AT_2_AND_5, OPEN, events=lost))
    assert came == '"a" comes back once and "b" comes back 2 times.'
    (told,) = more
    assert 'returns in vain "b" stays out; the Ah and the runtime from there on hang' in told
    both = [event(9 * 3600.0, STAYS_OUT, name, blocks="discharge") for name in ("a", "b")]
    assert (
        'returns in vain "a" and "b" stay out;'
        in returns(of_modes(AT_2_TO_3, AT_2_AND_5, events=both))[1]
    )
    zero = {"currents_A": (0.0, 0.0), "currents_after_A": (0.0, 0.0)}
    released = [event(9 * 3600.0, RELEASE, "b", blocks="discharge", **zero)]
    assert len(returns(of_modes(AT_2_TO_3, AT_2_AND_5, events=released))) == 1


def test_who_blocks_charge_the_longest():
    one = (0, 0, 1, 1, 0, 0, 0, 0, 0, 0)  # 1 h
    two = (0, 0, 0, 0, 0, 0, 1, 1, 0, 0)  # 4 h
    both = (0, 0, 1, 1, 0, 0, 1, 1, 0, 0)  # 5 h
    end = (0, 0, 0, 0, 0, 0, 0, 0, 1, 1)  # from 9 h on: 1 h until the end
    assert returns(of_modes(one, two)) == [
        '"b" and "a" block charge, the first time after 2.00 h, "b" the longest, for 4.00 h in all.'
    ]
    assert returns(of_modes(OPEN, both)) == [
        '"b" blocks charge, the first time after 2.00 h, for 5.00 h in all.'
    ]
    assert "for 1.00 h in all" in returns(of_modes(end))[0]
    # of several that block as long none is called the longest alone
    assert returns(of_modes(one, both, both)) == [
        '"b", "c" and "a" block charge, the first time after 2.00 h, "b" and "c" the longest, for '
        "5.00 h in all."
    ]
    assert returns(of_modes(both, both)) == [
        '"a" and "b" block charge, the first time after 2.00 h, each for 5.00 h in all.'
    ]
    assert returns(of_modes(*[both] * 5))[0].startswith("All 5 batteries block charge")


@pytest.mark.parametrize(("after_A", "told"), [(10.0, False), (10.2, True), (-10.2, True)])
def test_a_surge_of_a_tenth_of_the_label_is_news(after_A, told):
    back = event(3 * 3600.0, RELEASE, "a", blocks="discharge", currents_A=(0.0, 0.0),
                 currents_after_A=(after_A, -after_A))  # fmt: skip
    _came, *more = returns(of_modes(AT_2_TO_3, OPEN, events=[back]))
    way = "gives" if after_A > 0.0 else "takes"
    line = f'The largest surge at a come-back, after 3.00 h: "a" {way} 10.2 A at once.'
    assert more == ([line] if told else [])


def test_the_largest_surge_of_several_is_told():
    def back(hour, name, amps):
        place = "ab".index(name)
        after = tuple(amps if k == place else 0.0 for k in range(2))
        return event(hour * 3600.0, RELEASE, name, blocks="discharge", currents_A=(0.0, 0.0),
                     currents_after_A=after)  # fmt: skip

    events = [back(3, "a", 20.0), back(3, "b", 30.0), back(9, "b", -80.0)]
    told = returns(of_modes(AT_2_TO_3, AT_2_AND_5, events=events))
    assert told[-1] == 'The largest surge at a come-back, after 9.00 h: "b" takes 80.0 A at once.'


def test_one_that_is_no_longer_charged_is_not_said_to_stay_out():
    # it came back to the loads; only its charge was tried a hundred times in vain
    charge = (0, 0, 2, 2, 0, 0, 1, 1, 1, 1)
    given_up = [event(9 * 3600.0, STAYS_OUT, "a", blocks="charge")]
    came, blocked, *more = returns(of_modes(charge, OPEN, events=given_up))
    assert came == '"a" comes back once.'
    assert blocked.startswith('"a" blocks charge, the first time after 5.00 h')
    assert more == [
        'After 100 returns in vain "a" takes no more charge until something switches; the Ah from '
        "there on hang on that assumption."
    ]
    both = [event(9 * 3600.0, STAYS_OUT, "a", blocks="both")]
    told = returns(of_modes(AT_2_AND_5, OPEN, events=both))
    assert told[1].startswith('After 100 returns in vain "a" stays out;')
