import numpy as np
import pytest
from pytest import approx

from bankSim.measured.count import Instrument, count
from bankSim.measured.discharge import find_discharges
from bankSim.measured.log import Written
from bankSim.measured.numerals import COMMA, Marks, decimals_of
from bankSim.measured.read import read_log
from bankSim.measured.rounding import rounding_line

# a meter that shows steps of q is off by q / 2 at most (JCGM 100:2008, F.2.2.1)


def width(values):
    return rounding_line(np.asarray(values, float), 1.0)


@pytest.mark.parametrize("loads", [(0.0, 15.0, 40.0), (0.0, 10.0, 15.0, 20.0)])
def test_set_currents_are_not_the_last_digit(loads):
    one = width(np.repeat(loads, 300))
    assert one.width == approx(0.001 * max(loads))
    assert one.assumed
    assert "only a few different readings" in one.source


def test_a_switched_load_is_not_the_last_digit_however_often_it_switches():
    one = width(np.resize([0.0, 5.0, 10.0, 5.0], 600))
    assert one.width == approx(0.01)


def test_one_reading_and_two_are_told_apart():
    assert "all readings are the same" in width(np.full(50, 10.0)).source
    assert "only a few different readings" in width(np.resize([10.0, 20.0], 50)).source


def test_many_levels_on_a_coarse_step_show_it():
    # 30 levels, 0.25 A apart, written with two decimals, on a zero that is off by 0.1 A
    one = width(np.repeat(0.1 + 0.25 * np.arange(30), 5))
    assert one.width == approx(0.125)
    assert not one.assumed


def test_a_coarse_meter_that_flickers_shows_its_step():
    one = width(np.resize([10.0, 11.0, 10.0, 9.0, 10.0, 10.0], 600))
    assert one.width == approx(0.5)


def test_decimals_show_even_with_few_levels():
    assert width(np.repeat([0.0, 14.9, 9.97], 100)).width == approx(0.005)


def test_noise_of_milliamperes_shows_milliamperes():
    rng = np.random.default_rng(0)
    noisy = np.round(np.repeat([10.0, 20.0], 300) + rng.normal(0.0, 0.005, 600), 3)
    assert width(noisy).width == approx(0.0005)


def test_readings_finer_than_any_digit_cost_nothing():
    assert width(10.0 + np.linspace(0.0, np.pi, 100)).width == 0.0


def written(values, step_A, *, whole=False):
    return rounding_line(np.asarray(values, float), 1.0, Written(step_A, whole))


def test_a_steady_current_is_rounded_to_what_is_written():
    # 1.04 A, shown as "1.0" all along: 0.1 % of it was taken
    one = written(np.full(500, 1.0), 0.1)
    assert one.width == approx(0.05)
    assert not one.assumed
    assert "decimals written" in one.source
    assert written(np.repeat([15.0, 40.0], 200), 0.1).width == approx(0.05)
    assert written(np.repeat([15.0, 40.0], 200), 0.001).width == approx(0.0005)


def test_whole_amperes_may_be_set_or_rounded():
    # several, or a round one, are set; one odd one may be any meter's
    assert written(np.repeat([15.0, 40.0], 200), 1.0, whole=True).width == approx(0.04)
    assert written(np.full(200, 10.0), 1.0, whole=True).width == approx(0.01)
    assert written(np.full(200, 7.0), 1.0, whole=True).width == approx(0.5)
    assert written(np.full(200, 5.24), 1.0, whole=True).width == approx(0.00524)  # only 0 was seen
    assert written(np.full(200, 5.0), 0.001, whole=True).width == approx(0.0005)  # 5000 mA


def test_a_coarse_step_outweighs_fine_decimals():
    flickering = np.resize([10.0, 11.0, 10.0, 9.0, 10.0, 10.0], 600)
    assert written(flickering, 0.01).width == approx(0.5)


@pytest.mark.parametrize(
    ("texts", "decimals"),
    [("0.0 1.0 -1.0", 1), ("0 1.0 1.0", 1), ("15 40 0", 0), ("5.24 5.2", None), ("1e-3 2e-3", None),
     ("1.25A 1.30A", None), ("- nan 2.50", 2), ("0 0", None), ("1 2.5", None)],
)  # fmt: skip
def test_decimals_as_written(texts, decimals):
    assert decimals_of(texts.split(), Marks()) == decimals
    comma = [text.replace(".", ",") for text in texts.split()]
    assert decimals_of(comma, Marks(COMMA)) == decimals


@pytest.mark.parametrize(
    ("head", "text", "width_A"),
    [("time_s,voltage_V,current_A", "1.0", 0.05), ("time_s,voltage_V,current_mA", "1000.0", 5e-5),
     ("time_s,voltage_V,current_mA", "1040", 5e-4)],
)  # fmt: skip
def test_a_test_widens_its_error_by_what_is_written(tmp_path, head, text, width_A):
    def row(place):
        flows = 5 <= place < 900
        return f"{360 * place},{12.8 - 0.002 * place:.3f},{text if flows else 0}"

    file = tmp_path / "steady.csv"
    file.write_text(head + "\n" + "\n".join(map(row, range(950))) + "\n")
    log = read_log(file)
    (one,) = find_discharges(log)
    counted = count(log, one, Instrument(), None)
    lines = {line.name: line for line in counted.Ah.contributions}
    assert lines["rounding of the current"].width == approx(width_A)
