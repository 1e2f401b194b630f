"""The electrodes to build next, from the recipes that were read: worth, limits, hazards, stock."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError, CannotTellError, InputError, RangeError
from aerode.measure.comparison import typed
from aerode.measure.comparison.asking import kept_for_recipes
from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.comparison.factor_effects import amounts_of
from aerode.measure.comparison.joint import Priors
from aerode.measure.comparison.leaks import leak_lines
from aerode.measure.comparison.study import common_voltage, measure_study
from aerode.measure.comparison.values import Response
from aerode.measure.next_batch import choose_batch, plan_next, ratio_between
from aerode.records.cautions import Caution, CautionLevel
from aerode.records.next_batches import LeftOut, NextBatch, NextBuild
from aerode.usecases.caution_question import CautionQuestion
from aerode.usecases.cautions import what_can_hurt
from aerode.usecases.compare_study import study_of
from aerode.usecases.newest_pieces import newest_pieces
from aerode.usecases.next_mixes import NextMix, mix_near, moved_shares, plate_of, short_of
from aerode.usecases.next_words import assumptions_of, few_words, headline_of, settings_words
from aerode.usecases.weighed_dry import dry_mass_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.measure.comparison.study import Study
    from aerode.measure.next_batch import Choice, Plan
    from aerode.records.electrodes import Electrode
    from aerode.store.bench_file import BenchFile

__all__ = ["NextQuestion", "next_batch"]

_BUILDS, _MOST = 4, 24
_LITTLE = 0.01
"""A gain that is worth no weekend: a judgement."""
_MOST_OF = 0.9
_SAME = 1e-9
"""Two places this near on the coded scale are one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NextQuestion:
    """What is asked; "" or 0 where it was not said. `between` holds "binder 8 % to 13 %" for each limit."""

    builds: int = 0
    mixes: int = 0
    at: str = ""
    between: tuple[str, ...] = ()
    room: str = ""


def next_batch(bench: BenchFile, question: NextQuestion) -> NextBatch:
    """The few electrodes whose readings are worth most for the best recipe.

    Parameters
    ----------
    bench : BenchFile
        With two recipes or more that differ in their factors, read with load steps.
    question : NextQuestion

    Returns
    -------
    NextBatch
        Settings that cannot be mixed, or whose press is a STOP, are left out and named.

    Raises
    ------
    InputError, RangeError
        Something asked cannot be taken, or nothing was varied on purpose.
    CannotTellError
        Too little was read, or nothing is left that may be built.
    """
    count = question.builds or _BUILDS
    if not 1 <= count <= _MOST:
        raise RangeError(f"{count} builds", where="builds", allowed=f"1 to {_MOST}")
    if not 0 <= question.mixes <= count:
        raise RangeError(
            f"{question.mixes} mixes for {count} builds", where="mixes", allowed=f"1 to {count}"
        )
    study = study_of(bench, newest_pieces(bench))
    pieces = _pieces(study)
    response = _response(study, question.at)
    values = measure_study(study, response)
    seen = values.observations()
    seen = seen.keep(kept_for_recipes(study, seen))
    read = {name: those for name, those in pieces.items() if name in seen.recipe}
    if len(read) < 2:
        raise CannotTellError(
            f"{len(read)} recipe{'' if len(read) == 1 else 's'} could be read at {_point(response)}", where="recipes",
            next_step="measure two recipes that differ in what you vary",
        )  # fmt: skip
    settings = {name: those[0].factors for name, those in read.items()}
    plan = plan_next(
        seen, settings, dict(_limit(text, settings) for text in question.between), Priors()
    )
    mixes = [
        moved_shares(bench, mix_near(bench, read[name]), one)
        for one, (name, _) in zip(plan.places, plan.near, strict=True)
    ]
    refused = _refused(bench, plan, mixes, read, question)
    allowed = [k for k in range(len(plan.places)) if k not in refused]
    if not allowed:
        raise CannotTellError(
            f"none of {len(plan.places)} settings may be built: {next(iter(refused.values()))}", where="between",
            next_step="set other limits",
        )  # fmt: skip
    best = plan.read_at[plan.best_read()]
    choice = choose_batch(
        plan.belief, count, allowed=allowed, most_places=question.mixes, over=best
    )
    builds = _builds(plan, choice, mixes)
    left_out = _left_out(plan, refused)
    return NextBatch(
        headline=headline_of(builds, choice.worth, plan.best_read()),
        response=f"current density at {_point(response)}"
        if response.voltage is not None
        else f"voltage at {_point(response)}",
        best_read=plan.best_read(),
        builds=builds,
        worth=math.expm1(choice.worth),
        worth_after=tuple(math.expm1(worth) for worth in choice.worths),
        spread=plan.belief.spread,
        spread_taken=plan.belief.taken,
        places=len(plan.places),
        left_out=left_out,
        cautions=_cautions(bench, builds, mixes, plan, choice, read, question),
        warnings=_warnings(bench, study, plan, builds, read, refused),
        next_steps=_next_steps(plan, builds, choice),
        assumptions=assumptions_of(plan, bool(question.between)),
    )


