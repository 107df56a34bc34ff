"""Charging while hot."""

from collections.abc import Iterator

import numpy as np

from bankSim.model.cell import ZERO_C_K
from bankSim.model.chemistry import chemistry_of, is_lead
from bankSim.sim.numbers import number, quoted, span
from bankSim.sim.result import Caution, Result
from bankSim.sim.returns import column, time_above

# Data sheets of lithium cells usually end charging at 45 degC; lead-acid wants its charge voltage
# lowered by some 4 mV a cell and K above 25 degC (both common practice, no source).
LITHIUM_C, LEAD_C, REFERENCE_C = 45.0, 40.0, 25.0
# No maker of lithium batteries lets them be charged above that (common practice, no source).
NEVER_C = 60.0
OVER = f", and none allows it above {NEVER_C:.0f} degrees C"
LEAD_V_PER_K = 0.004
LEAST_S = 600.0
CHARGED_PER_H = 0.005  # of the label capacity: less is no charging


def of_heat(result: Result) -> Iterator[Caution]:
    """Warn of batteries that are charged while hot."""
    for number_of, battery in enumerate(result.scenario.bank.batteries):
        chemistry = chemistry_of(battery.chemistry)
        lead = is_lead(battery.chemistry)
        lithium = chemistry is not None and chemistry.is_lithium
        limit_C = LEAD_C if lead else LITHIUM_C
        warm_C = column(result.trace, number_of, 3) - ZERO_C_K
        charging = -column(result.trace, number_of, 0) * 3600.0 > CHARGED_PER_H * battery.rated_C
        hot_s = time_above(result.trace[:, 0], np.where(charging, warm_C - limit_C, -1.0), 0.0)
        if hot_s <= LEAST_S:
            continue
        hottest_C = float(warm_C[charging].max())
        less_V = LEAD_V_PER_K * len(battery.cells) * (hottest_C - REFERENCE_C)
        yield Caution(
            "charged while hot",
            "danger" if lithium and hottest_C > NEVER_C else "warning",
            hottest_C,
            limit_C,
            "degC",
            f"{quoted(battery.name)} is charged at up to {number(hottest_C)} degrees C, above "
            f"{number(limit_C, 2)} degrees C for {span(hot_s)} in all"
            + (
                "; a lead-acid battery that is hot draws more and more current at a fixed voltage, "
                "heats itself further and dries out."
                if lead
                else f"; {'if it is lithium, ' if chemistry is None else ''}makers usually end "
                f"charging there{OVER if hottest_C > NEVER_C else ''}."
            ),
            (
                f"Use a charger that measures the battery's temperature: there it wants about "
                f"{number(less_V, 2)} V less than at {number(REFERENCE_C, 2)} degrees C. Give it "
                "air."
                if lead
                else "Give it air and shade, charge with less current or when it is cooler, and "
                "follow its maker's limit."
            ),
        )
