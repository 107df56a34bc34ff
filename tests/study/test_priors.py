"""What is drawn has the distribution that is stated, correlations and pinned cells included."""

import math

import numpy as np
import pytest
from pytest import approx
from scipy import stats
from study_texts import AGM, BARE, LFP, LOAD, read

from bankSim.model.spread import Shape, Spread
from bankSim.study.draws import columns_of, drawn_values
from bankSim.study.fields import Field, base_columns
from bankSim.study.find_unknowns import find_unknowns
from bankSim.study.priors import between, cell_priors, factor, offset
from bankSim.study.uniforms import uniforms
from bankSim.study.unknown import Kind

DRAWS = 4000
# Kolmogorov-Smirnov on some 90 columns: the smallest of as many is below this once in 100 times
LEAST_CHANCE = 1e-4


def normal(value, sd, low=-math.inf, high=math.inf):
    return stats.truncnorm((low - value) / sd, (high - value) / sd, loc=value, scale=sd)


def within_4_sd(value, sd):
    return normal(value, sd, value - 4 * sd, value + 4 * sd)


def log(sd):
    return stats.lognorm(s=sd)


def triangle(low, peak, high):
    return stats.triang(c=(peak - low) / (high - low), loc=low, scale=high - low)


# by the words before the name; the numbers are choices, their reasons stand beside the priors
STATED = {
    "capacity": within_4_sd(1.0, 0.03),
    "resistance": log(0.10),
    "capacity of cell": within_4_sd(1.0, 0.01),
    "resistance of cell": log(0.03),
    "state of charge at the start": triangle(0.98, 1.0, 1.0),
    "charge of cell": within_4_sd(0.0, 0.01),
    "internal resistance of switches and straps": log(0.30),
    "relaxation": log(0.30),
    "hysteresis": triangle(0.8, 1.0, 1.7),
    "self-discharge": triangle(0.5, 1.0, 1.5),
    "diode drop": within_4_sd(0.0, 0.05),
    "how resistance follows the temperature": triangle(0.75, 1.0, 1.25),
    "how it warms up": log(0.30),
    "lowest cell voltage limit (below)": within_4_sd(0.0, 0.10),
    "highest cell voltage limit (above)": within_4_sd(0.0, 0.05),
    "discharge current limit (above)": log(0.20),
    "temperature limit (below)": within_4_sd(0.0, 2.5),
    "temperature limit (above)": within_4_sd(0.0, 2.5),
    "delays of the rules": log(0.30),
    "part of the charge at hand at once": within_4_sd(1.0, 0.05),
    "rate at which bound charge follows": log(0.20),
    "lead": log(0.20),
    "links": log(0.20),
    "main cable": log(0.20),
    "temperature of the surroundings": within_4_sd(0.0, 5.0),
    "power of load": within_4_sd(1.0, 0.05),
}
LEAD_ACID = {"capacity": within_4_sd(1.0, 0.04), "resistance": log(0.08)}
AGED = {"capacity of cell": within_4_sd(1.0, 0.03), "resistance of cell": log(0.10)}


def words_of(unknown):
    """The words of a label, without names and numbers of cells."""
    words = unknown.label.removesuffix(f' of "{unknown.subject}"')
    words = words.removesuffix(f' "{unknown.subject}"')
    return words.rstrip("0123456789 ") if " of cell " in words else words


def drawn(text, folder, draws=DRAWS):
    """The unknowns of a scenario and draws of them."""
    unknowns = find_unknowns(read(text, folder))
    chances = uniforms([unknown.label for unknown in unknowns], 1, 0, draws)
    return unknowns, drawn_values(unknowns, chances)


def assert_stated(values, exact, label):
    low, high = exact.support()
    assert low <= values.min() <= values.max() <= high, label
    assert stats.kstest(values, exact.cdf).pvalue > LEAST_CHANCE, label
    # standard deviation within 5 standard errors, as far as the distribution is near a normal one
    assert values.std() == approx(exact.std(), rel=5.0 / math.sqrt(2 * DRAWS) * 1.3), label


