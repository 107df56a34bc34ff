"""Windows and duty cycles at the limits of what is allowed."""

import pytest
from scenario_texts import LFP, faults_of, read

LOAD = LFP + "[[load]]\ncurrent_A = 5.0\n"
CHARGER = LFP + "[[charger]]\nlimit_A = 5.0\nhold_V = 14.0\n"


@pytest.mark.parametrize("what", [LOAD, CHARGER])
@pytest.mark.parametrize(
    ("windows", "refused"),
    [
        ("[[0, 0.5]]", None), ("[[0, 5], [5, 9]]", None), ("[[2, 5], [7, 9]]", None),
        ("[[2, 2]]", "active_h[1] = [2.0, 2.0]; expected [from, to] with from before to"),
        ("[[3, 2]]", "active_h[1] = [3.0, 2.0]; expected [from, to] with from before to"),
        ("[[2, 5], [4.9, 9]]", "active_h[2] = [4.9, 9.0]; expected a start at 5 h or later, in"),
        ("[[7, 9], [2, 5]]", "active_h[2] = [2.0, 5.0]; expected a start at 9 h or later, in"),
        # the third is held against the latest end, not against the one before it
        ("[[0, 9], [10, 20], [15, 30]]", "active_h[3] = [15.0, 30.0]; expected a start at 20 h"),
    ],
)  # fmt: skip
def test_windows_since_the_start(what, windows, refused, tmp_path):
    text = f"{what}active_h = {windows}\n"
    if refused is None:
        bank = read(text, tmp_path).bank
        (one,) = bank.loads or bank.chargers
        assert len(one.schedule.active_s) == windows.count("[") - 1
    else:
        (line,) = faults_of(text, tmp_path)
        assert refused in line


@pytest.mark.parametrize(
    ("begin", "end", "fine"),
    [("06:00", "06:00", False), ("06:00", "06:01", True), ("00:00", "24:00", True),
     ("22:00", "00:00", True), ("00:00", "00:00", False)],
)  # fmt: skip
def test_windows_on_the_clock(begin, end, fine, tmp_path):
    text = f'{LOAD}daily = [{{ from = "{begin}", to = "{end}" }}]\n'
    if fine:
        assert read(text, tmp_path).bank.loads[0].schedule.daily_s is not None
    else:
        (line,) = faults_of(text, tmp_path)
        assert "load[1].daily[1]: from and to are equal; expected two times" in line


@pytest.mark.parametrize(("on_min", "count"), [(0.02, None), (0.0199, "1e+06")])
def test_a_duty_switches_at_most_a_million_times(on_min, count, tmp_path):
    # 500 h of 0.06 min are 500,000 periods, each of two switchings
    text = f"{LOAD}duty = {{ on_min = {on_min}, off_min = 0.04 }}\n"
    text += "[simulation]\nduration_h = 500\noutput_every_s = 60\n"
    if count is None:
        assert read(text, tmp_path).bank.loads[0].schedule.duty_s is not None
    else:
        (line,) = faults_of(text, tmp_path)
        assert f"load[1].duty would switch {count} times in 500 h; expected at most 1000000" in line
