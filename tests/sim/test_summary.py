"""The plain dictionaries of `run --json`: hours for seconds, no endless numbers, nothing lost."""

import json
import math
from dataclasses import replace

from made_results import Course, event, made
from simple_banks import affine, bank_of

from bankSim.sim.joining_result import JoinedBattery, JoinedPair, Joining, Return
from bankSim.sim.result import TRIP, Numerics
from bankSim.sim.summary import cut_out_order, summarise

FIRST = event(
    3600.0, TRIP, "b", blocks="discharge", watches="battery voltage", value=11.9, threshold=12.0,
    unit="V", text="said", currents_A=(1.0, 2.0), cell_voltages_V=(11.9,),
)  # fmt: skip
LATER = event(5400.0, TRIP, "a", blocks="both")
CHARGE = event(1800.0, TRIP, "a", blocks="charge")


def result(**given):
    cut = ({"first_cut_out": LATER, "charged_Wh": math.inf}, {"first_cut_out": FIRST})
    told = made(
        bank_of(affine("a", Ah=60.0), affine("b", Ah=40.0)), [0.0, 9000.0], Course(), Course(),
        events=(CHARGE, FIRST, LATER), outcomes=cut, numerics=Numerics(2e-5, 1e-3, 10, 2, 1),
        **given,
    )  # fmt: skip
    return replace(told, bank=replace(told.bank, runtime_s=7200.0))


def test_hours_stand_for_seconds():
    told = summarise(result())
    assert told["duration_h"] == 2.5
    assert told["bank"]["runtime_h"] == 2.0
    assert [one["time_h"] for one in told["events"]] == [0.5, 1.0, 1.5]
    assert told["batteries"][1]["first_cut_out"]["time_h"] == 1.0
    assert not [one for one in told["events"] if "time_s" in one]


def test_a_cut_out_of_a_battery_leaves_out_what_its_place_says():
    own = summarise(result())["batteries"][1]["first_cut_out"]
    whole = summarise(result())["events"][1]
    assert {name: whole[name] for name in own} == own
    assert set(whole) - set(own) == {"battery", "what", "text"}
    assert own["currents_A"] == [1.0, 2.0]


def test_who_cut_out_first():
    assert cut_out_order(result()) == ["b", "a"]
    assert summarise(result())["bank"]["cut_out_order"] == ["b", "a"]
    # one that only blocks charge is in no such order
    assert cut_out_order(made(bank_of(affine("a")), [0.0, 1.0], Course(), events=(CHARGE,))) == []


def test_what_is_no_finite_number_is_none():
    told = summarise(result())
    assert told["batteries"][0]["charged_Wh"] is None
    assert told["bank"]["rated_Ah"] == 100.0
    assert (told["joining"], told["balancing"], told["returns"]) == (None, None, [])
    assert json.loads(json.dumps(told, allow_nan=False)) == told


def test_joining_and_returns():
    battery = JoinedBattery("a", 13.0, 5.0, 6.0, None, 900.0, 1.0, 0.0, 0.1, None)
    pair = JoinedPair("a", "b", 0.2, math.inf, 3.0, 20.0, "the fuse", 0.1, 9.0, "text")
    back = Return(5400.0, "b", "both", (0.0, 1.0), (2.0, -1.0), ("a",), ("b",), 60.0, 5.0, 0.5)
    quiet, loud = (Joining(86_400.0, s, (battery,), (pair,)) for s in (1800.0, None))
    told = summarise(result(joining=quiet, returns=(back,)))
    assert (told["joining"]["looked_at_h"], told["joining"]["quiet_after_h"]) == (24.0, 0.5)
    assert told["joining"]["batteries"][0]["above_label_s"] == 900.0
    assert told["joining"]["pairs"][0]["first_A"] is None
    assert summarise(result(joining=loud))["joining"]["quiet_after_h"] is None
    (one,) = told["returns"]
    assert (one["time_h"], one["looked_at_s"], one["takes"]) == (1.5, 60.0, ["b"])
    assert "time_s" not in one
