"""What each battery gives, or takes in where there is no load, over all draws: a table."""

from bankSim.show.blocks import Grid, Section
from bankSim.show.share_rows import only_takes
from bankSim.show.study_words import HIGH, LOW, MIDDLE, bare, bare_of_100
from bankSim.show.words import whole_or
from bankSim.sim.numbers import clean
from bankSim.study.happenings import FirstTimes
from bankSim.study.spread import Band, BatteryChances, SpreadResult, band

TITLE = "What each battery does"
GIVES = (
    "Battery", "Label Ah", "Gives 5 % Ah", "Gives middle", "Gives 95 %", "Locked in Ah",
    "Cuts out first", "Cuts out at all", "after h", "at V",
)  # fmt: skip
TAKES = (
    "Battery", "Label Ah", "Takes 5 % Ah", "Takes middle", "Takes 95 %", "Blocks charge", "after h",
)  # fmt: skip
GIVES_LINE = (
    "Locked in: behind its weakest cell at the end of the run (middle). Cuts out: of 100 cases. "
    "After and at (volts at its own terminals): 5 to 95 %, of the cases in which it does."
)
TAKES_LINE = (
    "Blocks charge: of 100 cases, at least once. After: the first time, 5 to 95 % of the cases in "
    "which it does. Both from the {draws:,} draws run in full."
)


def batteries_section(result: SpreadResult) -> Section:
    """Return what every battery does, the bank in the last row."""
    charging = only_takes(result)
    columns, line = (TAKES, TAKES_LINE) if charging else (GIVES, GIVES_LINE)
    rated = [one.rated_C / 3600.0 for one in result.draws.plan.scenario.bank.batteries]
    happened = _blocks_of(result) if charging else [_cut_outs(one) for one in result.batteries]
    rows = [
        (clean(one.name), whole_or(label), *_points(one.charged if charging else one.delivered),
         *more)
        for one, label, more in zip(result.batteries, rated, happened, strict=True)
    ]  # fmt: skip
    bank = ("bank", whole_or(sum(rated)), *_points(result.main))
    rows.append((*bank, *("-" for _ in columns[len(bank) :])))
    told = line.format(draws=result.traced.fan.draws)
    return Section(TITLE, (told,), Grid(columns, tuple(rows), words=1))


def _points(one: Band) -> tuple[str, ...]:
    return tuple(bare(one, place) for place in (LOW, MIDDLE, HIGH))


def _cut_outs(battery: BatteryChances) -> tuple[str, ...]:
    return (
        bare(battery.stranded, MIDDLE),
        bare_of_100(battery.first),
        bare_of_100(battery.at_all),
        _ends(battery.cut_out_h),
        _ends(battery.voltage, 4),
    )


def _blocks_of(result: SpreadResult) -> list[tuple[str, ...]]:
    """Return of every battery how often and when it blocks its charge."""
    times = {one.name: one for one in result.traced.happenings.charge_blocks}
    return [_block(times.get(one.name)) for one in result.batteries]


def _block(one: FirstTimes | None) -> tuple[str, ...]:
    if one is None:
        return "-", "-"
    return bare_of_100(one.chance), _ends(band("", "h", one.hours, None))


def _ends(one: Band | None, digits: int = 3) -> str:
    if one is None or not one.percentiles:
        return "-"
    return f"{bare(one, LOW, digits)}-{bare(one, HIGH, digits)}"
