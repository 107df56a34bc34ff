import math

import numpy as np
import pytest
from pytest import approx
from scipy import stats

from bankSim.errors import ParameterError
from bankSim.measured.claims import Repeats, as_proven, evaluate, without_verdicts
from bankSim.measured.uncertainty import Budget, Contribution, Shape
from bankSim.measured.verdict import Word, judge


def one(value, gain_percent=0.0):
    line = Contribution(
        "shunt gain", gain_percent, "%", value / 100.0, Shape.RECTANGULAR, shared=True
    )
    return Budget(value, "Ah", (line,))


def together(values, units=None, claim=100.0, confidence=0.95, gain=0.0, complete=None, **words):
    units = units or ["a"] * len(values)
    complete = complete or [True] * len(values)
    items = [
        (unit, one(value, gain), done)
        for unit, value, done in zip(units, values, complete, strict=True)
    ]
    return evaluate(items, claim, confidence, Repeats(**words), None)


def test_repeats_of_one_unit_are_students_interval():
    # with a perfect meter: scipy's t interval and one-sided test
    values = [101.2, 99.8, 100.9, 101.5]
    found = together(values)
    low, high = stats.t.interval(0.95, 3, np.mean(values), stats.sem(values))
    assert found.interval == approx((low, high))
    lower = np.mean(values) - stats.t.ppf(0.95, 3) * stats.sem(values)
    assert found.together.low == approx(lower)
    p = stats.ttest_1samp(values, 100.0, alternative="greater").pvalue
    assert (found.together.word is Word.MET) == (p <= 0.05)


@pytest.mark.parametrize("shift", [-4.0, -1.0, -0.2, 0.2, 1.0, 4.0])
def test_the_verdict_is_that_of_the_one_sided_t_test(shift):
    values = np.array([100.3, 99.5, 100.4, 99.8]) + shift
    above = stats.ttest_1samp(values, 100.0, alternative="greater").pvalue <= 0.05
    below = stats.ttest_1samp(values, 100.0, alternative="less").pvalue < 0.05
    word = Word.MET if above else Word.NOT_MET if below else Word.UNDECIDED
    assert together(list(values)).together.word is word


def test_a_single_test_rests_on_an_assumed_repeatability():
    found = together([102.0])
    line = found.budget.contributions[-1]
    assert line.assumed
    assert line.share == approx(0.005 * 102.0)
    assert line.degrees == 8.0  # known to a quarter: JCGM 100, G.4.2, 1 / (2 x 0.25^2)
    given = together([102.0], percent=3.0).budget.contributions[-1]
    assert (given.share, given.assumed) == (approx(3.06), False)


def test_lead_acid_repeats_less_well():
    items = [("a", one(80.0), True)]
    found = evaluate(items, None, 0.95, Repeats(), "AGM")
    assert found.budget.combined == approx(1.6)
    assert found.together.word is None


def test_the_meters_error_stays_however_often_one_repeats():
    values = [100.0 + 0.01 * (-1) ** k for k in range(50)]
    assert together(values, gain=1.0).budget.combined == approx(1.0 / math.sqrt(3.0), rel=1e-3)


def test_an_incomplete_test_can_prove_but_not_disprove():
    assert together([104.0], complete=[False]).together.word is Word.MET
    low = together([60.0], complete=[False])
    assert low.together.word is Word.UNDECIDED
    assert low.interval[1] == math.inf
    assert together([60.0]).together.word is Word.NOT_MET


def test_incomplete_tests_are_left_out_of_the_mean():
    found = together([101.0, 40.0, 103.0], complete=[True, False, True])
    assert found.units[0].budget.value == approx(102.0)
    assert found.units[0].left_out == 1
    best = together([30.0, 40.0], complete=[False, False])
    assert (best.budget.value, best.units[0].left_out) == (40.0, 1)


