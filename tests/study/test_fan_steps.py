import made_up_trace
import numpy as np

from bankSim.sim.result import Caution
from bankSim.study.traced import MOST_POINTS, _chances, _fan, _in_steps, coarser


def caution(topic, severity):
    return Caution(topic, severity, 1.0, 2.0, "A", f"{topic} as {severity}")


def test_a_draw_counts_for_the_gravest_of_a_topic():
    raised = [
        (caution("label", "warning"), caution("label", "danger"), caution("fuse", "note")),
        (caution("label", "warning"), caution("label", "warning")),
        (caution("label", "warning"),),
        (),
    ]
    found = _chances(raised)
    told = [(one.topic, one.severity, round(4 * one.chance.value), one.draw) for one in found]
    assert told == [("label", "danger", 1, 0), ("label", "warning", 2, 1), ("fuse", "note", 1, 0)]
    assert found[0].example.text == "label as danger"


def test_a_load_counts_by_the_part_of_a_step_that_it_is_on():
    # on for the first quarter of every step: 8 A there and 0 A else are 2 A on average
    result = made_up_trace.switching(period_s=60.0, part=0.25, current_A=8.0, end_s=600.0)
    found = _in_steps(result, np.arange(0.0, 601.0, 60.0))
    np.testing.assert_allclose(found[1], 2.0)
    np.testing.assert_allclose(found[0], 12.0)


def test_steps_after_the_end_are_none_and_the_last_one_counts_what_ran():
    result = made_up_trace.switching(period_s=60.0, part=0.5, current_A=8.0, end_s=90.0)
    found = _in_steps(result, np.arange(0.0, 301.0, 60.0))
    np.testing.assert_allclose(found[1][:2], [4.0, 8.0])  # the last one ends with the load on
    assert np.isnan(found[:, 2:]).all()


def test_the_voltage_is_that_of_the_live_bus():
    result = made_up_trace.dark(from_s=90.0, end_s=240.0)
    found = _in_steps(result, np.arange(0.0, 241.0, 60.0))
    np.testing.assert_allclose(found[0], [12.0, 12.0, 0.0, 0.0])


def test_steps_are_joined_until_few_enough_are_left():
    count = 3 * MOST_POINTS - 5
    columns = np.full((2, 2, 4 * MOST_POINTS), np.nan)
    columns[0, :, :count] = np.arange(count)
    columns[1, :, : count // 2] = 7.0
    means, edges_s = coarser(columns, 60.0 * np.arange(4 * MOST_POINTS + 1.0))
    assert means.shape == (2, 2, MOST_POINTS - 1)
    assert edges_s[1] == 180.0
    np.testing.assert_allclose(means[0, 0, :3], [1.0, 4.0, 7.0])
    assert np.isnan(means[1, 0, -1])
    assert np.nanmax(means[1]) == 7.0


def test_lines_stop_where_that_part_of_the_draws_has_ended():
    columns = np.full((10, 2, 6), 12.0)
    columns[:4, :, 3:] = np.nan  # four of ten end after three steps
    fan = _fan(columns, 3600.0 * np.arange(7.0))
    np.testing.assert_allclose(fan.time_h, [0.5, 1.5, 2.5, 3.5, 4.5, 5.5])
    np.testing.assert_allclose(fan.running, [1.0, 1.0, 1.0, 0.6, 0.6, 0.6])
    assert np.isnan(fan.voltage_V[0, 3:]).all()
    np.testing.assert_allclose(fan.voltage_V[2], 12.0)
    np.testing.assert_allclose(fan.current_A[0, 2], 12.0)
