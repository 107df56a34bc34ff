"""Direction of current told in a second column, in words, or not at all; truth known by making."""

import numpy as np
import pytest
from measured.log_texts import falling, meanings, read, told

from bankSim.measured.direction_words import direction_of, state_of
from bankSim.measured.log import DISCHARGE_POSITIVE, WARNING

# 20 samples of rest, 100 of 10 A discharge, 20 of rest, 60 of 5 A charge; one a minute.
AMPS = np.repeat([0.0, 10.0, 0.0, -5.0], [20, 100, 20, 60])
VOLTS = 13.0 - 0.02 * AMPS - 0.002 * np.cumsum(AMPS)
COUNT = AMPS.size
# Closed form by trapezoids: 100 min of 10 A less 59.5 min of 5 A.
GIVEN_AH = (100 * 10.0 - 59.5 * 5.0) / 60.0


def separate(i):
    return f"{60 * i},{VOLTS[i]:.3f},{max(-AMPS[i], 0)},{max(AMPS[i], 0)}"


@pytest.mark.parametrize(
    "head",
    ["Time [s],Voltage [V],Charge current [A],Discharge current [A]",
     "Zeit [s],Spannung [V],Ladestrom [A],Entladestrom [A]",
     "time_s,V,I_chg (A),I_dchg (A)",
     "Time [s],V,I+ [A],I- [A]", "Time [s],V,Current in (A),Current out (A)",
     "Temps [s],Tension [V],Courant de charge [A],Courant de décharge [A]"],
)  # fmt: skip
def test_two_columns_of_current(tmp_path, head):
    log = read(tmp_path, falling(head + "\n", separate, COUNT))
    assert log.current_A == pytest.approx(AMPS, abs=1e-9)
    assert log.counted_Ah()[-1] == pytest.approx(GIVEN_AH, rel=1e-9)
    assert "Two columns of current" in told(log)
    assert "may be" not in told(log)
    assert {"charge current", "discharge current"} <= set(meanings(log))
    assert log.sign == DISCHARGE_POSITIVE


def test_two_columns_one_of_them_blank_or_negative(tmp_path):
    def row(i):
        into, out = (f"{-AMPS[i]}", "") if AMPS[i] < 0 else ("", f"{-AMPS[i]}")
        return f"{60 * i},{VOLTS[i]:.3f},{into},{out}"

    log = read(tmp_path, falling("Time [s],V,Charging A,Discharging A\n", row, COUNT))
    assert log.current_A == pytest.approx(AMPS, abs=1e-9)


def test_a_current_with_sign_is_kept_beside_limits(tmp_path):
    def row(i):
        return f"{60 * i},{VOLTS[i]:.3f},{-AMPS[i]},50,100"

    head = "Time [s],V,Current [A],Charge current limit [A],Discharge current limit [A]\n"
    log = read(tmp_path, falling(head, row, COUNT))
    assert log.current_A == pytest.approx(AMPS, abs=1e-9)
    assert meanings(log)["current"] == "Current [A]"


@pytest.mark.parametrize(
    ("out", "into", "rest"),
    [("D", "C", "-"), ("discharge", "charge", "rest"), ("CC_Dchg", "CCCV_Chg", "Rest"),
     ("DCH", "CHG", "PAU"), ("Entladen", "Laden", "Pause"), ("Discharging", "Charging", "Idle"),
     ("décharge", "charge", ""), ("descarga", "carga", "reposo")],
)  # fmt: skip
@pytest.mark.parametrize("minus", ["", "-"])
def test_words_beside_the_current(tmp_path, out, into, rest, minus):
    def row(i):
        word = out if AMPS[i] > 0 else into if AMPS[i] < 0 else rest
        return f"{60 * i};{word};{VOLTS[i]:.3f};{minus}{abs(AMPS[i])}"

    log = read(tmp_path, falling("Time [s];State;Voltage;Current\n", row, COUNT))
    assert log.current_A == pytest.approx(AMPS, abs=1e-9)
    assert 'column "State" tells its direction: 100 rows discharge, 60 rows charge' in told(log)
    assert meanings(log)["direction"] == "State"
    assert "State" in log.sign_reason
    assert all(one.severity != WARNING for one in log.findings)


def test_words_beside_a_current_with_sign_change_nothing(tmp_path):
    def row(i):
        word = "D" if AMPS[i] > 0 else "C" if AMPS[i] < 0 else "R"
        return f"{60 * i};{word};{VOLTS[i]:.3f};{-AMPS[i]}"

    log = read(tmp_path, falling("Time [s];State;Voltage;Current\n", row, COUNT))
    assert log.current_A == pytest.approx(AMPS, abs=1e-9)
    assert "tells its direction" not in told(log)