def test_the_next_unit_has_students_prediction_interval():
    # closed form: m - t s sqrt(1 + 1/n)
    values, units = [101.0, 99.0, 102.0, 103.0], list("abcd")
    product = together(values, units).product
    s, t = np.std(values, ddof=1), stats.t.ppf(0.95, 3)
    assert product.next_unit.low == approx(101.25 - t * s * math.sqrt(1.25))
    assert product.mean.low == approx(101.25 - t * s / 2.0)
    assert product.most_units_Ah < product.next_unit.low
    assert product.within_Ah is None


def test_units_are_weighed_alike_and_pool_their_repeats():
    found = together([100.0, 102.0, 110.0], ["a", "a", "b"])
    assert found.budget.value == approx(105.5)
    assert [unit.budget.value for unit in found.units] == approx([101.0, 110.0])
    assert found.product.within_Ah == approx(math.sqrt(2.0))
    # unit b borrows the deviation of a: sqrt(2), one degree of freedom
    assert found.units[1].budget.combined == approx(math.sqrt(2.0))
    assert found.units[1].budget.degrees == approx(1.0)


def test_one_unit_says_nothing_of_the_product():
    assert together([100.0, 101.0]).product is None
    mixed = together([100.0, 101.0], ["a", "b"], complete=[True, False])
    assert mixed.product is None
    assert mixed.together.at_least


def test_intervals_of_repeats_with_a_meter_cover():
    # Monte Carlo: 4 repeats, 0.8 Ah each, one meter with limits of 0.5 %: 95 % or a little more
    rng, hits, count = np.random.default_rng(5), 0, 1500
    for _ in range(count):
        gain = rng.uniform(-0.005, 0.005)
        values = 100.0 * (1.0 + gain) + rng.normal(0.0, 0.8, 4)
        low, high = together(list(values), gain=0.5).interval
        hits += low <= 100.0 <= high
    assert 0.935 <= hits / count <= 0.985


@pytest.mark.parametrize(("count", "deviation"), [(2, 0.8), (2, 0.3), (3, 0.8)])
def test_intervals_of_few_repeats_cover_too(count, deviation):
    rng, hits, cases = np.random.default_rng(1), 0, 1000
    for _ in range(cases):
        gain = rng.uniform(-0.005, 0.005)
        values = 100.0 * (1.0 + gain) + rng.normal(0.0, deviation, count)
        low, high = together(list(values), gain=0.5).interval
        hits += low <= 100.0 <= high
    assert hits / cases >= 0.935


def test_two_repeats_that_agree_are_not_trusted_blindly():
    found = together([100.0, 100.0])
    line = found.budget.contributions[-1]
    assert line.width == approx(0.5)
    assert "few repeats" in line.source
    assert together([100.0] * 4).budget.combined == 0.0  # four are


def test_a_true_claim_at_the_border_is_passed_no_oftener_than_stated():
    # a product whose mean is exactly the label: called met in 5 of 100 cases, called not met too
    rng, met, not_met, count = np.random.default_rng(8), 0, 0, 1500
    for _ in range(count):
        values = 100.0 * (1.0 + rng.uniform(-0.003, 0.003)) + rng.normal(0.0, 1.0, 4)
        product = together(list(values), list("abcd"), gain=0.3).product
        met += product.mean.word is Word.MET
        not_met += product.mean.word is Word.NOT_MET
    assert met / count == approx(0.05, abs=0.02)
    assert not_met / count == approx(0.05, abs=0.02)


def test_predictions_cover_the_next_unit():
    rng, above, count = np.random.default_rng(9), 0, 1500
    for _ in range(count):
        values = rng.normal(100.0, 2.0, 5)
        product = together(list(values[:4]), list("abcd")).product
        above += values[4] >= product.next_unit.low
    assert above / count == approx(0.95, abs=0.02)


def test_guard_and_ends():
    verdict = judge("x", Budget(101.0, "Ah", (Contribution("u", 0.5),)), 100.0, 0.95)
    assert verdict.guard == approx(0.5 * 1.6449, rel=1e-4)  # normal quantile of 95 %
    assert (verdict.low, verdict.high) == approx((101.0 - 0.8224, 101.0 + 0.8224), abs=1e-3)
    assert verdict.word is Word.MET


