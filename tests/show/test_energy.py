"""Where the energy went, told from ledgers written by hand."""

from dataclasses import replace

import made_up
import pytest

from bankSim.show.energy import energy_section
from bankSim.sim.balancing_result import BalancerGain
from bankSim.sim.result import EnergyLedger

NOTHING = EnergyLedger(*[0.0] * 12)


def told(ledger=None, **changes):
    """Lines of "old" and "new" with labels of 100 and 140 Ah."""
    result = replace(made_up.pair(), **changes)
    if ledger is not None:
        result = replace(result, bank=replace(result.bank, energy=replace(NOTHING, **ledger)))
    section = energy_section(result)
    return [] if section is None else list(section.lines)


def test_a_discharge():
    assert told({
        "cells_Wh": 3000.0, "loads_Wh": 2700.0, "ohmic_Wh": 200.0, "polarisation_Wh": 60.0,
        "leads_Wh": 40.0, "self_discharge_Wh": 0.04,
    }) == [
        "From the cells 3000 Wh: loads 2700 Wh; losses 300 Wh (10 %).",
        "The losses: resistance inside the batteries 200 Wh, relaxation and hysteresis of the "
        "cells 60.0 Wh and leads 40.0 Wh.",
    ]  # fmt: skip


def test_a_charge_stores_what_is_not_used_or_lost():
    (first, second) = told({
        "cells_Wh": -9000.0, "chargers_Wh": 11_000.0, "fed_back_Wh": 1000.0, "loads_Wh": 2000.0,
        "charging_Wh": 600.0, "balancers_Wh": 300.0, "diodes_Wh": 100.0,
    })  # fmt: skip
    assert first == (
        "From chargers 11.0 kWh and loads that feed back 1000 Wh: stored in the cells 9000 Wh and "
        "loads 2000 Wh; losses 1000 Wh (8.3 %)."
    )
    assert second == (
        "The losses: charge that is not stored 600 Wh, balancers 300 Wh and body diodes 100 Wh."
    )


def test_what_only_stands_loses_by_itself():
    lost = {"cells_Wh": 50.0, "self_discharge_Wh": 50.0}
    assert told(lost) == [
        "From the cells 50.0 Wh: nothing used; losses 50.0 Wh (100 %).",
        "The losses: self-discharge 50.0 Wh.",
    ]
    bank = made_up.pair().scenario.bank
    cells = (*bank.batteries[1].cells[:-1], replace(bank.batteries[1].cells[0], gassing_A=1e-3))
    gassing = replace(bank, batteries=(bank.batteries[0], replace(bank.batteries[1], cells=cells)))
    scenario = replace(made_up.pair().scenario, bank=gassing)
    assert told(lost, scenario=scenario)[1] == "The losses: self-discharge and gassing 50.0 Wh."


def test_next_to_nothing_is_not_told():
    assert told({"cells_Wh": 0.04, "loads_Wh": 0.04}) == []
    assert told({"cells_Wh": 100.0, "loads_Wh": 100.0}) == [
        "From the cells 100 Wh: loads 100 Wh; losses 0 Wh (0 %)."
    ]


def balanced(without_Ah=80.0, without_s=7200.0, *, names=("a",), **changes):
    gain = BalancerGain(names, 90.0, without_Ah, 7200.0, without_s, **changes)
    return told(balancing=gain)


@pytest.mark.parametrize(
    ("without_Ah", "words"),
    [
        (80.0, "delivers 10.0 Ah less."),
        (100.0, "delivers 10.0 Ah more."),
        (89.77, "delivers as much."),  # 0.23 Ah; a thousandth of 240 Ah is told
        (89.75, "delivers 0.250 Ah less."),
    ],
)
def test_what_balancers_win(without_Ah, words):
    assert balanced(without_Ah) == [f'Without the balancer of "a" the bank {words}']


@pytest.mark.parametrize(
    ("without_s", "words"), [(7141.0, ""), (7139.0, " and feeds its loads for 1.02 min less")]
)
def test_a_minute_of_feeding_is_told(without_s, words):
    assert balanced(without_s=without_s) == [
        f'Without the balancer of "a" the bank delivers 10.0 Ah less{words}.'
    ]


def test_a_run_without_balancers_that_was_given_up():
    lost = {"without_Ah": None, "without_s": None, "given_up": "too long"}
    start, end = "What the balancer", "is not known: the same run without was too long."
    assert balanced(**lost) == [f'{start} of "a" wins {end}']
    assert balanced(names=("a", "b"), **lost) == [f'{start}s of "a" and "b" win {end}']


def test_how_much_comes_back_of_what_was_put_in():
    pair = made_up.pair()
    old, new = (replace(one, charged_Ah=20.0, efficiency=part)
                for one, part in zip(pair.batteries, (0.9, 0.8), strict=True))  # fmt: skip
    bank = replace(pair.bank, efficiency=0.85)
    start = (
        "Of the energy put into the batteries, counting what their cells hold more or less at the "
        "end, 85 % is given back or still in them"
    )
    assert told(batteries=(old, new), bank=bank) == [f'{start} ("old" 90 % and "new" 80 %).']
    # a hundredth of the label is no charge: 1 Ah of 100, 1.4 Ah of 140
    idle = replace(new, charged_Ah=1.4)
    assert told(batteries=(old, idle), bank=bank) == [f"{start}."]
    assert told(batteries=(replace(old, charged_Ah=1.0), idle), bank=bank) == []
    assert told(batteries=(old, new), bank=replace(bank, efficiency=None)) == []
