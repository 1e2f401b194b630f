"""A battery for a load, from the readings of a recipe's electrodes: cells, electrodes, aluminium, hydrogen."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.cautions.measured_corrosion import corrosion_on_file
from aerode.cautions.situation import CellPlan, Situation, Span
from aerode.cautions.views import air_of
from aerode.errors import CannotTellError, InputError, NotFoundError, some_of
from aerode.measure.battery import (
    Loss,
    Wanted,
    battery_options,
    burst_part,
    consumption,
    corrosion_heat_voltage,
    mean_area,
)
from aerode.measure.battery_builds import lead_of, open_circuits
from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.short_circuit import short_circuit_density
from aerode.records.places import People, Room
from aerode.records.sizes import BatterySize, BurstPart, Consumption, GivenAt, SizeOption
from aerode.usecases.compare_study import study_of
from aerode.usecases.newest_pieces import newest_pieces
from aerode.usecases.process import Desk, cautions_for, sources_of
from aerode.usecases.size_at_load import gentler_words
from aerode.usecases.size_liquid import Liquid, at_the_high_end, liquid_of, liquid_warnings
from aerode.usecases.size_load import LEAST_SHARE, Load, SizeQuestion, load_of, share_of, within
from aerode.usecases.size_run_down import run_down_of
from aerode.usecases.size_words import (
    headline_of,
    next_of,
    run_down_warnings,
    warnings_of,
)

if TYPE_CHECKING:
    from aerode.measure.comparison.study import Study
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.size_run_down import RunDown

__all__ = ["SizeQuestion", "size_battery"]

_CHANCE, _LEFT, _USED = 0.9, 0.6, 0.5
"""Wanted chance; share of the current left when it is needed; of the aluminium that gives current: judgements,
each named in the answer."""


def size_battery(bench: BenchFile, question: SizeQuestion) -> BatterySize:
    """Cells in a row, electrodes in each, and what they use up and make, for a load over days.

    Parameters
    ----------
    bench : BenchFile
        With at least one electrode of the recipe that was read with load steps.
    question : SizeQuestion
        As typed. The power, or current and voltage of the load, and for how many days, must be there.

    Returns
    -------
    BatterySize

    Raises
    ------
    InputError, RangeError, UnitError
        Something is missing or cannot be taken.
    NotFoundError
        No such recipe was measured.
    CannotTellError
        The readings cannot tell it.

    Notes
    -----
    At each cell voltage that was read, what the next build gives is a distribution
    (`aerode.measure.sizing`); for each number of cells in a row the fewest electrodes are counted
    with which all cells give their share of the voltage that is needed, with the wanted chance.
    Chosen is the battery with the fewest electrodes in all, of equals the fewest cells, and never
    one that works at or below the voltage of the greatest power, where a converter that asks for a
    little more makes the cell collapse.
    """
    desk = Desk()
    load = load_of(question, desk)
    study = study_of(bench, newest_pieces(bench))
    recipe = _recipe(study, question.recipe)
    area = _electrode_area(study, recipe, question, desk)
    chance = share_of(
        question.chance, desk, "chance that all cells carry it", _CHANCE, "--chance", most=0.999
    )
    told = None if question.left.strip() else run_down_of(bench, study, recipe, load.on_time)
    left, left_from = _left(question, desk, told)
    lead = _lead(study, recipe, question, desk)
    loss = _loss(study, recipe, question, desk)
    wanted = Wanted(
        power=load.power, needs=load.needs, on_time=load.on_time, whole_time=load.whole_time, area=area,
        chance=chance, left=left, through=load.through, lead=lead,
    )  # fmt: skip
    options, builds = battery_options(study, recipe, wanted)
    chosen = next(one for one in options if one.chosen)
    build = builds.build(chosen.cell_voltage)
    plates = _plates(question, desk, chosen, area)
    each = consumption(wanted, chosen, loss, plates)
    liquid = liquid_of(bench, study, recipe, question.salt)
    plan = _plan(study, recipe, question, desk, chosen, plates, each, liquid)
    each = at_the_high_end(each, plan, load.whole_time)
    plan = replace(
        plan, aluminium_mass=each.used + (each.corroded_most or each.corroded),
        hydroxide=each.hydroxide_most or each.hydroxide,
        corrosion_taken=each.heat_of_corrosion / corrosion_heat_voltage() / plates if loss.rate is None else None,
        short_circuit=_short_circuit(study, recipe, chosen, area),
        load_voltage=load.voltage, load_gets=_load_gets(chosen), gentler=gentler_words(options, load.voltage),
    )  # fmt: skip
    answer = BatterySize(
        headline=headline_of(chosen, area, load.voltage),
        recipe=recipe,
        pieces=tuple(e.name for e in study.electrodes if recipe_of(e) == recipe),
        power=chosen.in_series
        * (chosen.cell_voltage - chosen.current * lead / chosen.electrodes)
        * chosen.current,
        on_time=load.on_time,
        whole_time=load.whole_time,
        load_voltage=load.voltage,
        electrode_area=area,
        lead=lead,
        wanted_chance=chance,
        left=left,
        left_from=left_from,
        spread=build.spread,
        spread_taken=build.taken,
        chosen=chosen,
        options=options,
        given=tuple(
            GivenAt(cell_voltage=v, level=math.exp(one.level), exceeded=one.exceeded_by(0.9))
            for v, one in builds.at.items()
        ),
        each_cell=each,
        burst=_burst(load, chosen, lead),
        cautions=cautions_for(_situation(bench, question, plan)),
        assumed=tuple(desk.assumed),
        sources=sources_of(desk.assumed, "nestoridi_2009"),
        understood=tuple(desk.understood),
    )
    return replace(
        answer,
        warnings=(
            *liquid_warnings(liquid),
            *warnings_of(answer, build, study, plan, load),
            *run_down_warnings(answer, told),
        ),
        next_steps=next_of(answer, build, study),
    )


_OF_LEFT = "share of the measured current that is left: age, cold"


def _left(question: SizeQuestion, desk: Desk, told: RunDown | None) -> tuple[float, str]:
    """Share of the current that is left, and the run-down that told it: as said, as run down, else a judgement.

    A run-down that was shorter than the battery has to last can only take from the judgement.
    """
    if told is None or told.share is None:
        return share_of(question.left, desk, _OF_LEFT, _LEFT, "--left"), ""
    share = told.share if told.covers else min(told.share, _LEFT)
    short = "" if told.covers else (
        f"; it was shorter than the battery has to last, so no more than the usual {100 * _LEFT:g} % (a judgement) is taken"
    )  # fmt: skip
    desk.say(
        _OF_LEFT, f"{units.plain(100.0 * share)} %, from {told.words()}: {units.plain(100.0 * told.share)} % left{short}", "--left", "",
    )  # fmt: skip
    return max(share, LEAST_SHARE), told.words()


def _recipe(study: Study, asked: str) -> str:
    """The recipe asked for, or the only one."""
    known = list(dict.fromkeys(recipe_of(e) for e in study.electrodes))
    if asked in known:
        return asked
    by_piece = {e.name: recipe_of(e) for e in study.electrodes}
    if asked in by_piece:
        return by_piece[asked]
    if not asked and len(known) == 1:
        return known[0]
    if not known:
        raise CannotTellError(
            "no electrode has been read with load steps yet", where="recipe",
            next_step="measure one: a battery is sized from what its electrodes gave",
        )  # fmt: skip
    missing = NotFoundError if asked else InputError
    raise missing(
        f"no measured recipe is called {asked!r}" if asked else "there are several recipes: which one",
        where="recipe", allowed=some_of(known), next_step="name one of them, or one of its electrodes",
    )  # fmt: skip


def _electrode_area(study: Study, recipe: str, question: SizeQuestion, desk: Desk) -> float:
    """Area of one electrode of the battery: as said, else as those that were measured."""
    said = within(
        desk, question.area, "m^2", "area of one electrode", ("cm^2",), 1e-6, 10.0, "1 mm² to 10 m²"
    )
    if said is not None:
        return said
    area = mean_area(study, recipe)
    if area is None:
        raise CannotTellError(
            f"no electrode of {recipe} has a wetted area", where="area",
            next_step="measure the area inside the gasket, or say the area of one electrode",
        )  # fmt: skip
    desk.say(
        "area of one electrode",
        f"{units.plain(1e4 * area)} cm², as those that were read",
        "--area",
        "",
    )
    return area


def _plates(question: SizeQuestion, desk: Desk, chosen: SizeOption, area: float) -> float:
    """Wetted aluminium of each cell, both faces [m^2]."""
    said = within(
        desk,
        question.aluminium_area,
        "m^2",
        "wetted aluminium of each cell",
        ("cm^2",),
        1e-6,
        1000.0,
        "1 mm² to 1000 m²",
    )
    if said is not None:
        return said
    found = 2.0 * chosen.electrodes * area
    desk.say(
        "wetted aluminium of each cell", f"{units.plain(1e4 * found)} cm²: a sheet as large as its air electrodes, both faces",
        "--aluminium-area", "",
    )  # fmt: skip
    return found


_OF_LEAD = "lead of each electrode"


def _lead(study: Study, recipe: str, question: SizeQuestion, desk: Desk) -> float:
    """Resistance of the lead of each electrode [ohm]: as said, as on its pieces, else as common practice has it."""
    said = within(desk, question.lead, "ohm", _OF_LEAD, ("ohm",), 1e-4, 100.0, "0.1 mohm to 100 ohm")  # fmt: skip
    if said is not None:
        return said
    found = lead_of(study, recipe)
    taken = f"{units.plain(found.resistance)} ohm, the mean of those measured on its pieces"
    if not found.measured:
        taken = f"{units.plain(found.resistance)} ohm: common practice, no source; those of its pieces were not measured"
        if found.resistance == 0.0:
            taken = "in the readings, as part of each cell: nobody measured it; a longer or thinner one gives less"
    desk.say(_OF_LEAD, taken, "--lead", "")
    return found.resistance


def _loss(study: Study, recipe: str, question: SizeQuestion, desk: Desk) -> Loss:
    """As said; else as it was measured on the cells of the recipe; else half and half, a judgement."""
    if not question.used.strip():
        mine = [
            e.cell
            for e in study.entrants()
            if recipe_of(e.electrode) == recipe and e.cell is not None
        ]
        rates = [
            found.high for cell in mine if (found := corrosion_on_file(cell.corrosion)) is not None
        ]
        if rates:
            desk.say(
                "corrosion of the aluminium", f"{units.plain(max(rates))} A/m², the most that was measured on its cells, all the time",
                "--used", "",
            )  # fmt: skip
            return Loss(rate=max(rates), beside=0.0)
    used = share_of(
        question.used, desk, "share of the aluminium that gives current", _USED, "--used"
    )
    return Loss(rate=None, beside=1.0 / used - 1.0)


def _burst(load: Load, chosen: SizeOption, lead: float) -> BurstPart | None:
    """What a burst would ask of the cells; None where none was named."""
    if load.burst is None or load.voltage is None:
        return None
    current, duration = load.burst
    return burst_part(
        chosen, current=current, duration=duration, voltage=load.voltage, passed_on=load.passed_on,
        power=load.power, direct=load.through is not None, lead=lead,
    )  # fmt: skip


def _plan(
    study: Study, recipe: str, question: SizeQuestion,
    desk: Desk, chosen: SizeOption, plates: float,
    each: Consumption, liquid: Liquid,
) -> CellPlan:  # fmt: skip
    """The battery as the cautions look at it."""
    mine = [e for e in study.entrants() if recipe_of(e.electrode) == recipe]
    rates = [
        found
        for e in mine
        if e.cell is not None and (found := corrosion_on_file(e.cell.corrosion)) is not None
    ]
    return CellPlan(
        name=f"battery of {recipe}",
        salt=liquid.salt,
        mass_fraction=liquid.mass_fraction,
        aluminium_area=plates,
        aluminium_mass=each.used + each.corroded,
        corrosion=max(rates, key=lambda span: span.high, default=None),
        in_series=chosen.in_series,
        open_circuit_voltage=Span(low=min(rest), high=max(rest))
        if (rest := open_circuits(study, recipe))
        else None,
        enclosure=within(
            desk,
            question.box,
            "m^3",
            "free volume of the box",
            ("L",),
            1e-6,
            1000.0,
            "1 mL to 1000 m³",
        ),
    )


def _load_gets(chosen: SizeOption) -> Span | None:
    """What a load with nothing before it gets from the fresh row [V]."""
    if chosen.load_fresh is None or chosen.load_fresh_high is None:
        return None
    return Span(low=chosen.load_fresh, high=chosen.load_fresh_high, how="predicted")


def _short_circuit(study: Study, recipe: str, chosen: SizeOption, area: float) -> Span | None:
    """Current of the row into a short [A]: the electrodes side by side give their currents together."""
    found = short_circuit_density(study, recipe)
    if found is None:
        return None
    whole = chosen.electrodes * area
    return Span(low=found[0] * whole, high=found[1] * whole, how="from load steps")


def _situation(bench: BenchFile, question: SizeQuestion, plan: CellPlan) -> Situation:
    """Where the battery will stand, and who is there."""
    rooms = bench.all(Room)
    room = (
        bench.get(Room, question.room) if question.room else rooms[0] if len(rooms) == 1 else None
    )
    people = set(room.people) if room else set[People]()
    return Situation(
        about=(plan.name,), cells=(plan,), air=air_of(room), class_mode=People.CLASS in people,
        children=bool(people & {People.CLASS, People.CHILDREN}), pregnancy=People.PREGNANCY in people,
    )  # fmt: skip
