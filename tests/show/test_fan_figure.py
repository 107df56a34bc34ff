"""Bands of voltage and current over time."""

from dataclasses import replace

import made_up_studies as studies
import numpy as np
import pytest
from study_cases import SPREADS
from study_pictures import lines_of, texts

from bankSim.show.bands import averaged, switching_width
from bankSim.show.fan_figure import fan_figure
from bankSim.show.shares_figure import shares_figure
from bankSim.study.statistics import chance
from bankSim.study.traced import Traced


def test_fan_draws_the_percentiles_of_the_result():
    result = studies.spread()
    voltage, running, old, new = fan_figure(result).axes
    low, high, middle = lines_of(voltage)
    fan = result.traced.fan
    for line, place in ((low, 0), (high, 4), (middle, 2)):
        np.testing.assert_allclose(line.get_ydata(), fan.voltage_V[place])
        np.testing.assert_allclose(line.get_xdata(), fan.time_h)
    np.testing.assert_allclose(lines_of(running)[0].get_ydata(), 100.0 * fan.running)
    for axes, place in ((old, 0), (new, 1)):
        np.testing.assert_allclose(lines_of(axes)[2].get_ydata(), fan.current_A[place, 2])
    assert voltage.get_ylabel() == "bus voltage [V]"
    assert old.get_xlabel() == "time [h]"


def test_rings_stand_where_lines_end_because_draws_end():
    result = studies.spread()
    voltage = fan_figure(result).axes[0]
    fan = result.traced.fan
    ends = {
        round(float(fan.time_h[np.flatnonzero(np.isfinite(fan.voltage_V[k]))[-1]]), 6)
        for k in (0, 2, 4)
    }
    rings = {
        round(float(line.get_xdata()[0]), 6) for line in voltage.lines if line.get_marker() == "o"
    }
    assert rings == ends
    assert len(ends) == 3
    quiet = fan_figure(SPREADS["no caution"]()).axes[0]
    all_end = replace(studies.spread().traced.fan, running=np.ones(120))
    assert len(all_end.time_h) == 120
    assert [line.get_marker() for line in quiet.lines].count("o") == 3  # 16 of 20 h: all have ended
    whole_run = studies.fan(2, ending=False, span_h=20.0)
    to_the_end = fan_figure(studies.spread(traced=Traced(whole_run, ())))
    assert "o" not in [line.get_marker() for line in to_the_end.axes[0].lines]
    assert "Voltage at the bus; all draws run to the end" in texts(to_the_end)


@pytest.mark.parametrize(
    ("out_A", "into_A", "told"),
    [
        (30.0, 0.0, '"old" gives up to 30.0 A'),
        (30.0, 12.0, '"old" gives up to 30.0, takes up to 12.0 A'),
        (1.0, 12.0, '"old" takes up to 12.0 A'),
        (0.0, 0.0, '"old" rests'),
    ],
)
def test_titles_tell_the_peaks_that_averages_hide(out_A, into_A, told):
    columns = studies.table(("old",), 20)
    columns["old.peak_discharge_A"] = np.full(20, out_A)
    columns["old.peak_charge_A"] = np.full(20, into_A)
    assert told in texts(fan_figure(studies.spread(("old",), draws=20, columns=columns)))


def test_cut_outs_of_hardly_any_draw_have_no_hours():
    result = studies.spread()
    rare = replace(result.batteries[0], at_all=chance(1, 1000))
    told = texts(shares_figure(replace(result, batteries=(rare, result.batteries[1]))))
    assert "old cuts out" not in told
    assert "new cuts out" in told


def test_where_a_load_switches_often_lines_are_averages():
    result = SPREADS["duty"]()
    figure = fan_figure(result)
    line = lines_of(figure.axes[2])[2].get_ydata()
    known = line[np.isfinite(line)]
    assert np.ptp(known) < 1e-6  # 1.8 and 0.2 times 2 A by turns are 2 A on average
    assert known[0] == pytest.approx(2.0)
    assert "lines are averages over 16 min" in figure._supxlabel.get_text()
    assert "averages" not in fan_figure(studies.spread())._supxlabel.get_text()


def test_average_is_that_of_whole_periods():
    x = np.arange(200.0)
    y = np.where(x % 4 < 1, 8.0, 0.0) + x
    assert switching_width(x, [y]) is None  # a slope that hides the switching
    assert switching_width(x, [y - x]) == pytest.approx(4.0)
    mean = averaged(x, y, 4.0)
    inner = np.isfinite(mean)
    np.testing.assert_allclose((mean - x)[inner], 2.0)
    assert inner.sum() == 200 - 4


def test_no_average_reaches_across_a_dead_bus():
    x = np.arange(60.0)
    y = np.where((x >= 20) & (x < 40), 0.0, 12.0)
    mean = averaged(x, y, 6.0, apart=0.0)
    assert set(np.unique(mean[np.isfinite(mean)])) == {0.0, 12.0}
    assert np.isnan(mean[19])
    assert 0.0 < averaged(x, y, 6.0)[19] < 12.0


def test_the_clock_stands_above_where_the_scenario_tells_it():
    assert any("time of day" in text for text in texts(fan_figure(SPREADS["daily"]())))
    assert not any("time of day" in text for text in texts(fan_figure(studies.spread())))


def test_of_a_crowd_eight_have_a_panel_and_the_rest_is_counted():
    figure = fan_figure(SPREADS["crowd"]())
    assert len(figure.axes) == 2 + 8
    assert "56 batteries with less current are not drawn" in figure._supxlabel.get_text()
    assert sum(text.startswith('"battery number 64') for text in texts(figure)) == 1