def _pieces(study: Study) -> dict[str, list[Electrode]]:
    """The electrodes of every recipe that says what was varied."""
    found: dict[str, list[Electrode]] = {}
    for one in study.electrodes:
        if one.factors:
            found.setdefault(recipe_of(one), []).append(one)
    if not found:
        raise InputError(
            "no electrode says what was varied on purpose", where="factors",
            next_step="enter it with each electrode, as in binder: 10 %",
        )  # fmt: skip
    return found


def _response(study: Study, at: str) -> Response:
    voltage, density = typed.point_from_text(at) if at.strip() else (None, None)
    if density is not None:
        return Response(current_density=density)
    return Response(voltage=voltage if voltage is not None else common_voltage(study))


def _point(response: Response) -> str:
    if response.voltage is not None:
        return f"{response.voltage:.3g} V"
    return f"{0.1 * (response.current_density or 0.0):.3g} mA/cm²"


def _limit(
    text: str, settings: Mapping[str, Mapping[str, float | str]]
) -> tuple[str, tuple[float, float]]:
    """ "binder 8 % to 13 %" as a factor and its range; a unit that is typed is turned into that of the factor.

    >>> _limit("plate temperature 70 °C to 90 °C", {"A": {"plate temperature": "85 °C"}})
    ('plate temperature', (70.0, 90.0))
    """
    head, _, high = text.rpartition(" to ")
    words = head.split()
    for k in range(len(words) - 1, 0, -1):
        try:
            (low, low_unit), (top, top_unit) = (
                units.read_number(" ".join(words[k:])),
                units.read_number(high),
            )
        except AerodeError:
            continue
        name = " ".join(words[:k])
        own = amounts_of([those[name] for those in settings.values() if name in those])
        ends = [_in_own_unit(name, *end, own) for end in ((low, low_unit), (top, top_unit))]
        return name, (ends[0], ends[1])
    raise InputError(
        f"{text!r} is no range of a factor", where="between", allowed='as in "binder 8 % to 13 %"',
        next_step="name the factor as it stands with the electrodes, then its lowest and highest setting",
    )  # fmt: skip


def _in_own_unit(
    name: str, number: float, unit: str, own: tuple[Sequence[float], str] | None
) -> float:
    """An end of a limit in the unit of its factor; a bare number is in it already."""
    if own is None or not unit or unit == own[1]:
        return number
    if not own[1] or not units.same_kind(unit, own[1]):
        raise InputError(
            f"{name} is entered in {own[1] or 'plain numbers'}, not in {unit}", where="between",
            allowed=f"numbers in {own[1]}" if own[1] else "numbers without a unit",
            next_step="type the limit as the settings stand with the electrodes",
        )  # fmt: skip
    return units.convert(number, unit, own[1])


def _refused(
    bench: BenchFile, plan: Plan, mixes: Sequence[NextMix], read: Mapping[str, Sequence[Electrode]],
    question: NextQuestion,
) -> dict[int, str]:  # fmt: skip
    """Places that may not be built, and why: no such mix, or a STOP for its press."""
    stops: dict[tuple[str, str], str] = {}
    found: dict[int, str] = {}
    for k, (settings, mix) in enumerate(zip(plan.places, mixes, strict=True)):
        if mix.impossible:
            found[k] = mix.why_not
            continue
        plate = plate_of(settings)
        if not plate or not mix.of:
            continue
        if (mix.of, plate) not in stops:
            stops[mix.of, plate] = _stop(bench, mix.of, plate, question.room)
        if stops[mix.of, plate]:
            found[k] = stops[mix.of, plate]
    return found


def _stop(bench: BenchFile, mix: str, plate: str, room: str) -> str:
    """The STOP of heating such a mix so hot, in words; "" for none.

    A STOP that it has anyway, cold, is of the mix and stands among the cautions.
    """
    cold = {c.key for c in what_can_hurt(bench, f"mix:{mix}", CautionQuestion(room=room)).cautions}
    sheet = what_can_hurt(bench, f"mix:{mix}", CautionQuestion(plate=plate, room=room))
    found = next(
        (c for c in sheet.cautions if c.level is CautionLevel.STOP and c.key not in cold), None
    )
    return "" if found is None else f"STOP at {plate}, {found.hazard}: {found.headline}"


def _builds(plan: Plan, choice: Choice, mixes: Sequence[NextMix]) -> tuple[NextBuild, ...]:
    best = plan.read_at[plan.best_read()]
    found: list[NextBuild] = []
    for place, count in choice.builds:
        ratio, low, high, chance = ratio_between(plan.belief, place, best)
        name, away = plan.near[place]
        found.append(
            NextBuild(
                settings=plan.places[place], builds=count, recipe=name if away < _SAME else "", near=name,
                shares=mixes[place].shares, ratio=ratio, interval_95=(low, high), chance_better=chance,
            )
        )  # fmt: skip
    return tuple(found)


