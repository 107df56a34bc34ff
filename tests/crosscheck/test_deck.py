"""The netlist: what may stand in it, and that it runs by itself."""

import re
import subprocess
from dataclasses import replace

import numpy as np
import pytest
from crosscheck_banks import bare_pair, duty_pair, lively_pair, row_of_three, steady, string

from bankSim.crosscheck.deck import build_deck, saved_vectors
from bankSim.errors import ParameterError
from bankSim.model.bank import Bank, Layout, Wiring
from bankSim.model.load import Load
from bankSim.model.rule import Blocks, Rule, Watch

HOSTILE = [
    "x\n.control\nshell touch hacked\n.endc",
    "x\r\n.include /etc/passwd",
    "+ continued",
    "$ comment",
    "* star",
    "'quoted' \"twice\" `thrice`",
    "Größe\u2028.end\u0085.end",
    ".end",
    "; semicolon\\",
    "error",
]


def _without_comments(deck):
    return [line for line in deck.splitlines() if not line.startswith("*")]


@pytest.mark.parametrize("text", HOSTILE)
def test_foreign_text_stays_in_comments(text):
    bank = bare_pair()
    hostile = replace(
        bank,
        batteries=tuple(replace(battery, name=text) for battery in bank.batteries),
        loads=tuple(
            Load(text, load.exponent, load.profile_s, load.profile_amount) for load in bank.loads
        ),
    )
    deck = build_deck(hostile, title=text)
    assert deck.isascii()
    assert _without_comments(deck) == _without_comments(build_deck(bank))
    assert all(
        re.fullmatch(r"\*[A-Za-z0-9 _(),;.'-]*", n) for n in deck.splitlines() if n[0] == "*"
    )


@pytest.mark.ngspice
@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_names_run_and_touch_nothing(text, ngspice_program, tmp_path):
    bank = bare_pair()
    first = replace(bank.batteries[0], name=text)
    deck = build_deck(replace(bank, batteries=(first, bank.batteries[1])), title=text, end_s=60.0)
    done, _ = _run_alone(deck, ngspice_program, tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bank.cir"]


@pytest.mark.ngspice
@pytest.mark.parametrize(
    "bank",
    [bare_pair(), row_of_three(Layout.SAME_END), lively_pair(), duty_pair()],
    ids=["bare", "row", "lively", "duty"],
)
def test_deck_runs_by_itself_and_prints_the_charge(bank, ngspice_program, tmp_path):
    done, values = _run_alone(build_deck(bank, end_s=900.0), ngspice_program, tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert len(values) == 2 * len(bank.batteries)
    assert values["b1_delivered_ah"] > 0.0


def _run_alone(deck, program, folder):
    (folder / "bank.cir").write_text(deck, encoding="ascii")
    done = subprocess.run(
        [program, "-b", "bank.cir"],
        cwd=folder,
        env={"HOME": str(folder)},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    found = re.findall(r"^(b\d+_\w+_ah)\s*=\s*(\S+)", done.stdout, flags=re.MULTILINE)
    return done, {name: float(value) for name, value in found}


def test_links_and_take_offs():
    same = build_deck(row_of_three(Layout.SAME_END))
    opposite = build_deck(row_of_three(Layout.OPPOSITE_ENDS))
    equal = build_deck(row_of_three(Layout.EQUAL_LEADS))
    assert "Rm1 0 m2 0.0004\n" in same
    assert "Rm2 m2 0 0.0004\n" in opposite
    assert "Rp1" not in equal


def test_zero_resistances_need_no_resistor():
    battery = replace(string("a", 10.0, 0.5), internal_ohm=0.0, lead_ohm=0.0)
    deck = build_deck(Bank((battery,), Wiring(), (steady(1.0),), duration_s=60.0))
    assert re.search(r"^R\S+ .* 0$", deck, flags=re.MULTILINE) is None


def test_saved_vectors_name_every_latch_and_every_blocked_direction():
    vectors = saved_vectors(bare_pair())
    assert vectors[:6] == ["v(bus)", "i(vb1)", "v(d1)", "v(e1)", "v(l1r1)", "v(bd1)"]


def test_only_directions_that_a_rule_blocks_have_a_switch():
    full = Rule(Watch.HIGHEST_CELL, False, 3.65, 1.0, Blocks.CHARGE)
    bank = Bank((string("a", 10.0, 0.5, rules=(full,)),), Wiring(), (steady(1.0),))
    deck = build_deck(bank)
    assert re.search(r"^Sbc1 b1s bus ", deck, flags=re.MULTILINE)
    assert "Sbd1" not in deck


def test_closed_switches_are_part_of_the_lead():
    both = Rule(Watch.LOWEST_CELL, True, 2.5, 1.0, Blocks.BOTH)
    battery = string("a", 10.0, 0.5, rules=(both,))
    deck = build_deck(Bank((battery,), Wiring(), (steady(1.0),)))
    assert "Rb1l b1t b1s 0.00168\n" in deck  # 1.7 mohm less two closed switches of 10 micro-ohm


@pytest.mark.parametrize("field", ["end_s", "max_step_s"])
def test_times_must_be_positive(field):
    with pytest.raises(ParameterError, match=field):
        build_deck(bare_pair(), **{field: np.nan})
