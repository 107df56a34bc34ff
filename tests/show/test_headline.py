from dataclasses import replace

import made_up
import pytest
from simple_banks import affine, bank_of, run, steady

from bankSim.model.charger import Charger, Stage
from bankSim.model.rule import Rule, Watch
from bankSim.show.headline import headline
from bankSim.sim.cautions.cells import BELOW_EMPTY
from bankSim.sim.cautions.joined import DO_NOT_MATCH
from bankSim.sim.result import (
    ALL_OVER,
    COLLAPSE,
    EMPTY,
    LOAD_OFF,
    REFUSED,
    Caution,
    ChargerOutcome,
)


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
    assert "loads are fed all that time" in said
    assert "No battery cuts out." in said


def test_collapse_has_its_own_words():
    result = made_up.result(
        [made_up.outcome("a")], [made_up.collapse(3.0, ["a"])], end_h=3.0, end_reason=COLLAPSE
    )
    assert "ends because the load asks for more than the bank can give" in text(result)


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


def test_what_flows_between_batteries_is_the_sum_of_those_that_give():
    # by hand: 0.3 V over 10 mohm and two times 10 mohm beside each other are 20 A; 10 A from each
    pair = [affine("a", 10e-3, z=0.9), affine("b", 10e-3, z=0.9)]
    result = run(bank_of(*pair, affine("low", 10e-3, z=0.4), duration_s=1200))
    assert "Nothing is drawn from the bank; " in text(result)
    assert "20.0 A at most" in text(result)


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
         "its temperature is -5.20 degC (limit -5.00 degC)"),
    ],
)  # fmt: skip
def test_causes_in_words(watches, cell, value, threshold, unit, words):
    cut = made_up.trip(
        "a", 1.0, ["a"], watches=watches, cell=cell, value=value, threshold=threshold, unit=unit
    )
    assert words in text(made_up.result([made_up.outcome("a", cut=cut)], [cut]))


def whole_bank(result, **changes):
    return replace(result, bank=replace(result.bank, **changes))


def cells_at(result, *states):
    """The same result from batteries whose cells start at these states of charge."""
    bank = result.scenario.bank
    batteries = [
        replace(one, cells=tuple(replace(cell, state_of_charge=state) for cell in one.cells))
        for one, state in zip(bank.batteries, states, strict=True)
    ]
    bank = replace(bank, batteries=tuple(batteries))
    return replace(result, scenario=replace(result.scenario, bank=bank))


def with_rule(result, rule):
    bank = result.scenario.bank
    batteries = tuple(replace(one, rules=(rule,)) for one in bank.batteries)
    return replace(
        result, scenario=replace(result.scenario, bank=replace(bank, batteries=batteries))
    )


def load_off(name, time_h):
    return replace(made_up.collapse(time_h, ["a"]), what=LOAD_OFF, source=name)


def with_loads(result, *names):
    loads = tuple(replace(steady(1.0), name=name) for name in names)
    bank = replace(result.scenario.bank, loads=loads)
    return replace(result, scenario=replace(result.scenario, bank=bank))


@pytest.mark.parametrize(
    ("offs", "loads", "runtime_h", "told"),
    [
        ([("tv", 3)], "tv fridge", 40, [
            "The loads are fed all that time, except what cuts itself off. "
            '"tv" cuts itself off after 3.00 h. ']),
        ([("tv", 3), ("fridge", 5), ("tv", 9)], "tv fridge", 40, [
            '"tv" cuts itself off after 3.00 h (the first of 2 times) and "fridge" cuts itself off '
            "after 5.00 h. "]),
        ([("tv", 3)], "tv fridge", 6, [
            "But for what cuts itself off, the loads are fed without a break for the first 6.00 h "
            'only. "tv" cuts itself off after 3.00 h. ']),
        ([("tv", 9)], "tv fridge", 6, [" The loads are fed without a break for the first 6.00 h"]),
        ([(name, 3) for name in "abcde"], "abcde", 40, [
            '"a", "b" and "c" cut themselves off after 3.00 h; so do 2 more loads. ']),
        ([("tv", 9)], "tv fridge", 6, ["for the first 6.00 h only. No battery cuts out."]),
        ([], "tv", 40, ["The loads are fed all that time. "]),
    ],
)  # fmt: skip
def test_loads_that_cut_themselves_off_stand_at_the_top(offs, loads, runtime_h, told):
    events = [load_off(name, time_h) for name, time_h in offs]
    result = made_up.result([made_up.outcome("a")], events, end_h=40.0, end_reason=ALL_OVER)
    names = list(loads) if loads == "abcde" else loads.split()
    said = text(whole_bank(with_loads(result, *names), runtime_s=runtime_h * 3600.0))
    for words in told:
        assert words in said
    assert ("all that time" in said) == any("all that time" in words for words in told)


