import numpy as np
import pytest

from bankSim.show.thin import means, switchings, thin


def test_short_lines_stay_as_they_are():
    x = np.arange(100.0)
    assert thin(x, x)[0] is x


def test_long_lines_keep_their_ends_and_a_lone_peak():
    x = np.arange(100_000.0)
    y = np.zeros_like(x)
    y[54_321] = 7.0
    y[77_777] = -3.0
    short_x, short_y = thin(x, y)
    assert short_x.size <= 4 * 1200
    assert (short_x[0], short_x[-1]) == (0.0, 99_999.0)
    assert (short_y.max(), short_y.min()) == (7.0, -3.0)
    assert np.all(np.diff(short_x) > 0)


def test_means_of_a_half_on_duty_are_half():
    # 1 h on at 10 A, 1 h off, 45 times: every 2 h stretch averages 5 A; jumps are repeated times
    edges = np.repeat(np.arange(91.0), 2)[1:-1]
    y = np.repeat(np.where(np.arange(90) % 2 == 0, 10.0, 0.0), 2)
    middle, mean = means(edges, y, count=45)
    assert middle[0] == pytest.approx(1.0)
    assert mean == pytest.approx(np.full(45, 5.0))
    assert switchings(y) == 89


def test_a_smooth_line_does_not_count_as_switching():
    assert switchings(np.sin(np.linspace(0.0, 20.0, 2000))) == 0
    assert switchings(np.zeros(5)) == 0
