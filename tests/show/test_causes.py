"""Causes of what switches, on events written by hand."""

from dataclasses import replace

import made_up
import pytest

from bankSim.model.rule import Needs, Release, Rule, Watch
from bankSim.show.causes import (
    cause,
    cut_outs,
    deciding_cells,
    first_names,
    first_trips,
    goes_without,
)
from bankSim.sim.result import RELEASE, STAYS_OUT

LOW = Rule(Watch.LOWEST_CELL, below=True, threshold=2.5)
OVER = Rule(Watch.DISCHARGE_CURRENT, below=False, threshold=500.0)


def of_battery(event, rule=LOW):
    """A run of "a" alone, with this rule, in which only that happens."""
    made = made_up.result([made_up.outcome("a", cut=event)], [event])
    bank = made.scenario.bank
    own = replace(bank.batteries[0], rules=(rule,))
    return replace(made, scenario=replace(made.scenario, bank=replace(bank, batteries=(own,))))


def over_current(value_A=900.0):
    return made_up.trip("a", 1.0, ["a"], watches="discharge current", cell=None, value=value_A,
                        threshold=500.0, unit="A")  # fmt: skip


@pytest.mark.parametrize(
    ("delay_s", "told"),
    [
        (0.0003, "0.3 ms"),  # was told as "0 s": a usual delay of a short circuit's cut-out
        (2e-6, "0.002 ms"),
        (0.05, "50 ms"),
        (0.1, "0.1 s"),
        (2.5, "2.5 s"),
        (600.0, "600 s"),
    ],
)
def test_short_delays_are_told_in_ms(delay_s, told):
    event = over_current()
    result = of_battery(event, replace(OVER, delay_s=delay_s))
    start = f"its discharge current stayed above 500 A for {told}"
    assert cause(result, event) == f"{start} (read 900 A)"
    assert cause(result, event, readings=False) == start


def relief(**release):
    """Why the low-cell rule of "a" lets go at 3 V."""
    back = made_up.trip("a", 2.0, ["a"], value=3.01, threshold=3.0, what=RELEASE)
    rule = replace(LOW, release=Release(3.0, **release)) if release else LOW
    return cause(of_battery(back, rule), back)


def test_why_a_rule_lets_go():
    assert relief() == "its cell 3 is back at 3.00 V"  # the log alone tells
    assert relief(delay_s=0.0) == "its cell 3 is back at 3.00 V"
    assert relief(delay_s=30.0) == "its cell 3 stayed above 3.00 V for 30 s"
    assert relief(delay_s=0.02) == "its cell 3 stayed above 3.00 V for 20 ms"
    assert relief(needs=Needs.CHARGING) == "its cell 3 is back at 3.00 V and it is charged"
    both = relief(delay_s=5.0, needs=Needs.LOAD_REMOVED)
    assert both == "its cell 3 stayed above 3.00 V for 5 s and no load draws"


def test_too_much_current_lets_go_below_its_limit():
    back = replace(over_current(12.0), threshold=20.0, what=RELEASE)
    rule = replace(OVER, release=Release(20.0, 60.0))
    told = cause(of_battery(back, rule), back)
    assert told == "its discharge current stayed below 20.0 A for 60 s"


def unknown_rule(**event):
    """The cause of an event of which no rule of the file is known."""
    told = {"watches": "temperature", "cell": None, "unit": "degC"} | event
    trip = made_up.trip("a", 1.0, ["a"], **told)
    result = of_battery(trip, OVER)
    bank = replace(result.scenario.bank, swing_K=5.0)
    return cause(replace(result, scenario=replace(result.scenario, bank=bank)), trip)


def test_without_a_rule_value_and_limit_tell_the_direction():
    assert unknown_rule(value=-20.4, threshold=-20.0) == (
        "its temperature fell to -20.4 degC (limit -20.0 degC)"
    )
    assert unknown_rule(value=66.0, threshold=65.0) == (
        "its temperature rose to 66.0 degC (limit 65.0 degC)"
    )
    # just at a limit below 0 neither: what it watches decides, and a temperature mostly rises
    assert unknown_rule(value=-20.0, threshold=-20.0) == "its temperature rose to -20.0 degC"
    # a millionth of the limit is rounding, below 0 as above
    assert unknown_rule(value=-20.00001, threshold=-20.0) == "its temperature rose to -20.0 degC"
    assert unknown_rule(value=-20.0001, threshold=-20.0) == "its temperature fell to -20.0 degC"
    low = unknown_rule(value=2.5, threshold=2.5, watches="lowest cell voltage", unit="V", cell=2)
    assert low == "its cell 2 fell to 2.50 V"