def test_what_happened_in_between_is_not_the_end():
    refused = replace(made_up.collapse(3.0, ["a"]), what=REFUSED)
    events = [refused, replace(refused, time_s=5 * 3600.0), made_up.collapse(6.0, ["a"])]
    result = made_up.result([made_up.outcome("a")], events, end_h=40.0, end_reason=ALL_OVER)
    said = text(whole_bank(result, runtime_s=6.0 * 3600.0))
    assert "It ends" not in said
    assert "in 40.0 h" in said  # the Ah of the whole run beside the time of the whole run
    assert (
        "fed without a break for the first 6.00 h only; then the load asks for more than the bank "
        "can give." in said
    )
    assert "In between, after 3.00 h (the first of 2 times), charge is offered" in said
    assert "all that time" not in said


def test_a_collapse_that_ends_the_run_is_told_once():
    events = [made_up.collapse(3.0, ["a"])]
    result = made_up.result([made_up.outcome("a")], events, end_h=3.0, end_reason=COLLAPSE)
    assert text(result).count("asks for more") == 1


def test_an_empty_bank_without_a_cut_out_says_how_it_ends():
    result = made_up.result([made_up.outcome("a")], end_reason=EMPTY)
    assert "It ends because no battery is left to feed the loads." in text(result)


def test_below_empty_comes_first_and_nothing_is_boasted():
    caution = Caution("cell driven below empty", "danger", -42.0, 0.0, "%", "Cell 3 is at -42 %.")
    other = Caution("surge", "danger", 900.0, 100.0, "A", "900 A flow on joining.")
    one = made_up.outcome("a", delivered_Ah=143.0, final_state_of_charge=(0.0, 0.1, -0.42, 0.1))
    said = text(made_up.result([one], cautions=(other, caution)))
    assert said.startswith("Danger: Cell 3 is at -42 %. So the Ah told here are more than")
    assert "There is 1 danger more below. On paper the bank delivers 143 Ah" in said


def test_a_fuse_that_would_blow_comes_first_beside_what_is_below_empty():
    dangers = [
        Caution(topic, "danger", None, None, "", text, "")
        for topic, text in (
            ("fuse would blow", "A fuse goes."),
            ("fuse would blow", "Another goes."),
            ("cell driven below empty", "A cell is empty."),
        )
    ]
    said = text(replace(made_up.pair(), cautions=tuple(dangers)))
    assert said.startswith("Danger: A fuse goes. Danger: A cell is empty. So the Ah told here")
    assert "There is 1 danger more below. On paper the bank delivers" in said


def test_batteries_that_do_not_belong_together_come_before_all_else():
    result = made_up.pair()
    low = Caution(BELOW_EMPTY, "danger", 1.0, 1.5, "V", "A cell goes low.", "Stop.")
    apart = Caution(DO_NOT_MATCH, "danger", 13.0, 1.3, "V", "They are far apart.", "Do not.")
    told = text(replace(result, cautions=(low, apart)))
    assert told.startswith("Danger: They are far apart. Danger: A cell goes low.")
    mild = replace(apart, severity="warning")
    assert "far apart" not in text(replace(result, cautions=(low, mild)))


def test_the_first_danger_is_in_the_headline():
    said = text(made_up.pair())
    assert "Danger: 900 A flow on joining: never do this." in said
    assert said.startswith("The bank delivers")


def test_charge_that_came_in_between_is_named_beside_the_net():
    result = made_up.result([made_up.outcome("a", 262.0)], end_reason=ALL_OVER)
    said = text(whole_bank(result, delivered_Ah=271.0, charged_Ah=20.0))
    assert "delivers 271 Ah and takes in 20.0 Ah in 54.2 h: net 251 Ah" in said