WIRED = """
[wiring]
layout = "same end"
link = { length_m = 0.4, area_mm2 = 35 }
main = { length_m = 1.0, area_mm2 = 50 }
"""


def test_every_prior_has_the_stated_distribution(tmp_path):
    unknowns, values = drawn(WIRED + LFP + AGM + BARE + LOAD, tmp_path)
    for number, unknown in enumerate(unknowns):
        own = LEAD_ACID if unknown.subject == "lead" else {}
        words = words_of(unknown)
        assert_stated(values[:, number], {**STATED, **own}[words], unknown.label)
    assert {words_of(unknown) for unknown in unknowns} == set(STATED)


# (capacity_fraction, sd of the cells' capacities, of their resistances): a straight line between
# new ones at 1.00 and aged ones at 0.90
AGES = [(1.2, 0.01, 0.03), (1.0, 0.01, 0.03), (0.975, 0.015, 0.0475), (0.95, 0.02, 0.065),
        (0.9, 0.03, 0.10), (0.6, 0.03, 0.10)]  # fmt: skip


@pytest.mark.parametrize(("fraction", "capacity", "resistance"), AGES)
def test_cells_of_an_aged_battery_differ_more(fraction, capacity, resistance, tmp_path):
    unknowns, values = drawn(f"{LFP}capacity_fraction = {fraction}\n", tmp_path)
    for number, unknown in enumerate(unknowns):
        if unknown.kind is Kind.CELL_RESISTANCE:
            assert_stated(values[:, number], log(resistance), unknown.label)
        if unknown.kind is Kind.CELL_CAPACITY:
            free = unknown.spread.at(uniforms((unknown.label,), 1, 0, DRAWS)).ravel()
            assert_stated(free, within_4_sd(1.0, capacity), unknown.label)
            assert f"{100 * capacity:g} %" in unknown.source


# One more percent of capacity never changes the spread of the cells by more than a tenth of the
# way from new to aged: no cliff.
def test_the_spread_of_cells_has_no_cliff():
    fractions = np.linspace(0.85, 1.05, 21)
    for place, (new, aged) in enumerate([(0.01, 0.03), (0.03, 0.10)]):
        sds = [cell_priors(float(one))[place].spread.sd for one in fractions]
        assert np.all(np.diff(sds) <= 0.0)
        assert np.abs(np.diff(sds)).max() == approx(0.1 * (aged - new))
        assert cell_priors(None)[place].spread.sd == new


def scores(values, exact):
    """The standard normal numbers behind drawn values."""
    return stats.norm.ppf(np.clip(exact.cdf(values), 1e-12, 1.0 - 1e-12))


def column(unknowns, label):
    return next(number for number, one in enumerate(unknowns) if one.label == label)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ('capacity of "lithium"', 'resistance of "lithium"'),
        ('capacity of "lead"', 'resistance of "lead"'),
        ('capacity of cell 3 of "lithium"', 'resistance of cell 3 of "lithium"'),
        ('capacity of cell 6 of "lead"', 'resistance of cell 6 of "lead"'),
    ],
)
def test_weak_cells_resist_more(one, other, tmp_path):
    unknowns, values = drawn(LFP + AGM, tmp_path)
    pair = []
    for label in (one, other):
        number = column(unknowns, label)
        own = LEAD_ACID if unknowns[number].subject == "lead" else {}
        pair.append(scores(values[:, number], {**STATED, **own}[words_of(unknowns[number])]))
    found = np.corrcoef(pair)[0, 1]
    # standard error of a correlation of normal numbers: (1 - rho^2) / sqrt n
    assert found == approx(-0.5, abs=4.0 * 0.75 / math.sqrt(DRAWS))


def test_nothing_else_is_correlated(tmp_path):
    unknowns, values = drawn(LFP + LOAD, tmp_path)
    ranks = stats.rankdata(values, axis=0)
    together = np.corrcoef(ranks.T)
    followed = {(column(unknowns, one.follows), n) for n, one in enumerate(unknowns) if one.follows}
    assert len(followed) == 5
    for i in range(len(unknowns)):
        for j in range(i + 1, len(unknowns)):
            if (i, j) not in followed:
                assert abs(together[i, j]) < 5.0 / math.sqrt(DRAWS), (i, j)


