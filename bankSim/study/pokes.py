"""From the numbers of draws in SI to numbers at places in the pool."""

from collections.abc import Callable, Iterator

import numpy as np

from bankSim.kernels import arrays as k
from bankSim.kernels.arrays import Floats, Ints
from bankSim.model.bank import Bank, Layout
from bankSim.model.cell import GAS_CONSTANT_J_MOL_K, MOST_PAIRS
from bankSim.model.load import DAY_S
from bankSim.sim.demand import COLUMN_OF_EXPONENT, cutting_loads
from bankSim.sim.pack import SHUT_WELL_S, curve_grain
from bankSim.study.fields import Columns, Field, base_column
from bankSim.study.pool import Pool

Poke = tuple[Ints, Floats]  # places (j,), values (draws, j)


def pokes(bank: Bank, pool: Pool, columns: Columns) -> Poke:
    """Return where draws differ in the pool, and what each has there.

    Parameters
    ----------
    bank : Bank
    pool : Pool
        Of that bank.
    columns : mapping of Field to array (draws, numbers)

    Returns
    -------
    spots : array (j,)
    values : array (draws, j)
    """
    work = _Work(bank, pool, columns)
    found = [poke for field in columns for poke in work.of(field)]
    draws = max((len(values) for values in columns.values()), default=0)
    spots = [np.empty(0, np.int64), *(places.ravel() for places, _ in found)]
    values = [np.broadcast_to(values, (draws, values.shape[1])) for _, values in found]
    return np.concatenate(spots), np.hstack([np.empty((draws, 0)), *values])


