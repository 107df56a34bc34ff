"""Numbers of cells that look like a slip are remarked on; worn and unlike cells are not."""

import pytest
from scenario_texts import LFP, TABLE_ONLY, read

AGM = '[[battery]]\nchemistry = "AGM"\ncells_in_series = 6\nrated_capacity_Ah = 100\n'
FOUR = "[[battery.cells]]\n" * 3 + "[[battery.cells]]\n{}\n"


def remarks(text, folder):
    words = ("does not go with a label", "times that of a typical new cell")
    return [one for one in read(text, folder).remarks if any(word in one for word in words)]


@pytest.mark.parametrize(
    ("text", "where"),
    [
        (LFP + "[battery.cell]\ncapacity_Ah = 150\n", None),
        (LFP + "[battery.cell]\ncapacity_Ah = 151\n", "battery[1].cell.capacity_Ah = 151 "),
        (LFP + "[battery.cell]\ncapacity_Ah = 1000\n", "battery[1].cell.capacity_Ah = 1000 "),
        (LFP + "[battery.cell]\ncapacity_Ah = 10\n", "battery[1].cell.capacity_Ah = 10 "),
        (LFP + "[battery.cell]\ncapacity_Ah = 11\n", None),
        (LFP + FOUR.format("capacity_Ah = 9"), "battery[1].cells[4].capacity_Ah = 9 "),
        (LFP + FOUR.format("capacity_Ah = 60"), None),
        # the label beside a worn battery is that of the new one
        (LFP + "capacity_fraction = 0.5\n" + FOUR.format("capacity_Ah = 90"), None),
        # both wells of lead-acid hold 108 Ah
        (AGM + "[battery.cell]\ncapacity_Ah = 160\n", None),
        (AGM + "[battery.cell]\ncapacity_Ah = 163\n", "battery[1].cell.capacity_Ah = 163 "),
        # no label, nothing to hold it against
        (TABLE_ONLY + "[[battery.cells]]\n[[battery.cells]]\ncapacity_Ah = 99\n", None),
        (TABLE_ONLY.replace("= 2\n", "= 2\nrated_capacity_Ah = 100\n", 1),
         "battery[1].cell.capacity_Ah = 10 "),
    ],
)  # fmt: skip
def test_a_capacity_beside_its_label(text, where, tmp_path):
    found = remarks(text, tmp_path)
    assert len(found) == (where is not None)
    if where is not None:
        assert found[0].startswith(f"{where}does not go with a label of 100 Ah: cells in series ")
        little = " = 9 " in where or " = 10 " in where
        assert found[0].endswith("a slip, or the cell is worn out." if little else "is a slip.")


@pytest.mark.parametrize(
    ("text", "where"),
    [
        # LFP of 100 Ah: 0.69 mohm a new cell
        (LFP + "[battery.cell]\nohmic_mohm = 4.1\n", None),
        (LFP + "[battery.cell]\nohmic_mohm = 4.2\n", "battery[1].cell.ohmic_mohm = 4.2 is 6.1 "),
        (LFP + FOUR.format("ohmic_mohm = 20"), "battery[1].cells[4].ohmic_mohm = 20 is 29 "),
        # a third of the size, three times the resistance
        (LFP.replace("100.0", "33.3") + "[battery.cell]\nohmic_mohm = 12\n", None),
        # nothing is known without a chemistry, nor is one cell taken for the battery
        (TABLE_ONLY.replace("ohmic_mohm = 5.0", "ohmic_mohm = 500.0"), None),
        (LFP.replace("= 4", "= 1") + "[battery.cell]\nohmic_mohm = 20\n", None),
    ],
)
def test_a_resistance_beside_that_of_a_new_cell(text, where, tmp_path):
    found = remarks(text, tmp_path)
    assert len(found) == (where is not None)
    if where is not None:
        assert found[0].startswith(f"{where}times that of a typical new cell (0.69 mohm). It is ")
        assert found[0].endswith("the battery has 4 of them.")


def test_one_remark_is_enough_for_all_cells(tmp_path):
    cells = "[[battery.cells]]\ncapacity_Ah = 900\nohmic_mohm = 20\n" * 4
    assert len(remarks(LFP + cells, tmp_path)) == 2


@pytest.mark.parametrize(
    ("limit", "tail_A", "told"),
    [
        # 70 W are 5 A at 14 V
        ("limit_W = 70", 4.9, ""), ("limit_W = 70", 5.0, "5 A that 70 W give there."),
        ("sun = { peak_W = 70, rise = '06:00', set = '18:00' }", 6.0, "5 A that 70 W give there."),
        ("sun = { peak_W = 70, rise = '06:00', set = '18:00' }", 4.0, ""),
        ("limit_A = 6", 5.0, ""),
    ],
)  # fmt: skip
def test_a_tail_that_a_power_never_passes_at_the_hold(limit, tail_A, told, tmp_path):
    stages = f"stages = [{{ hold_V = 14, until_tail_A = {tail_A} }}, {{ hold_V = 13.5 }}]\n"
    scenario = read(f"{LFP}[[charger]]\n{limit}\n{stages}", tmp_path)
    start = "charger[1].stages[1] ends as soon as it reaches 14 V: until_tail_A = "
    found = [one for one in scenario.remarks if "ends as soon" in one]
    assert found == ([f"{start}{tail_A:g} is no less than the {told}"] if told else [])
