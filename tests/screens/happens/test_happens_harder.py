"""Looking harder: the study in the form of the quick band, and its pictures."""

import pytest

from bankSim.screens.happens import harder
from bankSim.study.blocks import threads
from bankSim.study.plan import make_plan
from bankSim.study.spread import study_spread


@pytest.fixture(scope="module")
def study(weak):
    with threads(1) as workers:
        return study_spread(make_plan(weak.scenario), workers, most=40, traced=4)


def test_the_study_says_the_same_as_the_quick_band_of_the_same_draws(study, weak_spread):
    # the quick band promises the first draws of a study of the same seed
    own = harder.as_quick(study)
    assert own.draws == weak_spread.draws == 40
    assert dict(own.first) == pytest.approx(dict(weak_spread.first))
    assert own.cuts_out == pytest.approx(weak_spread.cuts_out)
    assert own.delivered_Ah.keys() == weak_spread.delivered_Ah.keys()
    # study points are order statistics, the quick ones are linear between them: 3 % apart at most
    assert own.bank_Ah == pytest.approx(weak_spread.bank_Ah, rel=0.03)


def test_progress_that_stops_ends_the_study(weak):
    class StopNow(Exception):  # noqa: N818
        pass

    def stop(stage, done, total):
        raise StopNow

    with pytest.raises(StopNow):
        harder._study(weak.scenario, stop)


def test_pictures_are_png(study):
    made = dict(harder._pictures(study))
    assert set(made) == set(harder.FIGURES)
    assert all(picture.startswith(b"\x89PNG") for picture in made.values())
