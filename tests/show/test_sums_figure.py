"""The steps from the labels to the bank."""

import made_up_studies as studies
import pytest
from study_cases import OTHERS
from study_pictures import bars, one, texts, whole


def test_waterfall_starts_at_zero_and_tells_every_step():
    result = studies.sums()
    left, right = one(result).axes
    assert left.get_xlim()[0] == 0.0
    medians = [part.Ah.percentiles[2].value for part in result.parts]
    told = [text.get_text() for text in left.texts]
    assert told == [f"{median:.1f} Ah" for median in medians]
    changes = [part.change.percentiles[2].value for part in result.parts[1:]]
    assert [bar.get_width() for bar in bars(right)] == pytest.approx(changes)
    assert right.texts[0].get_text().startswith("\N{MINUS SIGN}20.0 (")
    assert right.texts[3].get_text().startswith("+0.5 (")
    assert "Labels 200.0 Ah, bank 170.0 Ah" in whole(one(result))


def test_a_bar_that_is_cut_off_says_so():
    cut = one(OTHERS["sums, one large step"]())
    assert "bar is cut off" in texts(cut)
    assert cut.axes[1].get_xlim()[0] > -20.0  # of a change of -150 Ah
    assert "bar is cut off" not in texts(one(studies.sums()))