def test_nonsense_is_refused():
    with pytest.raises(ParameterError, match="repeatability"):
        Repeats(-1.0)


def parts(evaluation, *items, claim=100.0):
    """Verdicts after what each log proves: (unit, (least, most), counts)."""
    found = as_proven(evaluation, items, claim)
    assert found.budget == evaluation.budget  # numbers stay
    return [unit.verdict for unit in found.units], found.together, found.product


def test_what_logs_do_not_prove_decides_nothing():
    # perfect meter and repeats: 104 Ah meet 100 Ah, of which 95 % (98.8 Ah) or 97 % are proven
    alone = together([104.0], percent=0.0)
    for least, word in ((0.95, Word.UNDECIDED), (0.97, Word.MET)):
        (verdict,), whole, _ = parts(alone, ("a", (least, 1.0), True))
        assert (verdict.word, whole.word) == (word, word)
        if word is Word.UNDECIDED:
            assert verdict.sure_Ah == approx((0.95 * 104.0, 104.0))
    poor = together([96.0], percent=0.0)
    for most, word in ((1.05, Word.UNDECIDED), (1.03, Word.NOT_MET)):  # 100.8 and 98.9 Ah
        assert parts(poor, ("a", (1.0, most), True))[1].word is word


def test_the_parts_of_tests_that_count_are_averaged():
    alone = together([104.0, 104.0], percent=0.0)
    # 0.94 and 0.98 make 0.96 (99.84 Ah); 0.96 and 0.98 make 0.97 (100.88 Ah)
    for first, word in ((0.94, Word.UNDECIDED), (0.96, Word.MET)):
        items = ("a", (first, 1.0), True), ("a", (0.98, 1.0), True), ("a", (0.1, 1.0), False)
        assert parts(alone, *items)[1].word is word
    bound = together([104.0], complete=[False], percent=0.0)  # none counts: all are looked at
    assert parts(bound, ("a", (0.95, 1.0), False))[1].word is Word.UNDECIDED
    assert parts(bound, ("a", (0.97, 1.0), False))[1].word is Word.MET


def test_units_are_proven_each_by_its_own_logs_and_together_by_their_mean():
    both = together([104.0, 106.0, 105.0, 105.0], list("abcd"), claim=101.0, percent=0.0)
    assert both.product.mean.word is Word.MET
    others = [(unit, (1.0, 1.0), True) for unit in "bcd"]
    # of a 0.93 (96.7 Ah): together 0.9825 (103.2 Ah); 0.80: together 0.95 (99.75 Ah)
    for least, word in ((0.93, Word.MET), (0.80, Word.UNDECIDED)):
        verdicts, whole, product = parts(both, ("a", (least, 1.0), True), *others, claim=101.0)
        assert [one.word for one in verdicts] == [Word.UNDECIDED, Word.MET, Word.MET, Word.MET]
        assert (whole.word, product.mean.word, product.next_unit.word) == (word, word, word)


def test_verdicts_of_a_wrong_log_are_withheld_and_its_numbers_stay():
    both = together([104.0, 106.0, 105.0, 105.0], list("abcd"), claim=101.0, percent=0.0)
    found = without_verdicts(both)
    verdicts = [
        *(unit.verdict for unit in found.units), found.together, found.product.mean,
        found.product.next_unit,
    ]  # fmt: skip
    assert [(one.word, one.spoilt) for one in verdicts] == [(Word.UNDECIDED, True)] * 7
    assert (found.budget, found.interval) == (both.budget, both.interval)
    alone = without_verdicts(together([104.0]))
    assert (alone.product, alone.together.word) == (None, Word.UNDECIDED)


def test_the_deviation_of_a_unit_is_that_of_its_repeats():
    units = together([100.0, 102.0, 110.0], ["a", "a", "b"]).units
    assert [unit.deviation_Ah for unit in units] == [approx(math.sqrt(2.0)), None]
    assert [unit.verdict.about for unit in units] == ['the unit "a"', 'the unit "b"']
