"""A sign that changes half-way through a discharge is told; a real turn of the current is not."""

import numpy as np
import pytest
from measured.log_texts import falling, read

from bankSim.cli.main import main
from bankSim.measured.flipped import find_flipped
from bankSim.measured.log import WARNING

COUNT = 400
OHM, SLOPE_V = 0.008, 0.004  # of a made battery: drop a ampere, fall a sample at 20 A


def made(amps):
    """Terminal voltage of a battery with a straight curve: emf less what flows through 8 mohm."""
    return 13.4 - OHM * amps - SLOPE_V * np.cumsum(amps) / 20.0


def flipped(at):
    """20 samples of rest, then 20 A of discharge; written as charge from sample `at` on."""
    amps = np.where(np.arange(COUNT) < 20, 0.0, 20.0)
    volts = made(amps)
    written = amps.copy()
    written[at:] *= -1.0
    return written, volts


def doubted(log):
    return [one for one in log.findings if one.spoils]


def put(tmp_path, amps, volts):
    return read(
        tmp_path,
        falling("time_s,voltage_V,current_A\n",
                lambda i: f"{30 * i},{volts[i]:.2f},{amps[i]:.1f}", amps.size),
    )  # fmt: skip


@pytest.mark.parametrize("part", [0.1, 0.3, 0.5, 0.8, 0.95])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_flipped_within_a_discharge(tmp_path, part, sign):
    at = int(part * COUNT)
    amps, volts = flipped(at)
    log = put(tmp_path, sign * amps, volts)
    (found,) = doubted(log)
    assert found.severity == WARNING
    assert found.rows == (at + 2,)
    assert "goes on falling" in found.text


def test_flipped_without_any_other_step(tmp_path):
    amps, volts = flipped(200)
    assert doubted(put(tmp_path, amps[40:], volts[40:]))


@pytest.mark.parametrize("ohm_part", [0.5, 1.0, 4.0])
@pytest.mark.parametrize("amps", [2.0, 5.0, 20.0])
def test_a_real_turn_is_answered(tmp_path, ohm_part, amps):
    # A discharge that turns at once into a charge of the same size, again and again.
    course = np.repeat([0.0, amps, -amps, amps, -amps, 0.0], 60)
    volts = made(course) - (ohm_part - 1.0) * OHM * course
    assert not doubted(put(tmp_path, course, volts))


def test_a_turn_in_a_gap_of_the_log_says_nothing():
    # Discharge, hours without samples in which a charger came on, then charge at a lower voltage.
    amps = np.repeat([20.0, -20.0], 100)
    time = np.arange(200.0) * 30.0
    time[100:] += 7200.0
    volts = np.where(amps > 0.0, 12.9, 12.9) - 0.001 * np.arange(200)
    assert find_flipped(time, volts, amps) is None
    assert find_flipped(np.arange(200.0) * 30.0, volts, amps) is not None


def test_a_charge_that_fades_lets_its_voltage_fall():
    # Dusk: the charge current shrinks to a third, so the voltage falls while it is still charged.
    fade = np.concatenate([np.full(100, 10.0), np.linspace(-10.0, -3.0, 200)])
    volts = 13.0 - 0.05 * fade - 0.0001 * np.arange(300)
    assert find_flipped(np.arange(300.0) * 60.0, volts, fade) is None


def test_no_verdict_on_it(tmp_path, capsys):
    amps, volts = flipped(200)
    volts[-5:] -= np.linspace(0.3, 2.0, 5)
    text = falling("time_s,voltage_V,current_A\n",
                   lambda i: f"{60 * i},{volts[i]:.2f},{amps[i]:.1f}", amps.size)  # fmt: skip
    file = tmp_path / "turned.csv"
    file.write_text(text)
    assert main(["test", str(file), "--rated-Ah", "120", "--json", "-"]) == 0
    told = capsys.readouterr().out
    assert "not met" not in told
    assert main(["test", str(file), "--rated-Ah", "120", "--no-plots",
                 "--out", str(tmp_path / "out")]) == 0  # fmt: skip
    first = " ".join(capsys.readouterr().out.split("Each test")[0].split())
    assert first.index("Beware") < first.index("gave")
    assert "cannot be decided" in first
    assert "not met" not in first


def relaxing(rng):
    """A made bank of a pair of resistors and a capacitor, whose current really turns at once."""
    step_s, hours_Ah = float(rng.choice([5, 30, 60])), float(rng.choice([50, 100, 280]))
    size = hours_Ah * float(rng.choice([0.05, 0.2, 0.5]))
    amps = np.round(np.repeat(rng.choice([-1.0, 1.0, 0.0, 0.5], 20), 20) * size, 1)
    ohm, keeps = rng.uniform(0.8, 4.0) / hours_Ah, np.exp(-step_s / rng.uniform(10, 600))
    slow = np.zeros_like(amps)
    for k in range(1, amps.size):
        slow[k] = keeps * slow[k - 1] + (1.0 - keeps) * ohm * amps[k]
    rest = 13.2 - 0.5 * np.cumsum(amps) * step_s / 3600.0 / hours_Ah
    volts = rest - ohm * amps - slow + rng.normal(0.0, 0.003, amps.size)
    return np.arange(amps.size) * step_s, np.round(volts, 2), amps


def test_real_turns_with_noise_and_relaxation_are_no_slips():
    rng = np.random.default_rng(3)
    assert [k for k in range(200) if find_flipped(*relaxing(rng)) is not None] == []