class _Work:
    """Knows what the packed numbers are made of."""

    def __init__(self, bank: Bank, pool: Pool, columns: Columns) -> None:
        self.bank, self.pool, self.columns = bank, pool, columns
        self.cells = [cell for battery in bank.batteries for cell in battery.cells]

    def of(self, field: Field) -> Iterator[Poke]:
        """Yield the pokes of one field; what several fields share is poked by each of them."""
        special = _SPECIAL.get(field)
        if special is not None:
            yield from special(self)
        else:
            array, name = _PLAIN[field]
            yield self.pool.places(array, name)[: self.columns[field].shape[1]], self.columns[field]

    def now(self, field: Field) -> Floats:
        """Return a field of all draws, or the bank's own where draws do not differ."""
        found = self.columns.get(field)
        return base_column(self.bank, field) if found is None else found

    def charge(self) -> Iterator[Poke]:
        yield self.pool.places("cell", "charge"), self.now(Field.CHARGE)
        yield from self.wells()

    def wells(self) -> Iterator[Poke]:
        charge, part = self.now(Field.CHARGE), self.now(Field.AVAILABLE)
        rate = self.now(Field.WELL_RATE)
        stride = np.array([curve_grain(cell.ocv_V) for cell in self.cells]) * charge * part
        ends = np.cumsum([len(battery.cells) for battery in self.bank.batteries])
        firsts = ends - [len(battery.cells) for battery in self.bank.batteries]
        yield self.pool.places("battery", "stride"), np.minimum.reduceat(stride, firsts, axis=1)
        two = np.flatnonzero(base_column(self.bank, Field.AVAILABLE)[0] < 1.0)
        if two.size == 0:
            return
        well_s = np.where(rate > 0.0, 1.0 / np.where(rate > 0.0, rate, 1.0), SHUT_WELL_S)
        places = self.pool.places("pair")[two, k.WELL_SLOT]
        yield places[:, 0], (well_s / (part * charge))[:, two]
        yield places[:, 1], well_s[:, two]
        yield self.pool.places("cell", "bound")[two], 1.0 - part[:, two]

    def soc(self) -> Iterator[Poke]:
        yield self.pool.places("moment")[:, k.SOC], self.columns[Field.SOC]

    def pair_ohm(self) -> Iterator[Poke]:
        yield self.pool.places("pair")[:, :MOST_PAIRS, 0].ravel(), self.columns[Field.PAIR_OHM]

    def pair_time(self) -> Iterator[Poke]:
        yield self.pool.places("pair")[:, :MOST_PAIRS, 1].ravel(), self.columns[Field.PAIR_TIME]

    def activation(self) -> Iterator[Poke]:
        kelvin = self.columns[Field.ACTIVATION] / GAS_CONSTANT_J_MOL_K
        yield self.pool.places("battery", "activation"), kelvin

    def heat(self) -> Iterator[Poke]:
        loss, capacity = self.now(Field.HEAT_LOSS), self.now(Field.HEAT_CAPACITY)
        warm = np.flatnonzero(base_column(self.bank, Field.HEAT_LOSS)[0] > 0.0)
        time_s = capacity / np.where(loss > 0.0, loss, 1.0)
        yield self.pool.places("battery", "heat_time")[warm], time_s[:, warm]
        yield self.pool.places("battery", "heat_loss")[warm], loss[:, warm]

    def link(self) -> Iterator[Poke]:
        if self.bank.wiring.layout is not Layout.EQUAL_LEADS:
            yield self.pool.places("setting")[[k.LINK]], self.columns[Field.LINK]

    def main(self) -> Iterator[Poke]:
        yield self.pool.places("setting")[[k.MAIN]], self.columns[Field.MAIN]

    def temperature(self) -> Iterator[Poke]:
        mean = self.columns[Field.TEMPERATURE]
        yield self.pool.places("setting")[[k.MEAN_K]], mean
        n = len(self.bank.batteries)
        clock_s = self.bank.starts_at_s - self.bank.warmest_s
        at_start = mean + self.bank.swing_K * np.cos(2.0 * np.pi * clock_s / DAY_S)
        yield self.pool.places("now")[:n, k.KELVIN], np.repeat(at_start, n, axis=1)

    def load(self) -> Iterator[Poke]:
        """Yield the sums of all loads in every segment where one with a factor has its amount."""
        scale, loads = self.columns[Field.LOAD], self.bank.loads
        edge = self.pool.bank.edge
        middle, exponents = 0.5 * (edge[:-1] + edge[1:]), self.pool.bank.exponent
        cutting = cutting_loads(self.bank)
        places = self.pool.places("demand")
        for start, group in enumerate([None, *cutting]):
            members = [
                number
                for number, load in enumerate(loads)
                if (load is group if group else load.cut_off is None)
            ]
            for exponent in sorted({loads[number].exponent for number in members}):
                same = [number for number in members if loads[number].exponent == exponent]
                amounts = np.array(
                    [loads[number].amount(middle, self.bank.starts_at_s) for number in same]
                )
                column = COLUMN_OF_EXPONENT.get(exponent)
                if column is None:
                    column = 3 + int(np.searchsorted(exponents, exponent))
                column += start * (3 + exponents.size)
                busy = np.flatnonzero(np.any(amounts != 0.0, axis=0))
                total = np.zeros((len(scale), busy.size))
                for number, amount in zip(same, amounts, strict=True):  # in order: the same bits
                    total += scale[:, [number]] * amount[busy]
                yield places[busy, column], total

    def charger(self) -> Iterator[Poke]:
        scale, chargers = self.columns[Field.CHARGER], self.bank.chargers
        amperes = np.array([one.limit_A or 0.0 for one in chargers])
        watts = np.array([one.sun.peak_W if one.sun else one.limit_W or 0.0 for one in chargers])
        yield self.pool.places("charger", "amperes"), scale * amperes
        yield self.pool.places("charger", "watts"), scale * watts

    def hold(self) -> Iterator[Poke]:
        yield self.pool.places("stage")[:, k.HOLD], self.columns[Field.HOLD]

    def tail(self) -> Iterator[Poke]:
        stages = [stage for charger in self.bank.chargers for stage in charger.stages]
        ends = np.array([stage.tail_A is not None for stage in stages], dtype=bool)
        yield self.pool.places("stage")[ends, k.TAIL], self.columns[Field.TAIL][:, ends]


_PLAIN = {
    Field.OHMIC: ("cell", "ohm_scale"),
    Field.LAG: ("cell", "lag"),
    Field.HYSTERESIS: ("cell", "hysteresis"),
    Field.STANDING: ("cell", "standing"),
    Field.INTERNAL: ("battery", "internal"),
    Field.LEAD: ("battery", "lead"),
    Field.DROP: ("battery", "drop"),
    Field.THRESHOLD: ("rule", "threshold"),
    Field.DELAY: ("rule", "delay"),
    Field.LET_GO: ("rule", "let_go"),
    Field.LET_GO_DELAY: ("rule", "let_go_delay"),
}
_SPECIAL: dict[Field, Callable[[_Work], Iterator[Poke]]] = {
    Field.CHARGE: _Work.charge,
    Field.AVAILABLE: _Work.wells,
    Field.WELL_RATE: _Work.wells,
    Field.SOC: _Work.soc,
    Field.PAIR_OHM: _Work.pair_ohm,
    Field.PAIR_TIME: _Work.pair_time,
    Field.ACTIVATION: _Work.activation,
    Field.HEAT_CAPACITY: _Work.heat,
    Field.HEAT_LOSS: _Work.heat,
    Field.LINK: _Work.link,
    Field.MAIN: _Work.main,
    Field.TEMPERATURE: _Work.temperature,
    Field.LOAD: _Work.load,
    Field.CHARGER: _Work.charger,
    Field.HOLD: _Work.hold,
    Field.TAIL: _Work.tail,
}
