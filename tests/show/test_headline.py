from dataclasses import replace

import made_up
import pytest

from bankSim.show.headline import headline
from bankSim.sim.result import ALL_OVER, COLLAPSE


def text(result):
    return " ".join(headline(result))


def test_pair_says_how_much_who_when_and_why():
    said = text(made_up.pair())
    assert said.startswith("The bank delivers 231 Ah of the 240 Ah on the labels in 54.2 h.")
    assert '"old" cuts out first, after 41.0 h, because its cell 3 fell to 2.50 V.' in said
    assert '"new" follows after 54.2 h: its cell 1 fell to 2.50 V.' in said
    assert "1.63 Ah stay locked" in said  # 1.234 + 0.4
    assert "1 danger and 1 note" in said


def test_no_cut_out_and_loads_still_fed():
    said = text(made_up.result([made_up.outcome("a")], end_h=72.0, end_reason=ALL_OVER))
    assert "in 72.0 h" in said
    assert "loads are still fed" in said
    assert "No battery cuts out." in said


def test_collapse_has_its_own_words():
    result = made_up.result(
        [made_up.outcome("a")], [made_up.collapse(3.0, ["a"])], end_h=3.0, end_reason=COLLAPSE
    )
    assert "ends because the load asks for more power than the bank can give" in text(result)


def test_everything_at_time_zero():
    cut = made_up.trip("a", 0.0, ["a"])
    outcome = made_up.outcome("a", cut=cut, delivered_Ah=0.0, stranded_Ah=50.0)
    said = text(made_up.result([outcome], [cut], end_h=0.0))
    assert said.startswith("The bank delivers nothing.")
    assert '"a" cuts out at once, because' in said


def test_batteries_settling_among_themselves():
    pair = [
        made_up.outcome("a", delivered_Ah=6.0, peak_discharge_A=41.0),
        made_up.outcome("b", delivered_Ah=0.0, charged_Ah=6.0, peak_charge_A=41.0),
    ]
    result = made_up.result(pair, end_h=10.0, end_reason=ALL_OVER)
    result = replace(result, bank=replace(result.bank, delivered_Ah=1e-12))
    said = text(result)
    assert "Nothing is drawn from the bank; 6.00 Ah flow between its batteries" in said
    assert "41.0 A at most" in said


def test_charging_only():
    result = made_up.result([made_up.outcome("a")], end_h=5.0, end_reason=ALL_OVER)
    result = replace(result, bank=replace(result.bank, delivered_Ah=0.0, charged_Ah=80.0))
    assert text(result).startswith("The bank takes in 80.0 Ah in 5.00 h.")


def test_many_are_named_briefly():
    said = text(made_up.crowd(64))
    assert "and 57 others, the last after 16.3 h" in said
    assert len(said) < 1200


@pytest.mark.parametrize(
    ("watches", "cell", "value", "threshold", "unit", "words"),
    [
        ("battery voltage", None, 10.0, 10.0, "V", "its voltage fell to 10.00 V."),
        ("discharge current", None, 151.2, 150.0, "A",
         "its discharge current rose to 151 A (limit 150 A)"),
        ("lowest cell voltage", 3, 2.31, 2.5, "V", "its cell 3 fell to 2.31 V (limit 2.50 V)"),
        ("highest cell voltage", 2, 3.65, 3.65, "V", "its cell 2 rose to 3.65 V."),
        ("temperature", None, -5.2, -5.0, "degC",
         "its temperature fell to -5.20 degC (limit -5.00 degC)"),
    ],
)  # fmt: skip
def test_causes_in_words(watches, cell, value, threshold, unit, words):
    cut = made_up.trip(
        "a", 1.0, ["a"], watches=watches, cell=cell, value=value, threshold=threshold, unit=unit
    )
    assert words in text(made_up.result([made_up.outcome("a", cut=cut)], [cut]))