def test_the_weakest_cell_has_what_is_written(tmp_path):
    unknowns, values = drawn(LFP + "capacity_fraction = 0.8\n", tmp_path)
    cells = [n for n, one in enumerate(unknowns) if one.kind is Kind.CELL_CAPACITY]
    assert len(cells) == 4
    assert all(unknowns[number].pinned for number in cells)
    assert (values[:, cells].min(axis=1) == 1.0).all()
    bank = read(LFP + "capacity_fraction = 0.8\n", tmp_path).bank
    charge = columns_of(bank, unknowns, values)[Field.CHARGE]
    assert charge.min(axis=1) == approx(np.full(DRAWS, 80.0 * 3600.0), rel=1e-15)
    # the others hold more by the range of four normal cells of 3 %: 2.059 sd (order statistics,
    # E[range] = 2 x 1.029), less a little for the division
    assert charge.max(axis=1).mean() / charge.min() - 1.0 == approx(2.059 * 0.03, rel=0.06)


def test_batteries_are_pinned_for_themselves(tmp_path):
    aged = "capacity_fraction = 0.8\n"
    unknowns, values = drawn(LFP + aged + LFP.replace("lithium", "second") + aged, tmp_path)
    for name in ("lithium", "second"):
        own = [n for n, one in enumerate(unknowns) if one.pinned and one.subject == name]
        assert (values[:, own].min(axis=1) == 1.0).all()


def test_without_a_written_fraction_no_cell_is_pinned(tmp_path):
    unknowns, values = drawn(LFP, tmp_path, 50)
    assert not any(unknown.pinned for unknown in unknowns)
    cells = [n for n, one in enumerate(unknowns) if one.kind is Kind.CELL_CAPACITY]
    assert (values[:, cells].min(axis=1) != 1.0).all()


def only(unknowns, label, value):
    """Central values of all unknowns but one."""
    values = np.array([[unknown.spread.value for unknown in unknowns]])
    values[0, column(unknowns, label)] = value
    return values


# (unknown, value, field, what the numbers of battery "lithium" become)
ACTS = [
    ('capacity of "lithium"', 1.1, Field.CHARGE, lambda own: own * 1.1),
    ('capacity of "lithium"', 1.1, Field.STANDING, lambda own: own * 1.1),
    ('resistance of "lithium"', 1.3, Field.OHMIC, lambda own: own * 1.3),
    ('resistance of "lithium"', 1.3, Field.PAIR_OHM, lambda own: own * 1.3),
    ('resistance of "lithium"', 1.3, Field.LAG, lambda own: own * 1.3),
    ('capacity of cell 2 of "lithium"', 0.9, Field.CHARGE, lambda own: own * [1, 0.9, 1, 1]),
    ('resistance of cell 2 of "lithium"', 1.2, Field.OHMIC, lambda own: own * [1, 1.2, 1, 1]),
    ('resistance of cell 2 of "lithium"', 1.2, Field.LAG, lambda own: own * [1, 1.2, 1, 1]),
    ('state of charge at the start of "lithium"', 0.98, Field.SOC, lambda own: own * 0.98),
    ('charge of cell 4 of "lithium"', -0.02, Field.SOC, lambda own: own - [0, 0, 0, 0.02]),
    ('charge of cell 4 of "lithium"', 0.02, Field.SOC, lambda own: own),  # full stays full
    ('internal resistance of switches and straps of "lithium"', 2.0, Field.INTERNAL,
     lambda own: own * 2.0),
    ('relaxation of "lithium"', 0.5, Field.PAIR_TIME, lambda own: own * 0.5),
    ('hysteresis of "lithium"', 1.5, Field.HYSTERESIS, lambda own: own * 1.5),
    ('self-discharge of "lithium"', 0.6, Field.STANDING, lambda own: own * 0.6),
    ('diode drop of "lithium"', 0.1, Field.DROP, lambda own: own + 0.1),
    ('how resistance follows the temperature of "lithium"', 1.2, Field.ACTIVATION,
     lambda own: own * 1.2),
    ('how it warms up of "lithium"', 1.4, Field.HEAT_LOSS, lambda own: own * 1.4),
    ('delays of the rules of "lithium"', 2.0, Field.DELAY, lambda own: own * 2.0),
    ('delays of the rules of "lithium"', 2.0, Field.LET_GO_DELAY, lambda own: own * 2.0),
    ('lowest cell voltage limit (below) of "lithium"', -0.2, Field.THRESHOLD,
     lambda own: own - [0.2, 0, 0, 0, 0]),
    ('lowest cell voltage limit (below) of "lithium"', -0.2, Field.LET_GO,
     lambda own: own - [0.2, 0, 0, 0, 0]),
    ('discharge current limit (above) of "lithium"', 0.8, Field.THRESHOLD,
     lambda own: own * [1, 1, 0.8, 1, 1]),
    ('discharge current limit (above) of "lithium"', 0.8, Field.LET_GO,
     lambda own: own * [1, 1, 0.8, 1, 1]),
    ('lead of "lithium"', 1.5, Field.LEAD, lambda own: own * 1.5),
]  # fmt: skip


