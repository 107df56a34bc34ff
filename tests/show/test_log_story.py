"""The story of a log: every column, the direction of current, findings by row, gaps."""

from dataclasses import replace

import numpy as np

from bankSim.measured.log import WARNING, Finding, Gap, Log, Use
from bankSim.show.log_story import log_summary, reading_section, tell_log
from bankSim.show.printing import story_text

TIME = np.array([0.0, 10.0, 20.0, 3620.0])
LOG = Log(
    "bench.csv",
    TIME,
    np.array([13.2, 13.1, 13.0, 12.0]),
    np.full(4, 10.0),
    cells_V=np.array([[3.3, np.nan]] * 4),
    uses=(
        Use("U", 1, "voltage", "V", asked=True),
        Use("x", 2, "not used"),
        Use("I", 3, "current", "mA"),
    ),
    sign_reason="made up",
    findings=(Finding("row 7 is odd.", (7,), severity=WARNING), Finding("all else is well.")),
    gaps=(Gap(2, 3600.0, 10.0),),
)


def test_columns_and_findings_are_told():
    section = reading_section(LOG)
    assert section.title == "How the log was read"
    assert reading_section(LOG, named=True).title == f"How {LOG.file} was read"
    assert section.grid.rows == (
        ("1", "U", "voltage", "V", "asked for"),
        ("2", "x", "not used", "-", ""),
        ("3", "I", "current", "mA", "guessed"),
    )
    assert section.lines == (
        "Direction of current: discharge positive; made up.",
        "WARNING: Row 7 is odd.",
        "All else is well.",
    )


def test_headline_and_gaps():
    told = " ".join(story_text(tell_log(LOG)).split())
    # 10 A over 3,620 s.
    assert "gave 10.1 Ah, between 12.00 and 13.20 V. 1 warning below." in told
    assert "1.00 h" in told.split("Gaps")[1]
    assert "cell 2" in told


def test_many_findings_are_cut_and_counted():
    from dataclasses import replace

    for count, told in ((50, "10 more findings are"), (41, "1 more finding is")):
        section = reading_section(replace(LOG, findings=(Finding("odd."),) * count))
        assert section.lines[-1] == f"{told} in the JSON."
        assert len(section.lines) == 42
    assert len(reading_section(replace(LOG, findings=(Finding("odd."),) * 40)).lines) == 41


def test_summary_holds_no_nan():
    import json

    summary = log_summary(LOG)
    json.dumps(summary, allow_nan=False)
    assert summary["gaps"] == [{"after_row": 4, "length_s": 3600.0, "usual_s": 10.0}]
    assert summary["given_Ah"] == 10.0 * 3620.0 / 3600.0


def test_what_spoils_the_count_stands_first():
    wrong = Finding("Row 9: a wrong sign.", (9,), severity=WARNING, spoils=True)
    assert tell_log(replace(LOG, findings=(wrong,))).headline[0] == "Beware: Row 9: a wrong sign."
    assert "Beware" not in tell_log(LOG).headline[0]