def _left_out(plan: Plan, refused: Mapping[int, str]) -> tuple[LeftOut, ...]:
    """One row for each reason, with the first settings it holds for."""
    rows: dict[str, int] = {}
    for place, why in refused.items():
        rows.setdefault(why, place)
    return tuple(LeftOut(settings=plan.places[place], why=why) for why, place in rows.items())


def _cautions(
    bench: BenchFile, builds: Sequence[NextBuild], mixes: Sequence[NextMix], plan: Plan, choice: Choice,
    read: Mapping[str, Sequence[Electrode]], question: NextQuestion,
) -> tuple[Caution, ...]:  # fmt: skip
    """What can hurt in making the mixes of the batch and pressing them, hardest first, each once."""
    found: dict[tuple[str, str], Caution] = {}
    for place, _ in choice.builds:
        mix = mixes[place].of
        if not mix:
            continue
        asked = CautionQuestion(plate=plate_of(plan.places[place]), room=question.room)
        for one in what_can_hurt(bench, f"mix:{mix}", asked).cautions:
            found.setdefault((one.hazard, one.do), one)
    order = [CautionLevel.STOP, CautionLevel.FIRST, CautionLevel.NOTE]
    return tuple(sorted(found.values(), key=lambda one: order.index(one.level)))


def _warnings(
    bench: BenchFile, study: Study, plan: Plan, builds: Sequence[NextBuild], read: Mapping[str, Sequence[Electrode]],
    refused: Mapping[int, str],
) -> tuple[str, ...]:  # fmt: skip
    said: list[str] = []
    leaked = _leaked(study, read)
    if leaked:
        said.append(
            f"builds of {' and '.join(leaked)} leaked: the current alone chose the batch; if less of something leaks "
            "sooner, set a limit to it"
        )
    outside = [
        lever.name
        for lever in plan.levers
        if any(abs(code) > 1.0 + _SAME for _, code in lever.settings)
    ]
    if outside:
        said.append(
            f"{' and '.join(outside)} goes beyond what was read: what is believed there is a guess along a curve"
        )
    if plan.belief.taken:
        said.append(
            f"the spread between builds is taken as {100 * plan.belief.spread:.0f} % (a judgement): no recipe was built twice"
        )
    needs: dict[str, float] = {}
    for one in builds:
        coated = _dry_mass(read[one.near])
        for lot, share in one.shares.items():
            needs[lot] = needs.get(lot, 0.0) + one.builds * share * (coated or 0.0)
    said += short_of(bench, needs)
    if refused:
        said.append(
            f"{len(refused)} of {len(plan.places)} settings were left out: no such mix, or a STOP"
        )
    return tuple(said)


def _leaked(study: Study, read: Mapping[str, Sequence[Electrode]]) -> list[str]:
    """The recipes of which a build leaked, as far as anybody looked."""
    seeps = [
        (e, run)
        for e in study.electrodes
        for run in study.runs
        if study.electrode_name(run) == e.name
    ]
    wet = {line.electrode for line in leak_lines(seeps) if line.first_wet is not None}
    return [name for name, those in read.items() if any(e.name in wet for e in those)]


def _dry_mass(pieces: Sequence[Electrode]) -> float | None:
    """Mean dry mass of the coats of these pieces [kg]; None where none was weighed."""
    found = [mass for e in pieces if (mass := dry_mass_of(e) or 0.0) > 0.0]
    return sum(found) / len(found) if found else None


def _next_steps(plan: Plan, builds: Sequence[NextBuild], choice: Choice) -> tuple[str, ...]:
    if choice.worth < _LITTLE:
        return ("leave the recipe as it is and build the battery, or vary something else",)
    said: list[str] = []
    wanted = choice.before + _MOST_OF * (choice.worth - choice.before)
    enough = next(k for k, worth in enumerate(choice.worths, 1) if worth >= wanted)
    if enough < len(choice.worths):
        said.append(
            f"{few_words(plan, choice, enough)} if time is short: most of what the batch tells"
        )
    if choice.leader < len(plan.places) and choice.leader not in choice.order:
        ratio, _, _, chance = ratio_between(
            plan.belief, choice.leader, plan.read_at[plan.best_read()]
        )
        if ratio > 1.0 + _LITTLE:
            said.append(
                f"believed best as it stands, though nobody built it and it is not in the batch: "
                f"{settings_words(plan.places[choice.leader])}, {ratio:.2f} times {plan.best_read()}, chance {100 * chance:.0f} % of being better"
            )
    said.append("draw the order of measuring beforehand, the control first, in the middle and last")
    if any(one.builds == 1 and not one.recipe for one in builds):
        said.append(
            "a verdict on one of them needs a second build of it: say first what is to be shown"
        )
    return tuple(said)
