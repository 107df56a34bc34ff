"""What is said of two batteries at cut-out."""

import json

import pytest
from told_snapshots import compared, flat

from bankSim.show.deeper_story import deeper_answer
from bankSim.show.study_files import summary_text


def told(**more):
    return flat(deeper_answer(compared(**more)).story)


def test_larger_cells_are_told_with_what_depth_explains():
    text = told()
    assert '"two" gave 12.0 Ah (8.1 %) more than "one".' in text
    assert "consistent with more charge in the cells" in text
    assert "not with the same cells driven harder" in text
    assert "well under 1 %" in text
    assert "Do not take a battery deeper because the sums allow it" in text


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"cells": "2.95 3.0 / 2.2 2.3", "given_Ah": "148 / 155"}, "same cells driven harder"),
        ({"given_Ah": "150 / 151"}, "within what repeats of one battery differ by"),
        ({"given_Ah": "150 / 150"}, "Both gave the same Ah."),
        ({"cells": "3.0 / 2.2", "given_Ah": "140 / 160"}, "Partly depth"),
        ({"cells": "2.3 3.05 3.05 3.05 / 2.3 2.3", "given_Ah": "140 / 147"}, "Better balanced"),
        ({"cells": "2.3 / 2.3", "given_Ah": "150 / 153.2"}, "this cannot tell"),
        ({"cells": None}, "Without the cell voltages of both"),
        ({"cells": None, "chemistry": "LFP / AGM"}, "different chemistries (LFP and AGM)"),
        ({"mass_kg": None}, "No weights were given"),
        ({"mass_kg": "16 / 17"}, "that fits larger cells of the same kind"),
        ({"mass_kg": "16 / 16"}, "does not fit more of the same cells"),
        ({"mass_kg": "16 / 16.2", "given_Ah": "150 / 154"}, "weight decides nothing"),
        ({"mass_kg": "8 / 16"}, "more than plausible"),
        ({"mass_kg": "60 / 16"}, "less than plausible"),
        ({"given_Wh": "1890 / 2040"}, "118 Wh/kg (measured)"),
        ({"names": "old / new"}, '"new" gave 12.0 Ah'),
        ({"current_A": "20 / 20"}, "Common end: the lowest cell at 2.500 V"),
    ],
)
def test_what_is_said(more, said):
    assert said in told(**more)


def test_json():
    summary = json.loads(summary_text(deeper_answer(compared()).summary))
    assert summary["question"] == "deeper"
    assert summary["verdict"] == "more charge in the cells"
    assert summary["sides"][1]["per_mass"]["Ah_per_kg"] == pytest.approx(10.0)
    assert summary["parts"]["total"]["value"] == pytest.approx(12.0)
    bare = json.loads(summary_text(deeper_answer(compared(cells=None, mass_kg=None)).summary))
    assert bare["parts"] is None
    assert bare["sides"][0]["per_mass"] is None