@pytest.mark.parametrize("charge_first", [False, True])
@pytest.mark.parametrize("minus", ["", "-"])
@pytest.mark.parametrize("noise", [0.0, 0.005])
def test_a_current_without_sign_is_warned_of(tmp_path, charge_first, minus, noise):
    amps = AMPS[::-1] if charge_first else AMPS
    rng = np.random.default_rng(3)
    volts = 13.0 - 0.02 * amps - 0.002 * np.cumsum(amps) + noise * rng.standard_normal(COUNT)

    def row(i):
        return f"{60 * i},{volts[i]:.3f},{minus}{abs(amps[i])}"

    log = read(tmp_path, falling("Time [s],V,A\n", row, COUNT))
    warned = [one for one in log.findings if "cannot be told apart" in one.text]
    assert [one.severity for one in warned] == [WARNING]
    other = (82, 181) if charge_first else (142, 201)
    assert warned[0].rows == other
    # All of it counts as what comes first.
    assert (log.counted_Ah()[-1] > 0.0) == (not charge_first)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_discharge_in_steps_is_not_warned_of(tmp_path, way):
    # Relaxation after each step down lifts the voltage a little while current flows.
    amps = np.repeat([0.0, 30.0, 5.0, 20.0, 2.0, 10.0], 40)
    lag = np.zeros(amps.size)
    for i in range(1, amps.size):
        lag[i] = lag[i - 1] + (0.01 * amps[i] - lag[i - 1]) / 8.0
    volts = 13.0 - 0.005 * amps - lag - 0.0003 * np.cumsum(amps)

    def row(i):
        return f"{60 * i},{volts[i]:.3f},{way * amps[i]}"

    log = read(tmp_path, falling("Time [s],V,A\n", row, amps.size))
    assert "cannot be told apart" not in told(log)
    assert log.current_A == pytest.approx(amps, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "way"),
    [("CC_DChg", 1), ("Discharge", 1), ("hold charge", -1), ("Rest", 0), ("Scarica", 1),
     ("Carica", -1), ("Entladung", 1), ("Ladung", -1), ("Bulk", -1), ("idle", 0), ("", 0)],
)  # fmt: skip
def test_words_of_direction(text, way):
    assert direction_of(text) == way


@pytest.mark.parametrize(
    ("text", "way"),
    [("Not charging", 0), ("charging stopped", 0), ("Kein Laden", 0), ("not discharging", 0),
     ("Discharge off", 0), ("sin carga", 0), ("Charging", -1), ("Charge no. 3", -1),
     ("Discharge No 12", 1), ("Ładowanie", -1), ("Rozładowanie", 1), ("Opladning", -1),
     ("in", -1), ("OUT", 1), ("plug in", 0), ("Afladning", 1),
     ("Urladdning", 1), ("vybíjení", 1), ("nabíjení", -1), ("lataus", -1)],
)  # fmt: skip
def test_states(text, way):
    assert state_of(text) == way


def test_not_charging_is_no_charge(tmp_path):
    # 30 rows in which the load draws, then 30 of charge, a minute each, without sign
    def row(i):
        volts = 12.8 - 0.01 * i if i < 30 else 12.8 + 0.01 * (i - 30)
        return (
            f"{60 * i},{volts:.2f},{5 if i < 30 else 2},{'Not charging' if i < 30 else 'Charging'}"
        )

    log = read(tmp_path, falling("Time (s),Voltage (V),Current (A),State\n", row, 60))
    assert log.current_A.tolist() == [5.0] * 30 + [-2.0] * 30
    warned = [one for one in log.findings if one.severity == WARNING]
    assert [one.count for one in warned] == [30]
    assert "30 rows (2, 3, 4, 5, 6, 7, 8, 9...) hold a current" in warned[0].text
    assert warned[0].text.endswith('column "State" names no direction; taken as discharge.')


@pytest.mark.parametrize(
    ("heads", "told_of"),
    [
        (("Charger current (A)", "Load current (A)"),
         'The current of the battery itself was not found: "Load current (A)" was taken, and '
         '"Charger current (A)" not counted; --current chooses another.'),
        (("Solar current (A)", "Battery current (A)"), ""),
        (("Temperature (degC)", "Load current (A)"), ""),
        # two directions: both are counted
        (("Charger in current (A)", "Load out current (A)"), ""),
    ],
)  # fmt: skip
def test_a_current_of_something_else_is_told(tmp_path, heads, told_of):
    head = f"Time (s),Voltage (V),{','.join(heads)}"
    log = read(tmp_path, falling(head + "\n", separate, COUNT))
    text = told(log)
    assert ("battery itself was not found" in text) is bool(told_of)
    assert told_of in text
