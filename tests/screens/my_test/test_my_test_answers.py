"""Steps 2, 3 and the short questions: the digits are those of the commands."""

import pytest
from my_test_page import (
    LOGS,
    bring,
    button,
    command,
    digests,
    errors,
    open_page,
    said,
    step,
    wait_for,
)

REPEATS = [f"synthetic-newer-repeat-{number}.csv" for number in (1, 2, 3)]


@pytest.fixture
def page(monkeypatch):
    monkeypatch.chdir(LOGS)
    return open_page()


def brought(page, *names):
    bring(page, *((name, (LOGS / name).read_bytes()) for name in names))
    return digests(page, *names)


def test_capacity_verdict(page, offered, capsys):
    page_logs = brought(page, *REPEATS)
    step(page, "capacity")
    page.multiselect(key="capacity logs").set_value(page_logs)
    page.number_input(key="capacity label").set_value(120.0)
    page.selectbox(key="capacity chemistry").set_value("LFP")
    page.multiselect(key="capacity corrections").set_value(["temperature"])
    page.number_input(key="capacity gain").set_value(0.25).run()
    assert not page.exception
    theirs = command(
        capsys, "test", *REPEATS, "--rated-Ah", "120", "--chemistry", "LFP", "--correct",
        "temperature", "--shunt-gain-percent", "0.25",
    )  # fmt: skip
    assert offered["capacity"] == theirs
    assert any("120 Ah is not met" in line for line in said(page))


def test_capacity_of_several_batteries(page, offered, capsys):
    page_logs = brought(page, *REPEATS)
    step(page, "capacity")
    page.multiselect(key="capacity logs").set_value(page_logs).run()
    page.selectbox(key="capacity of").set_value("several batteries of one kind").run()
    assert errors(page) == ["Say for each log which battery it is of, as A, A, B."]
    for digest, word in zip(page_logs, "AAB", strict=True):
        page.text_input(key=f"battery of {digest}").input(word)
    page.run()
    assert offered["capacity"] == command(capsys, "test", *REPEATS, "--units", "A,A,B")


def test_the_only_log_stands_chosen_until_it_is_taken_out(page, offered):
    logs = brought(page, REPEATS[0])
    step(page, "capacity")
    assert page.multiselect(key="capacity logs").value == logs
    assert "capacity" in offered
    page.multiselect(key="capacity logs").set_value([]).run()
    assert page.multiselect(key="capacity logs").value == []
    step(page, "logs")
    step(page, "capacity")
    assert page.multiselect(key="capacity logs").value == []


def test_label_that_cannot_be_is_told_in_words_of_the_page(page):
    logs = brought(page, REPEATS[0])
    step(page, "capacity")
    page.multiselect(key="capacity logs").set_value(logs).run()
    page.number_input(key="capacity label").set_value(100_000.0).run()
    assert len(errors(page)) == 1
    assert "Capacity on the label" in errors(page)[0]
    assert "--" not in errors(page)[0]


def test_snapshot_typed(page, offered, capsys):
    step(page, "snapshot")
    page.text_input(key="snapshot volts").input("2.31 2.52 2.47 2.38")
    page.text_input(key="snapshot Ah").input("148")
    page.number_input(key="snapshot label").set_value(150.0)
    page.number_input(key="snapshot A").set_value(20.0).run()
    theirs = command(
        capsys, "snapshot", "2.31", "2.52", "2.47", "2.38", "--delivered-Ah", "148", "--rated-Ah",
        "150", "--at-A", "20",
    )  # fmt: skip
    assert offered["snapshot"] == theirs
    assert any("Cell 1 was the lowest" in line for line in said(page))
    page.text_input(key="snapshot volts").input("13.1 x").run()
    assert len(errors(page)) == 1


def test_snapshot_from_a_log(page, offered, capsys):
    name = "synthetic-newer-capacity.csv"
    logs = brought(page, name)
    step(page, "snapshot")
    page.radio(key="snapshot how").set_value("from logs with cell voltages").run()
    page.multiselect(key="snapshot logs").set_value(logs).run()
    assert offered["snapshot"] == command(capsys, "snapshot", "--log", name)


def test_gauge(page, offered, capsys):
    step(page, "more")
    page.number_input(key="gauge volts").set_value(12.9)
    page.number_input(key="gauge amps").set_value(10.0).run()
    theirs = command(capsys, "gauge", "--typed-voltage", "12.9", "--at-A", "10")
    assert offered["gauge"] == theirs
    step(page, "logs")
    name = "synthetic-older-capacity.csv"
    brought(page, name)
    step(page, "more")
    page.radio(key="gauge source").set_value("all along a log").run()
    assert offered["gauge"] == command(capsys, "gauge", name)


def test_deeper(page, offered, capsys):
    step(page, "more")
    page.radio(key="more question").set_value(page.radio(key="more question").options[1]).run()
    for side, Ah, cells in (
        ("First battery", "148", "2.50 2.60 2.55 2.52"),
        ("Second battery", "160", "2.21 2.35 2.30 2.40"),
    ):
        page.text_input(key=f"{side} Ah").input(Ah)
        page.text_input(key=f"{side} cells").input(cells)
        page.text_input(key=f"{side} kg").input("16")
    page.run()
    assert not page.exception
    theirs = command(
        capsys, "deeper", "--Ah", "148", "/", "160", "--cells", "2.50", "2.60", "2.55", "2.52",
        "/", "2.21", "2.35", "2.30", "2.40", "--kg", "16", "/", "16",
    )  # fmt: skip
    assert offered["deeper"] == theirs


@pytest.mark.slow
def test_plan(page, offered, capsys):
    step(page, "more")
    page.radio(key="more question").set_value(page.radio(key="more question").options[2]).run()
    wait_for(page, lambda: any(one.key == "plan A" for one in page.number_input))
    place = next(box for box in page.selectbox if box.label == "Battery under test")
    place.set_value(-1).run()
    page.number_input(key="plan A").set_value(10.0)
    page.number_input(key="plan label").set_value(100.0)
    page.selectbox(key="plan chemistry").set_value("LFP")
    page.number_input(key="plan cells").set_value(4).run()
    button(page, "Plan the test").click().run()
    wait_for(page, lambda: "plan" in offered)
    theirs = command(
        capsys, "plan", "--rated-Ah", "100", "--chemistry", "LFP", "--cells-in-series", "4",
        "--load-A", "10",
    )  # fmt: skip
    assert offered["plan"] == theirs
