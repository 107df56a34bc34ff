import hybrids
import pytest

from bankSim.model.charger import Sun
from bankSim.show.headline import headline
from bankSim.show.stops import charger_to_come
from bankSim.sim.result import EMPTY

HOUR_S = hybrids.HOUR_S


@pytest.mark.parametrize(
    ("window_s", "told"),
    [
        ((5 * HOUR_S, 6 * HOUR_S), 'the charger "mains" comes after 5.00 h (11:00); stop = "end"'),
        ((0.0, 6 * HOUR_S), 'the charger "mains" is on; stop = "end" would follow it.'),
    ],
)
def test_a_stop_before_a_charger_is_told(window_s, told):
    result = hybrids.stops_before(window_s)
    assert result.end_reason == EMPTY
    assert told in " ".join(headline(result))


def test_sunrise_is_a_charger_that_comes():
    result = hybrids.stops_before((0.0, 9 * HOUR_S), Sun(100.0, 9 * HOUR_S, 18 * HOUR_S))
    assert "comes after 3.00 h (09:00)" in " ".join(charger_to_come(result))


@pytest.mark.parametrize("window_s", [(0.0, 60.0), (20 * HOUR_S, 21 * HOUR_S)])
def test_a_charger_that_is_over_or_beyond_the_end_is_not_told(window_s):
    assert charger_to_come(hybrids.stops_before(window_s)) == []


def test_a_run_to_its_end_tells_no_stop():
    assert charger_to_come(hybrids.sunny()) == []
