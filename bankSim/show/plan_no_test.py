"""Words for a load that makes no capacity test, and for one that would."""

from bankSim.model.battery import Battery
from bankSim.model.chemistry import is_lead
from bankSim.model.rule import Watch
from bankSim.show.blocks import Section
from bankSim.show.plan_words import end_of
from bankSim.show.words import whole_or
from bankSim.sim.numbers import number, quoted, span
from bankSim.study.bench_plan import BY_VOLTAGE, BenchPlan

HOURS = {True: 20.0, False: 5.0}  # of a usual test: lead-acid, others; common practice, from memory
ROOM = 0.8  # of a limit of current that must not end the test; choice
RULES = {
    Watch.DISCHARGE_CURRENT.value: "by its rule against too much current",
    Watch.TEMPERATURE.value: "by its rule of temperature",
}


def not_one(plan: BenchPlan) -> str:
    """Return the headline: that it is no capacity test, why, and what would be one.

    Parameters
    ----------
    plan : BenchPlan
        One that is none.
    """
    battery = plan.scenario.bank.batteries[0]
    why = RULES.get(plan.ended_by, f"by what {plan.ended_by} it reads")
    how = "" if plan.ended_by in BY_VOLTAGE else f" {why}"
    comes = f"{quoted(battery.name)} {end_of(battery).comes}{how} after about "
    return (
        f"That is no capacity test: {comes}{span(3600.0 * plan.at(50.0))} at {number(plan.end_A)} "
        f"A, with {number(plan.middle_Ah)} Ah given of the {number(plan.capacity_Ah)} Ah that it "
        f"holds when full. {_instead(battery)}"
    )


def no_test(plan: BenchPlan) -> Section:
    """Return what makes a capacity test.

    Parameters
    ----------
    plan : BenchPlan
    """
    lines = (
        "It begins with a full battery, goes on at a steady load, and ends because the charge is "
        "used up: at the lowest cell or battery voltage, not by current or temperature. Where no "
        "rule does that, the tester stops at the maker's lowest voltage.",
        "What came out until then is the capacity. Times, meters and intervals for this load would "
        "say nothing of that, and are left out.",
    )
    return Section("What would be one", lines)


def _instead(battery: Battery) -> str:
    """Name a steady load that every limit of current leaves alone."""
    lead = is_lead(battery.chemistry)
    usual_A = battery.rated_C / 3600.0 / HOURS[lead]
    limits = [
        rule.threshold for rule in battery.rules
        if rule.watches is Watch.DISCHARGE_CURRENT and not rule.below
    ]  # fmt: skip
    limits += [amps for amps in (battery.continuous_discharge_A, battery.fuse_A) if amps]
    amperes = min([usual_A, *(ROOM * one for one in limits)])
    of_label = f" (its label in {HOURS[lead]:.0f} h)" if amperes == usual_A else ""
    return f"A steady load of {whole_or(amperes)} A{of_label} would be one."
