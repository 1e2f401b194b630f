"""A sized battery in words: the headline, what to mind, what to do next, the facts one by one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import reference, units
from aerode.cautions.hydrogen import gas_current
from aerode.measure.battery import corrosion_heat_voltage
from aerode.measure.comparison.entrants import recipe_of, temperature_of
from aerode.usecases.size_at_load import at_the_load, too_much_words
from aerode.usecases.size_liquid import is_lye

if TYPE_CHECKING:
    from aerode.cautions.situation import CellPlan
    from aerode.measure.comparison.study import Study
    from aerode.measure.sizing import NewBuild
    from aerode.records.sizes import BatterySize, SizeOption
    from aerode.usecases.size_load import Load
    from aerode.usecases.size_run_down import RunDown

__all__ = [
    "chance_words",
    "headline_of",
    "next_of",
    "option_line",
    "run_down_warnings",
    "size_facts",
    "warnings_of",
]

_WORTH_SAYING = 0.1
"""Share of the one published stop from which it is said: a judgement."""
_ABOVE = 1.05
"""Row voltage over that of the load from which it is said: a judgement."""
_AS_HARD = 0.8
"""Current density of a run-down over that of the battery below which it was easier on the cell: a judgement."""
_WARM = 5.0
"""Heat of all cells [W] from which a litre or two warms: a judgement."""


def headline_of(chosen: SizeOption, area: float, load: float | None = None) -> str:
    """The battery in one sentence, as predicted; with what the load gets where that is too much for it."""
    row = "1 cell" if chosen.in_series == 1 else f"{chosen.in_series} cells in a row"
    each = "1 electrode" if chosen.electrodes == 1 else f"{chosen.electrodes} electrodes"
    where = "in it" if chosen.in_series == 1 else "in each"
    carry = "carries" if chosen.in_series == 1 else "carry"
    return (
        f"Predicted: {row}, {each} of {units.plain(1e4 * area)} cm² {where}, at {chosen.cell_voltage:.2f} V "
        f"a cell or more, {carry} it with a chance of {chance_words(chosen.chance)}{too_much_words(chosen, load)}"
    )


def chance_words(share: float) -> str:
    """A chance for people; near one, a bound.

    >>> chance_words(0.971), chance_words(0.9986)
    ('97 %', 'more than 99 %')
    """
    return "more than 99 %" if share > 0.99 else f"{100 * share:.0f} %"


def warnings_of(
    answer: BatterySize, build: NewBuild, study: Study, plan: CellPlan, load: Load
) -> tuple[str, ...]:
    """What to mind before anything is bought or built."""
    said = [
        "predicted from readings of minutes: nobody ran it for days; age, scale in the pores, drying out and "
        f"cold are only in the {100 * answer.left:.0f} % that is counted on",
    ]
    if answer.left_from:
        said = [
            f"the {units.plain(100.0 * answer.left)} % that is counted on comes from one cell ({answer.left_from}): cold, another "
            "liquid and the luck of that build are not in it"
        ]
    if build.taken:
        said.append(
            f"the spread between builds is taken as {100 * build.spread:.0f} % (a judgement): "
            + (
                "one build of the recipe says nothing of it"
                if build.builds == 1
                else "these builds cannot tell it"
            )
        )
    stall = reference.published("activated aluminium alloy", "charge_before_stall")
    per = answer.each_cell.per_aluminium_area or 0.0
    limit = 1e4 * (stall.centre or 0.0)
    if limit > 0.0 and per >= _WORTH_SAYING * limit and not is_lye(plan.salt):
        said.append(
            f"{units.plain(per / 3.6e7)} Ah per cm² of aluminium: a published brine cell with little liquid stopped near "
            f"{units.plain(limit / 3.6e7)} Ah/cm² under its own solid"
            + ("; flush it or use more aluminium and liquid" if per > 0.5 * limit else "")
        )
    most = answer.each_cell.corroded_most
    if most is not None:
        said.append(
            f"corrosion was not measured: at the high end that the hydrogen caution counts with (from memory), {units.plain(1e3 * most)} g "
            f"of each cell's aluminium would go in that time, if there is so much, not {units.plain(1e3 * answer.each_cell.corroded)} g; "
            "weigh a wetted piece before and after, and lift the aluminium out between uses"
        )
    said += _electrical_warnings(answer, plan, load)
    said += _heat_warnings(answer, plan)
    temperatures = [
        t
        for e in study.entrants()
        if recipe_of(e.electrode) == answer.recipe and (t := temperature_of(e.run)) is not None
    ]
    if temperatures:
        low, high = (f"{t - 273.15:.0f}" for t in (min(temperatures), max(temperatures)))
        span = high if low == high else f"{low} to {high}"
        said.append(f"the readings were taken at {span} °C; colder gives less")
    if answer.burst and answer.burst.times > 1.5:
        said.append(
            "the cells do not carry the bursts: without the capacitor the voltage breaks down at each"
        )
    if answer.chosen.past_the_top:
        said.append(
            "it works at the greatest power of the cells: a load that asks for a little more makes them collapse"
        )
    return tuple(said)


def run_down_warnings(answer: BatterySize, told: RunDown | None) -> tuple[str, ...]:
    """What a run-down on record does not tell of this battery."""
    if told is None:
        return ()
    if told.share is None:
        return (
            f"{told.words()}, cannot tell what is left: the load steps of that electrode were not read at such a voltage; "
            "read smaller resistors, or larger ones, until they reach it",
        )
    said: list[str] = []
    if not told.covers:
        said.append(
            f"{told.words()}, was shorter than the {units.plain(answer.on_time / 3600.0, 3)} h that the load is on: what comes "
            "after nobody read"
        )
    chosen = answer.chosen
    asked = chosen.current / (chosen.electrodes * answer.electrode_area)
    if told.density is not None and told.density < _AS_HARD * asked:
        said.append(
            f"it ran at {units.plain(0.1 * told.density)} mA/cm², the battery at {units.plain(0.1 * asked)}: run one down as hard as that"
        )
    return tuple(said)


def _electrical_warnings(answer: BatterySize, plan: CellPlan, load: Load) -> list[str]:
    """What the load meets from the row, loaded and open; that nothing may charge it."""
    said: list[str] = []
    row = answer.chosen.load_fresh_high
    if row is not None and load.voltage and row > _ABOVE * load.voltage:
        said.append(
            f"nothing stands between: the load gets {at_the_load(answer.chosen)}, not {units.plain(load.voltage, 3)} V; one "
            "without a regulator takes more current for it, and more aluminium"
        )
    if plan.open_circuit_voltage is not None:
        top = answer.chosen.in_series * plan.open_circuit_voltage.high
        what = "load" if load.through is not None else "converter"
        said.append(
            f"with the load off the row stands at up to {units.plain(top, 3)} V: the {what} must take that"
        )
    said.append(
        "no charger, supply or solar panel across it: it takes new aluminium (common practice, no source)"
    )
    return said


def _heat_warnings(answer: BatterySize, plan: CellPlan) -> list[str]:
    """Where all cells together warm what they stand in: the high end of corrosion counts."""
    each, gas = answer.each_cell, gas_current(plan)
    eaten = each.heat_of_corrosion
    if gas is not None:
        eaten = max(eaten, gas[0].high / plan.cells * corrosion_heat_voltage())
    whole = answer.chosen.in_series * (each.heat + eaten)
    if whole < _WARM:
        return []
    return [
        f"all cells together may make {units.plain(whole)} W of heat, corrosion counted: warm liquid eats the aluminium faster, "
        "which warms it more; a wide open bath, a thermometer in it, no closed box, and lift the aluminium out when it warms"
    ]


def next_of(answer: BatterySize, build: NewBuild, study: Study) -> tuple[str, ...]:
    """What would make the answer firmer, and what to make."""
    said = [
        "run one cell down over its resistor for a few days, and log it: that measures what is left, and what the "
        "aluminium gives"
        if not answer.left_from
        else "run a second cell of the recipe down for as long as the battery has to last: one says nothing of the next",
    ]
    whole = answer.chosen.in_series * answer.chosen.electrodes
    mixes = {
        e.layers[0].mix
        for e in study.electrodes
        if recipe_of(e) == answer.recipe and e.layers and e.layers[0].mix
    }
    if len(mixes) == 1:
        said.append(
            f"dose the mix {mixes.pop()} for {whole} electrodes of that area: its sheet gives the weights and the cost"
        )
    if build.taken or build.builds < 3:
        said.append(
            f"read one more build of {answer.recipe}: the spread between builds decides how many electrodes are enough"
        )
    return tuple(said)


def option_line(one: SizeOption) -> str:
    """One battery that was tried, in a line."""
    mark = (
        "; chosen" if one.chosen else "; at or past the greatest power" if one.past_the_top else ""
    )
    row = "1 cell" if one.in_series == 1 else f"{one.in_series} cells"
    fresh = (
        "" if one.load_fresh is None else f", {units.plain(one.load_fresh, 3)} V fresh at the load"
    )
    return (
        f"{row} of {one.electrodes} electrode{'' if one.electrodes == 1 else 's'}, at {one.cell_voltage:.2f} V each or more, "
        f"{_milli(one.current, 'A')}, {_gram(one.aluminium)} of aluminium for the current, "
        f"chance {chance_words(one.chance)}{fresh}{mark}"
    )


def size_facts(answer: BatterySize) -> list[tuple[str, str]]:
    """The facts of a sized battery, each with its label; of one cell where nothing else is said.

    Parameters
    ----------
    answer : BatterySize

    Returns
    -------
    list of (str, str)
    """
    chosen, each = answer.chosen, answer.each_cell
    both = chosen.in_series * chosen.electrodes
    gets = at_the_load(chosen)
    facts = [
        *([("Voltage at the load", gets)] if gets else []),
        ("Power out of the cells", f"{_milli(answer.power, 'W')} while the load is on"),
        (
            "Current through each cell",
            f"{_milli(chosen.current, 'A')}, at {chosen.cell_voltage:.2f} V or more at its tabs",
        ),
        (
            "Charge of each cell",
            f"{units.plain(each.charge / 3600.0, 3)} Ah in {_hours(answer.on_time)} on, over {_days(answer.whole_time)}",
        ),
        ("Air electrodes in all", f"{both} of {units.plain(1e4 * answer.electrode_area)} cm²"),
        (
            "What nine in ten new builds exceed",
            f"{units.plain(0.1 * chosen.exceeded)} mA/cm² at {chosen.cell_voltage:.2f} V; {100 * answer.left:.0f} % of it is counted on",
        ),
        (
            "Aluminium of each cell",
            f"{_gram(each.used)} for the current, {_gram(each.corroded)} more for corrosion"
            + (f", up to {_gram(each.corroded_most)}" if each.corroded_most else ""),
        ),
        ("Water used by each cell", _gram(each.water)),
        (
            "Solid made in each cell",
            _gram(each.hydroxide)
            + (f", up to {_gram(each.hydroxide_most)}" if each.hydroxide_most else "")
            + " dry; wet it holds several times as much water",
        ),
        (
            "Hydrogen of each cell",
            f"{units.plain(1e3 * each.hydrogen)} L with that corrosion, up to {units.plain(1e3 * each.hydrogen_most)} L at the high end of it"
            if each.hydrogen_most
            else f"up to {units.plain(1e3 * each.hydrogen)} L, if all that corrodes makes gas",
        ),
        (
            "Heat of each cell",
            f"{_milli(each.heat, 'W')} while the load is on, and {_milli(each.heat_of_corrosion, 'W')} of corrosion",
        ),
    ]
    if answer.burst is not None:
        facts.append(
            (
                "A burst would ask of each cell",
                f"{_milli(answer.burst.current, 'A')}, {units.plain(answer.burst.times)} times its current",
            )
        )
        if answer.burst.capacitance is not None:
            facts.append(
                (
                    "Capacitor across the load",
                    f"at least {_farad(answer.burst.capacitance)} for a fall of {units.plain(answer.burst.drop or 0.0)} V",
                )
            )
    return facts


def _milli(value: float, unit: str) -> str:
    return f"{units.plain(value)} {unit}" if value >= 1.0 else f"{units.plain(1e3 * value)} m{unit}"


def _gram(value: float) -> str:
    return f"{units.plain(1e3 * value)} g"


def _farad(value: float) -> str:
    return f"{units.plain(value)} F" if value >= 1.0 else f"{units.plain(1e3 * value)} mF"


def _hours(seconds: float) -> str:
    return f"{units.plain(seconds / 3600.0, 3)} h"


def _days(seconds: float) -> str:
    days = seconds / 86400.0
    return f"{units.plain(days, 3)} day{'' if days == 1.0 else 's'}"