@pytest.mark.parametrize(("label", "value", "field", "become"), ACTS, ids=[
    f"{row[0][:30]} {row[2].name}" for row in ACTS])  # fmt: skip
def test_what_a_drawn_value_does(label, value, field, become, tmp_path):
    bank = read(LFP + AGM, tmp_path)
    unknowns = find_unknowns(bank)
    column_ = columns_of(bank.bank, unknowns, only(unknowns, label, value))[field][0]
    own = base_columns(bank.bank)[field][0]
    count = len(become(own[: SIZE[field]]))
    assert column_[:count] == approx(become(own[:count]), rel=1e-14)
    assert column_[count:].tolist() == own[count:].tolist(), "the other battery stays"


PER_CELL = (Field.LAG, Field.CHARGE, Field.STANDING, Field.OHMIC, Field.SOC, Field.HYSTERESIS)
SIZE = {
    **dict.fromkeys(Field, 1), **dict.fromkeys(PER_CELL, 4), Field.PAIR_OHM: 12,
    Field.PAIR_TIME: 12,
    **dict.fromkeys((Field.THRESHOLD, Field.DELAY, Field.LET_GO, Field.LET_GO_DELAY), 5),
}  # fmt: skip


def test_a_typical_factor_is_cut_at_four_standard_deviations_and_above_nothing():
    some = factor(0.1, "seen").spread
    assert (some.shape, some.value, some.sd) == (Shape.NORMAL, 1.0, 0.1)
    assert (some.low, some.high) == approx((0.6, 1.4))
    wide = factor(0.3, "seen").spread  # 1 - 1.2 would be less than nothing
    assert (wide.low, wide.high) == approx((0.05, 2.2))
    ratio = factor(0.3, "seen", log=True).spread
    assert (ratio.shape, ratio.value, ratio.sd) == (Shape.LOGNORMAL, 1.0, 0.3)
    assert (ratio.low, ratio.high) == (0.0, math.inf)


def test_a_typical_offset_and_a_typical_triangle():
    some = offset(2.5, "seen")
    assert some.spread == Spread(Shape.NORMAL, 0.0, 2.5, -10.0, 10.0)
    assert some.source == "seen"
    assert between(0.8, 1.0, 1.7, "seen").spread == Spread(Shape.TRIANGULAR, 1.0, 0.0, 0.8, 1.7)


@pytest.mark.parametrize(
    ("left", "words"),
    [
        (None, ("new cells, 1 %: ", "new cells, 3 %: ")),
        (1.0, ("new cells, 1 %: ", "new cells, 3 %: ")),
        (0.95, ("between new and aged, 2 %: ", "between new and aged, 6.5 %: ")),
        (0.9, ("aged cells, 3 %: ", "aged cells, 10 %: ")),
    ],
)
def test_a_spread_of_cells_says_for_which_age_it_is(left, words):
    for prior, start in zip(cell_priors(left), words, strict=True):
        assert prior.source.startswith(start)