def stays_out(*trips, blocks="charge"):
    """What is told of "a" as it stays out after 5 h, beside these trips (name, hour, direction)."""
    out = made_up.trip("a", 5.0, ["a", "b"], what=STAYS_OUT, blocks=blocks)
    events = [made_up.trip(n, h, ["a", "b"], blocks=way) for n, h, way in trips]
    both = [made_up.outcome("a"), made_up.outcome("b")]
    return cause(made_up.result(both, [*events, out]), out).partition(": ")[2]


def test_what_stays_shut_for_good():
    assert stays_out() == "charge stays blocked from here on"
    both = "charge and discharge stay blocked from here on"
    assert stays_out(blocks="both") == both
    assert stays_out(("a", 5.0, "discharge")) == both
    assert stays_out(("a", 5.0, "both")) == both
    # another battery, another time: not of this one
    assert stays_out(("b", 5.0, "discharge")) == "charge stays blocked from here on"
    assert stays_out(("a", 4.0, "discharge")) == "charge stays blocked from here on"


def test_who_cuts_out_before_all_others():
    names = ["a", "b", "c"]
    hours = (5.0, 5.0 + 0.4e-3 / 3600.0, 5.0 + 0.7e-3 / 3600.0)  # 0.5 ms are one instant
    cuts = [made_up.trip(n, h, names) for n, h in zip(names, hours, strict=True)]
    outcomes = [made_up.outcome(n, cut=cut) for n, cut in zip(names, cuts, strict=True)]
    again = made_up.trip("a", 9.0, names)
    result = made_up.result(outcomes, [*cuts, again])
    assert first_names(result) == ["a", "b"]
    assert cut_outs(result) == cuts  # the second of one battery is not its first
    assert first_names(made_up.result([made_up.outcome("a")])) == []


def test_the_first_trip_of_each_kind():
    low, high = made_up.trip("a", 1.0, ["a"]), made_up.trip("a", 2.0, ["a"], threshold=2.0)
    warm = made_up.trip("a", 3.0, ["a"], watches="temperature")
    events = [low, high, warm, replace(low, time_s=9e4), replace(low, time_s=9e4, what=RELEASE)]
    assert first_trips(made_up.result([made_up.outcome("a")], events)) == [low, high, warm]


def test_cells_that_decide():
    low = made_up.trip("a", 1.0, ["a"], cell=2, cell_voltages_V=(2.502, 2.5, 2.501, 2.6))
    assert deciding_cells(low) == [2, 3]  # to 1 mV
    assert deciding_cells(replace(low, cell_voltages_V=None)) == [2]
    assert deciding_cells(replace(low, cell=None)) == []


def test_what_no_rule_did_is_told_by_its_own_text():
    trip = made_up.trip("a", 1.0, ["a"], watches=None, text="a\nwas opened by hand.")
    assert cause(of_battery(trip), trip) == "a?was opened by hand."
    assert cause(of_battery(trip), replace(trip, text="")) == "trip"
    nothing_read = made_up.trip("a", 1.0, ["a"], value=None, text="No reading.")
    assert cause(of_battery(nothing_read), nothing_read) == "No reading."


def test_a_single_element_is_named_as_its_cell():
    one = made_up.trip("a", 1.0, ["a"], cell=1, cell_voltages_V=(2.5,))
    assert cause(of_battery(one), one) == "its cell 1 fell to 2.50 V"


def test_a_fixed_temperature_is_read_not_crossed():
    cold = made_up.trip("a", 1.0, ["a"], watches="temperature", cell=None, value=-5.0,
                        threshold=0.0, unit="degC")  # fmt: skip
    rule = Rule(Watch.TEMPERATURE, below=True, threshold=273.15)
    result = of_battery(cold, rule)
    assert cause(result, cold) == "its temperature is -5.00 degC (limit 0 degC)"
    swings = replace(result.scenario.bank, swing_K=5.0)
    moving = replace(result, scenario=replace(result.scenario, bank=swings))
    assert cause(moving, cold) == "its temperature fell to -5.00 degC (limit 0 degC)"


def test_a_run_in_which_all_are_fed_names_the_loads():
    result = made_up.result([made_up.outcome("a")])
    assert goes_without(result) == "The loads cannot be fed"