def test_a_bank_that_did_not_start_full_says_so():
    result = made_up.result([made_up.outcome("a"), made_up.outcome("b")])
    assert "full" not in text(result)
    assert 'Not all start full: "b" at 90 %.' in text(cells_at(result, 1.0, 0.9))
    assert "It starts at 50 % of its charge, not full." in text(cells_at(result, 0.5, 0.5))


def test_cells_that_did_not_start_full_are_told_apart_from_batteries():
    result = made_up.result([made_up.outcome("a")])
    (one,) = cells_at(result, 1.0).scenario.bank.batteries

    def told(*states):
        cells = tuple(
            replace(cell, state_of_charge=state)
            for cell, state in zip(one.cells, states, strict=True)
        )
        bank = replace(result.scenario.bank, batteries=(replace(one, cells=cells),))
        return text(replace(result, scenario=replace(result.scenario, bank=bank)))

    assert 'Not all start full: cell 3 of "a" at 90 %.' in told(1.0, 1.0, 0.9, 1.0)
    assert 'Not all start full: 2 cells of "a" at 90 % to 95 %.' in told(1.0, 0.95, 0.9, 1.0)
    assert 'It does not start full: "a" at 80 %.' in told(0.9, 0.8, 0.7, 0.8)


def test_equal_cells_are_not_told_apart():
    alike = (2.5, 2.5005, 2.4995, 2.5)
    cut = made_up.trip("a", 1.0, ["a"], cell=1, cell_voltages_V=alike)
    assert "because all its cells alike fell to 2.50 V" in text(
        made_up.result([made_up.outcome("a", cut=cut)], [cut])
    )
    some = replace(cut, cell_voltages_V=(2.5, 2.5011, 2.5, 2.5))
    assert "because its cells 1, 3 and 4 alike fell" in text(
        made_up.result([made_up.outcome("a", cut=some)], [some])
    )
    apart = replace(cut, cell_voltages_V=(2.5, 2.5011, 2.52, 2.6))
    assert "because its cell 1 fell" in text(
        made_up.result([made_up.outcome("a", cut=apart)], [apart])
    )


def test_cut_outs_of_one_instant_are_told_together():
    names = ["a", "b", "c"]
    cuts = [made_up.trip(n, h, names) for n, h in zip(names, (5.0, 5.0, 9.0), strict=True)]
    outcomes = [made_up.outcome(n, cut=cut) for n, cut in zip(names, cuts, strict=True)]
    said = text(made_up.result(outcomes, cuts))
    assert (
        '"a" and "b" cut out together first, after 5.00 h, because in each of them, its cell 3 '
        "fell to 2.50 V." in said
    )
    assert '"c" follows after 9.00 h: its cell 3 fell to 2.50 V.' in said


def test_ties_with_different_causes_name_each():
    names = ["a", "b"]
    cuts = [made_up.trip("a", 5.0, names, cell=1), made_up.trip("b", 5.0, names)]
    outcomes = [made_up.outcome(n, cut=cut) for n, cut in zip(names, cuts, strict=True)]
    said = text(made_up.result(outcomes, cuts))
    assert '"a": its cell 1 fell to 2.50 V; "b": its cell 3 fell to 2.50 V.' in said


@pytest.mark.parametrize(
    ("rule", "unit", "value", "words"),
    [
        (Rule(Watch.LOWEST_CELL, below=True, threshold=2.5, delay_s=5.0), "V", 2.4876,
         "its cell 3 stayed below 2.50 V for 5 s (read 2.49 V)."),
        (Rule(Watch.LOWEST_CELL, below=True, threshold=2.5, delay_s=5.0), "V", 2.4996,
         "its cell 3 stayed below 2.50 V for 5 s."),
        (Rule(Watch.DISCHARGE_CURRENT, below=False, threshold=1000.0, delay_s=0.5), "A", 1032.6,
         "its discharge current stayed above 1000 A for 0.5 s (read 1033 A)."),
        (Rule(Watch.TEMPERATURE, below=False, threshold=338.15, delay_s=1.0), "degC", 70.0,
         "its temperature is 70.0 degC (limit 65.0 degC)."),
    ],
)  # fmt: skip
def test_a_rule_that_waits_says_how_long(rule, unit, value, words):
    limit = rule.threshold - (273.15 if unit == "degC" else 0.0)
    cut = made_up.trip(
        "a", 1.0, ["a"], watches=rule.watches.value, cell=3 if unit == "V" else None,
        value=value, threshold=limit, unit=unit,
    )  # fmt: skip
    result = with_rule(made_up.result([made_up.outcome("a", cut=cut)], [cut]), rule)
    assert words in text(result)


