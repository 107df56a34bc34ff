"""How the end of a test is spoken of, by the rules of a battery; by hand."""

from dataclasses import replace

import made_up
import pytest

from bankSim.model.rule import Blocks, Rule, Watch
from bankSim.show.plan_words import end_of, end_words, watch_words


def lead(*rules, cells=6):
    return replace(made_up.battery("a", cells=cells), chemistry="AGM", rules=tuple(rules))


def low(volts, delay_s=1.0, blocks=Blocks.DISCHARGE, **more):
    return Rule(Watch.BATTERY_VOLTAGE, below=True, threshold=volts, delay_s=delay_s, blocks=blocks,
                **more)  # fmt: skip


@pytest.mark.parametrize(("cells", "volts"), [(6, 10.5), (3, 5.25), (12, 21.0)])
def test_the_usual_end_of_lead_acid_is_the_testers(cells, volts):
    # 1.75 V a cell after a second: the rule that the program puts in place of the tester
    one = lead(low(volts), cells=cells)
    assert end_of(one).comes == f"will reach {volts:g} V, where you stop it by hand,"
    assert f"Take the load off by hand at {volts:g} V" in end_of(one).to_do
    assert end_words(one) == (
        f"The test ends at 1.75 V a cell ({volts:g} V of this battery), as is usual for lead-acid; "
        "never go below, and charge the same day: a flat lead-acid battery sulphates."
    )
    assert "has no electronics that stop the load; somebody must." in watch_words(one)


@pytest.mark.parametrize("rule", [low(11.0), low(10.5, 30.0), low(9.6)])
def test_another_limit_is_its_own_protection(rule):
    one = lead(rule)
    volts = f"{rule.threshold:.4g} V"
    assert end_of(one).comes == f"will reach {volts}, where its protection stops it,"
    assert end_of(one).stays_out == f"it does not reach {volts}"
    assert end_of(one).to_do == ""
    assert end_words(one).startswith(
        "The test ends where its protection stops it, or at 1.75 V a cell (10.5 V of this battery) "
        "if that comes first; never go below"
    )
    told = watch_words(one)
    assert "no electronics" not in told
    assert "where its protection fails, somebody must take the load off." in told
    assert "gas that explodes" in told


def test_the_first_of_several_limits_ends_it_and_others_do_not_count():
    # as the voltage falls the highest comes first
    assert end_of(lead(low(10.5), low(11.2))).comes.startswith("will reach 11.2 V, where its pro")
    charge, high = low(12.0, blocks=Blocks.CHARGE), replace(low(14.6), below=False)
    cell = replace(low(1.9), watches=Watch.LOWEST_CELL)
    assert end_of(lead(low(10.5), charge, high, cell)).comes.endswith("where you stop it by hand,")
    assert end_of(lead(low(11.0, blocks=Blocks.BOTH))).comes.startswith("will reach 11 V")
    assert end_of(lead(cell)).comes == "will be stopped by its protection"
    assert end_of(lead(cell)).stays_out == "it is not stopped"
