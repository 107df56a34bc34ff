"""Files made to exhaust a reader, and values next to nothing: refused in words, and soon."""

import pytest
from pace import within
from scenario_texts import LFP

from bankSim.errors import ScenarioError
from bankSim.measured.log import LogError
from bankSim.measured.read import read_log
from bankSim.scenario.columns import TableError
from bankSim.scenario.read import parse_scenario, read_scenario
from bankSim.scenario.tables import read_ocv_table
from bankSim.sim.run import simulate
from tests.hostile.judge import check_result
from tests.hostile.refusals import of_scenario

SOON_S = 3.0

BOMBS = {
    "deep arrays": "x = " + "[" * 100_000,
    "deep tables": "x = " + "{a=" * 5_000 + "1" + "}" * 5_000,
    "deep headers": "[" + "a." * 3_000 + "a]\n",
    "a huge array": "x = [" + "1," * 400_000 + "]",
    "a giant number": LFP.replace("100.0", "9" * 4_000),
    "a long key": "k" * 1_000_000 + " = 1",
    "a long text": f'title = "{"x" * 1_000_000}"\n' + LFP,
    "many faults": "".join(f"k{n} = {n}\n" for n in range(20_000)),
    "many batteries": LFP * 2_000,
    "many empty batteries": "[[battery]]\n" * 20_000,
}


@pytest.mark.parametrize("name", BOMBS)
def test_bombs_are_refused_soon(name, tmp_path):
    with within(SOON_S), pytest.raises(ScenarioError) as caught:
        parse_scenario(BOMBS[name], tmp_path, "bank.toml")
    assert len(caught.value.faults) <= 101
    assert of_scenario(caught.value.faults, "bank.toml") == []


@pytest.mark.parametrize("word", ["9" * 150_000, "9" * 150_000 + "x", "1" * 150_000 + ".e"])
def test_a_number_without_end_in_a_table(word, tmp_path):
    file = tmp_path / "curve.csv"
    file.write_text(f"state_of_charge,voltage_V\n0,2.5\n1,{word}\n")
    told = r"row 3: voltage_V = .* expected a number"
    with within(SOON_S), pytest.raises(TableError, match=told):
        read_ocv_table(file)


def test_rows_of_a_curve_without_a_step_between_them(tmp_path):
    file = tmp_path / "curve.csv"
    file.write_text("state_of_charge,voltage_V,ohmic_mohm\n0,2.5,48\n5e-324,2.8,42\n1,3,40\n")
    with pytest.raises(TableError, match=r"row 3: .* expected strictly rising values, 1e-09"):
        read_ocv_table(file)


def test_a_capacity_next_to_nothing(tmp_path):
    with pytest.raises(ScenarioError, match=r"rated_capacity_Ah = 5e-324; .*0.01 to 10000 Ah"):
        parse_scenario(LFP.replace("100.0", "5e-324"), tmp_path, "bank.toml")


def test_a_load_that_is_too_much_from_the_first_instant(tmp_path):
    file = tmp_path / "bank.toml"
    file.write_text(LFP + "[[load]]\npower_W = 1_000_000\n")
    result = simulate(read_scenario(file))
    check_result(result)
    (one,) = result.batteries
    assert result.end_time_s == 0.0
    assert one.coldest_C == pytest.approx(25.0)
    assert 3.0 < one.lowest_cell_voltage_V < 3.7


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
@pytest.mark.parametrize("odd", ["1e308", "-1e308", "99999999999999999999"])
@pytest.mark.parametrize("column", [1, 2])
def test_readings_beyond_all_sums_are_left_out(odd, column, tmp_path):
    rows = [[f"{60 * n}", f"{13 - 0.01 * n:.2f}", "-5"] for n in range(40)]
    rows[20][column] = odd
    file = tmp_path / "log.csv"
    file.write_text("time_s,voltage_V,current_A\n" + "\n".join(map(",".join, rows)) + "\n")
    log = read_log(file)
    assert log.count == 39
    # closed form: 5 A over the time between the first row and the last one
    assert log.counted_Ah()[-1] == pytest.approx(5.0 * 39 * 60 / 3600.0)
    assert any(one.rows == (22,) and "no readable" in one.text for one in log.findings)


def test_a_log_of_one_endless_line(tmp_path):
    file = tmp_path / "log.csv"
    file.write_text("time_s,voltage_V,current_A\n" + "1," * 2_000_000)
    with within(2.0 * SOON_S), pytest.raises(LogError, match="expected"):
        read_log(file)


def test_a_log_in_which_no_battery_shows_a_voltage(tmp_path):
    file = tmp_path / "log.csv"
    file.write_text("clock\tV\tA\n0.01\t-0.018\t-0.004\n0.02\t-1e-7\t-953\n0.03\t-4e-6\t0.18\n")
    assert read_log(file).count == 3


def test_a_log_without_a_single_whole_row(tmp_path):
    file = tmp_path / "log.csv"
    row = "0.00280349,24.893027396538944,3.3218,0.0036,3.3048,0.00166538"
    file.write_text(f"da\x1ee,time,voltage,current,cell 1,cell 2\n{row}\n")
    with pytest.raises(LogError, match="expected"):
        read_log(file)