def test_a_charger_that_feeds_the_loads_alone_leaves_only_the_batteries_without_current():
    # 5 A are drawn and 5 A given: "nothing flows" was said beside 10 Ah from the charger
    def said(load_A, hold_V):
        mains = Charger("mains", (Stage(hold_V),), limit_A=5.0)
        bank = bank_of(
            affine("a", 1e-3, z=0.5), load=steady(load_A), chargers=(mains,), duration_s=7200
        )
        return text(run(replace(bank, stop_when_empty=False)))

    assert said(5.0, 14.4).startswith("Nothing flows through the batteries during the 2.00 h.")
    assert said(0.0, 12.0).startswith("Nothing flows during the 2.00 h.")


def with_chargers(result, *given_Ah):
    names = "pqr"[: len(given_Ah)]
    chargers = tuple(Charger(name, (Stage(14.4),), limit_A=5.0) for name in names)
    outcomes = (ChargerOutcome(n, Ah, 0.0, 5.0) for n, Ah in zip(names, given_Ah, strict=True))
    bank = replace(result.scenario.bank, chargers=chargers)
    scenario = replace(result.scenario, bank=bank)
    return replace(result, scenario=scenario, chargers=tuple(outcomes))


def test_one_charger_and_several():
    result = made_up.result([made_up.outcome("a")], end_reason=ALL_OVER)
    assert "The charger gives 30.0 Ah." in text(with_chargers(result, 30.0))
    assert "The chargers give 42.0 Ah." in text(with_chargers(result, 30.0, 12.0))
    assert "give" not in text(result)


def test_more_taken_in_than_delivered_is_net_into_the_bank():
    result = made_up.result([made_up.outcome("a")], end_reason=ALL_OVER)

    def net(out, into):
        return text(whole_bank(result, delivered_Ah=out, charged_Ah=into)).partition("net ")[2]

    assert net(20.0, 271.0).startswith("251 Ah into it, beside the 100 Ah")
    assert net(20.0, 20.0).startswith("0 Ah, beside")


def test_next_to_nothing_that_flows_is_nothing():
    # a millionth of the 100 Ah on the label
    def made(Ah):
        one = made_up.outcome("a", delivered_Ah=Ah)
        return made_up.result([one], end_h=10.0, end_reason=ALL_OVER)

    assert text(made(0.9e-4)).startswith("Nothing flows during the 10.0 h.")
    assert text(made(1.1e-4)).startswith("The bank delivers")
    undrawn = whole_bank(made(1.1e-4), delivered_Ah=0.0)
    assert text(undrawn).startswith("Nothing is drawn from the bank; ")
    assert text(with_chargers(made(0.0), 1.1e-4)).startswith("Nothing flows through the batteries")
    assert text(with_chargers(made(0.0), 0.9e-4)).startswith("Nothing flows during")


def test_batteries_below_full_are_told_by_their_last_half_percent():
    result = made_up.result([made_up.outcome("a"), made_up.outcome("b")])
    assert "full" not in text(cells_at(result, 1.0, 0.995))
    assert 'Not all start full: "b" at 99 %.' in text(cells_at(result, 1.0, 0.9949))
    assert 'None starts full: "a" at 70 % and "b" at 99 %.' in text(cells_at(result, 0.7, 0.994))
    assert 'Not all start full: "a" at 70 %.' in text(cells_at(result, 0.7, 0.995))
    many = made_up.result([made_up.outcome(name) for name in "abcdefg"])
    levels = [0.5 + 0.05 * place for place in range(7)]
    assert '"d" at 65 % and 3 others.' in text(cells_at(many, *levels))
