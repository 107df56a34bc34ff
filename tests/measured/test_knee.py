"""The curve under load read backwards: closed forms, published half cells, a measured cell."""

import numpy as np
import pytest
from open_data import FOLDER, needs_open_data
from pytest import approx
from scipy.optimize import brentq

from bankSim.measured.knee import Drive, loaded_voltage, state_of_charge_at, stretched
from bankSim.measured.knee_facts import chemistry_named, facts_of
from bankSim.measured.log import LogError
from bankSim.measured.snapshot import Circumstances, take_snapshot
from bankSim.model.cell import arrhenius_factor
from bankSim.model.chemistry import CHEMISTRIES
from bankSim.model.lfp import LFP


def drive(per_h=0.1, resistance=1.0, temperature_C=25.0, offset_V=0.0):
    return Drive(*(np.asarray(x, float) for x in (per_h, resistance, temperature_C, offset_V)))


def safari_rest_voltage(place):
    """Safari and Delacourt (2011), Table I, at a place in the windows of Schimpe et al. (2018)."""
    x, y = 0.0085 + place * (0.78 - 0.0085), 0.916 + place * (0.045 - 0.916)
    graphite = (
        0.6379 + 0.5416 * np.exp(-305.5309 * x) + 0.044 * np.tanh(-(x - 0.1958) / 0.1088)
        - 0.1978 * np.tanh((x - 1.0571) / 0.0854) - 0.6875 * np.tanh((x + 0.0117) / 0.0529)
        - 0.0175 * np.tanh((x - 0.5692) / 0.0875)
    )  # fmt: skip
    phosphate = (
        3.4323 - 0.8428 * np.exp(-80.2493 * (1 - y) ** 1.3198)
        - 3.2474e-6 * np.exp(20.2645 * (1 - y) ** 3.8003)
        + 3.2482e-6 * np.exp(20.2646 * (1 - y) ** 3.7995)
    )  # fmt: skip
    return phosphate - graphite


def test_charge_left_agrees_with_the_published_curve_inverted_by_scipy():
    # no current, no hysteresis shift: the distance in charge between two rest voltages
    shift = LFP.hysteresis_V
    places = [brentq(lambda p, v=v: safari_rest_voltage(p) - v, -0.0105, 0.5) for v in (2.5, 2.9)]
    width = 1.0 - brentq(lambda p: safari_rest_voltage(p) - 2.5, -0.0105, 0.5)
    z = state_of_charge_at(LFP, np.array([2.5, 2.9]) - shift, drive(per_h=0.0))
    assert np.diff(z)[0] == approx((places[1] - places[0]) / width, abs=1e-4)


@pytest.mark.parametrize("word", list(CHEMISTRIES))
@pytest.mark.parametrize("rest_s", [None, 0.0, 600.0])
def test_inversion_undoes_the_voltage(word, rest_s):
    kind = CHEMISTRIES[word]
    z = np.linspace(0.02, 0.9, 23)
    volts = loaded_voltage(kind, z, drive(0.2, 1.3, 10.0, 0.01), rest_s)
    back = state_of_charge_at(kind, volts, drive(0.2, 1.3, 10.0, 0.01), rest_s)
    assert back == approx(z, abs=1e-6)


def test_voltage_falls_by_ohms_law_with_the_current():
    # settled: I x (ohmic + both pairs) at 25 degC; 0.069, 0.029, 0.0216 ohm Ah and the rise
    # 1 + 10.6 exp(-z / 0.103) are those of the model
    z = np.array([0.5])
    drop = loaded_voltage(LFP, z, drive(0.0)) - loaded_voltage(LFP, z, drive(0.2))
    ohm_Ah = 0.069 * (1.0 + 10.6 * np.exp(-0.5 / 0.103)) + 0.029 + 0.0216
    assert drop == approx(0.2 * ohm_Ah, rel=1e-3)


def test_rest_lets_the_pairs_die_down():
    # after t the pair R, tau shows I R exp(-t / tau): closed form of one RC pair
    z, t = np.array([0.5]), 111.0
    gone = loaded_voltage(LFP, z, drive(0.2), 1e9) - loaded_voltage(LFP, z, drive(0.2), t)
    assert gone == approx(0.2 * (0.029 * np.exp(-t / 10.3) + 0.0216 * np.exp(-1.0)), rel=1e-6)


def test_drop_of_the_pairs_in_cold_and_age():
    # right after a load the pairs show I x (0.029 + 0.0216) x Arrhenius (20 kJ/mol), x the factor;
    # an offset of the curve is no drop
    z = np.array([0.5])
    arrhenius = np.exp(20e3 / 8.314462618 * (1.0 / 278.15 - 1.0 / 298.15))
    for resistance, celsius, factor in ((1.0, 5.0, arrhenius), (1.3, 25.0, 1.3)):
        under = drive(0.2, resistance, celsius, 0.01)
        drop = loaded_voltage(LFP, z, drive(0.0)) + 0.01 - loaded_voltage(LFP, z, under, 0.0)
        assert drop == approx(0.2 * 0.0506 * factor, rel=1e-6)


