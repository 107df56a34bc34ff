"""A table handed in at one field changes what that field names, and nothing else."""

from bankSim.screens.answers import checked
from bankSim.screens.bank.tables_form import with_own_table
from bankSim.screens.ready import ready_draft

CURVE = b"state_of_charge,voltage_V\n0,2.9\n1,3.5\n"
OTHER = b"state_of_charge,voltage_V\n0,2.8\n1,3.6\n"
ONE, TWO = (("battery", place, "cell", "ocv_table") for place in (0, 1))


def two_by_one_curve():
    draft = ready_draft("coffee-cart").with_table("curve.csv", CURVE)
    draft = draft.with_values({ONE: "curve.csv", TWO: "curve.csv"})
    assert checked(draft).faults == ()
    return draft


def test_a_file_of_the_same_name_does_not_change_another_battery():
    draft = with_own_table(two_by_one_curve(), TWO, "curve.csv", OTHER)
    tables = dict(draft.tables)
    assert tables[draft.at(ONE)] == CURVE
    assert tables[draft.at(TWO)] == OTHER
    assert draft.at(TWO) == "curve-2.csv"
    assert checked(draft).faults == ()


def test_the_same_table_again_is_shared():
    draft = with_own_table(two_by_one_curve(), TWO, "curve.csv", CURVE)
    assert draft == two_by_one_curve()


def test_a_table_of_its_own_is_replaced_and_leaves_nothing_behind():
    draft = with_own_table(two_by_one_curve(), TWO, "curve.csv", OTHER)
    for number in range(60):
        draft = with_own_table(draft, TWO, f"try {number}.csv", OTHER + b"\n" * number)
    assert sorted(name for name, _ in draft.tables) == ["curve.csv", "try 59.csv"]
    again = with_own_table(draft, TWO, "try 59.csv", CURVE)
    assert dict(again.tables) == {"curve.csv": CURVE, "try 59.csv": CURVE}