@pytest.mark.parametrize("celsius", [25.0, 0.0, -15.0])
def test_lead_in_the_cold_reads_its_resistance_earlier(celsius):
    # the cell of the model, 100 Ah, settled at 5 A: R0 at its head and both kinds of lag
    kind = CHEMISTRIES["AGM"]
    cell = kind.typical_cell(100.0, 360e3)
    z, kelvin = np.array([0.7]), celsius + 273.15
    warmth = arrhenius_factor(kind.activation_J_mol, kelvin)
    pairs = sum(pair.resistance_ohm for pair in cell.relaxation) * warmth
    expected = 5.0 * (cell.ohm_at(0.7, kelvin) + pairs)
    drop = loaded_voltage(kind, z, drive(0.0)) - loaded_voltage(kind, z, drive(0.05, 1.0, celsius))
    assert drop == approx(expected, rel=1e-4)


def test_what_lies_beyond_the_curve_is_put_to_its_ends():
    ends = state_of_charge_at(LFP, np.array([-99.0, 9.0]), drive())
    assert ends == approx([-0.15, 1.3], abs=1e-6)


def test_stretch_rises_everywhere_and_fades_out():
    x = np.linspace(-0.02, 0.6, 2000)
    for k in (0.1, 0.7, 1.0, 3.0):
        assert np.all(np.diff(stretched(x, np.asarray(k))) > 0.0)
        assert stretched(np.array([0.001]), np.asarray(k)) == approx(0.001 * k, rel=2e-4 + 1e-3)
        assert stretched(np.array([0.5]), np.asarray(k)) == approx(0.5, rel=1e-6)


def test_below_a_typical_cut_out_well_under_one_percent_is_left_per_100_mV():
    shot = take_snapshot((2.3,), Circumstances(100.0, limit_V=2.2, current_A=10.0))
    assert 0.0 < shot.cells[0].left_Ah.low < shot.cells[0].left_Ah.high < 1.0


# About:Energy, BPX open data, a 2 Ah cell at 25 degC, counted down to 2.0 V, in percent of 2 Ah
@pytest.mark.parametrize(
    ("current_A", "volts", "percent"),
    [(0.1, 2.5, 0.225), (0.1, 2.9, 1.69), (2.0, 2.5, 3.51), (2.0, 2.9, 9.54)],
)
def test_interval_holds_what_a_measured_cell_had_left(current_A, volts, percent):
    left = take_snapshot((volts,), Circumstances(2.0, limit_V=2.0, current_A=current_A)).cells[0]
    assert left.left_Ah.low < 0.02 * percent < left.left_Ah.high


@needs_open_data
@pytest.mark.parametrize(("name", "current_A"), [("Co20", 0.1), ("1C", 2.0)])
def test_intervals_hold_along_the_measured_knee(name, current_A):
    file = FOLDER / f"lfp_2Ah_25degC_{name}.csv"
    time, current, volts = np.loadtxt(file, delimiter=",", skiprows=1, unpack=True)
    parts = -np.diff(time) * (current[1:] + current[:-1]) / 7200.0
    left = np.concatenate([[0.0], np.cumsum(parts)])
    left = left[-1] - left
    inside = []
    for level in np.arange(2.2, 3.01, 0.1):
        at = int(np.argmax(volts < level))
        around = Circumstances(2.0, limit_V=2.0, current_A=current_A, temperature_C=25.0)
        told = take_snapshot((float(volts[at]),), around, draws=1500).cells[0].left_Ah
        inside.append(told.low <= left[at] <= told.high)
    assert np.mean(inside) >= 0.85


def test_words_of_chemistries():
    assert chemistry_named(" lfp ").word == "LFP"
    assert facts_of(chemistry_named("Gel")).has_cell_rule is False
    with pytest.raises(LogError, match="--chemistry = 'foo'; expected one of: LFP"):
        chemistry_named("foo")


def test_tables_follow_the_curves():
    z = np.linspace(-0.03, 1.0, 3333)
    still = loaded_voltage(LFP, z, drive(0.0)) + LFP.hysteresis_V
    assert still == approx(LFP.ocv_V()(z), abs=1e-4)
    ohmic = (loaded_voltage(LFP, z, drive(0.0)) - loaded_voltage(LFP, z, drive(1.0))) - 0.0506
    assert ohmic == approx(0.069 * LFP.ohmic_factor()(z), rel=1e-4)
