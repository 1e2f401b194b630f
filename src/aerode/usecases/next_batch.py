"""The electrodes to build next, from the recipes that were read: worth, limits, hazards, stock."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerode.errors import CannotTellError, RangeError
from aerode.measure.comparison import typed
from aerode.measure.comparison.asking import kept_for_recipes
from aerode.measure.comparison.joint import Priors
from aerode.measure.comparison.leaks import leak_lines
from aerode.measure.comparison.study import common_voltage, measure_study
from aerode.measure.comparison.values import Response
from aerode.measure.next_batch import choose_batch, plan_next, ratio_between
from aerode.measure.next_edge import steps_beyond
from aerode.records.cautions import CautionLevel
from aerode.records.mixes import Mix
from aerode.records.next_batches import LeftOut, NextBatch, NextBuild
from aerode.usecases.caution_question import CautionQuestion
from aerode.usecases.cautions import what_can_hurt
from aerode.usecases.compare_study import study_of
from aerode.usecases.mix_size import ask_of_record
from aerode.usecases.newest_pieces import newest_pieces
from aerode.usecases.next_asked import NextQuestion, asked_of, limit_of, pieces_of
from aerode.usecases.next_edge import edge_of
from aerode.usecases.next_instead import lots_instead, why_not_instead
from aerode.usecases.next_mixes import NextMix, mix_near, moved_shares, plate_of, short_of
from aerode.usecases.next_pots import cautions_of_pots, coated_mass, pots_of, pots_words
from aerode.usecases.next_words import (
    assumptions_of,
    drawn_together,
    few_words,
    headline_of,
    outside_words,
    settings_words,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from aerode.measure.comparison.study import Study
    from aerode.measure.next_batch import Choice, Plan
    from aerode.records.electrodes import Electrode
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.next_asked import Asked
    from aerode.usecases.next_edge import Edge
    from aerode.usecases.next_pots import Pot

__all__ = ["NextQuestion", "next_batch"]

_BUILDS, _MOST = 4, 24
_LITTLE = 0.01
"""A gain that is worth no weekend: a judgement."""
_MOST_OF = 0.9
_SAME = 1e-9
"""Two places this near on the coded scale are one."""
_FAR = 2
"""Places outside what was read that are named at most: a judgement."""


def next_batch(bench: BenchFile, question: NextQuestion) -> NextBatch:
    """The few electrodes whose readings are worth most for the best recipe.

    Parameters
    ----------
    bench : BenchFile
        With two recipes or more that differ, by their factors or by what their pots and presses
        have on record, read with load steps.
    question : NextQuestion

    Returns
    -------
    NextBatch
        Settings that cannot be mixed, or whose press is a STOP, are left out and named. Builds are
        chosen within what was read; what lies outside is named apart, as a guess. Where the limits
        leave nothing else, the batch itself is a guess, and no gain is told in its headline.

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
    pieces = pieces_of(study)
    response = _response(study, question.at)
    values = measure_study(study, response)
    seen = values.observations()
    seen = seen.keep(kept_for_recipes(study, seen))
    asked = asked_of(bench, study, [name for name in pieces if name in seen.recipe], question)
    read = asked.read
    if len(read) < 2:
        raise CannotTellError(
            f"{len(read)} recipe{'' if len(read) == 1 else 's'} could be read at {_point(response)}", where="recipes",
            next_step="measure two recipes that differ in what you vary",
        )  # fmt: skip
    limits = dict(limit_of(text, asked.settings) for text in question.between)
    plan = plan_next(seen, asked.settings, limits, Priors())
    mixes = [
        moved_shares(bench, mix_near(bench, read[name]), one, asked.rest)
        for one, (name, _) in zip(plan.places, plan.near, strict=True)
    ]
    instead = lots_instead(bench, asked.settings)
    refused = _refused(bench, plan, mixes, question, instead)
    allowed = [k for k in range(len(plan.places)) if k not in refused]
    if not allowed:
        raise CannotTellError(
            f"none of {len(plan.places)} settings may be built: {next(iter(refused.values()))}", where="between",
            next_step="set other limits",
        )  # fmt: skip
    within = [k for k in allowed if not plan.outside[k]]
    best = plan.read_at[plan.best_read()]
    choice = choose_batch(
        plan.belief, count, allowed=within or allowed, most_places=question.mixes, over=best
    )
    builds = tuple(_build(plan, mixes, place, n) for place, n in choice.builds)
    pots = pots_of(
        bench,
        [(mixes[place], n, plate_of(plan.places[place]), read[plan.near[place][0]]) for place, n in choice.builds],
    )  # fmt: skip
    steps = (
        steps_beyond(seen, asked.settings, plan, list(limits), Priors())
        if within and not any(plan.outside)
        else ()
    )
    edge = edge_of(
        bench, plan.best_read(), steps, asked, _step_refused(bench, question.room, instead)
    )
    far = _outside(plan, mixes, [k for k in allowed if plan.outside[k]]) if within else ()
    leave = bool(within) and choice.worth < _LITTLE
    return NextBatch(
        headline=headline_of(builds, choice.worth, plan.best_read()),
        response=f"current density at {_point(response)}"
        if response.voltage is not None
        else f"voltage at {_point(response)}",
        best_read=plan.best_read(),
        builds=builds,
        outside=(*far, *edge.builds),
        at_edge=edge.said,
        leave=leave,
        worth=math.expm1(choice.worth),
        worth_after=tuple(math.expm1(worth) for worth in choice.worths),
        spread=plan.belief.spread,
        spread_taken=plan.belief.taken,
        places=len(plan.places),
        factors=asked.told,
        left_out=_left_out(plan, refused),
        cautions=cautions_of_pots(bench, pots, question.room),
        warnings=_warnings(bench, study, plan, builds, asked, refused, pots),
        next_steps=_next_steps(plan, builds, choice, edge),
        assumptions=assumptions_of(plan, bool(question.between), pots_words(bench, pots) if pots else ""),
    )  # fmt: skip


def _response(study: Study, at: str) -> Response:
    voltage, density = typed.point_from_text(at) if at.strip() else (None, None)
    if density is not None:
        return Response(current_density=density)
    return Response(voltage=voltage if voltage is not None else common_voltage(study))


def _point(response: Response) -> str:
    if response.voltage is not None:
        return f"{response.voltage:.3g} V"
    return f"{0.1 * (response.current_density or 0.0):.3g} mA/cm²"


def _refused(
    bench: BenchFile,
    plan: Plan,
    mixes: Sequence[NextMix],
    question: NextQuestion,
    instead: Sequence[Sequence[str]] = (),
) -> dict[int, str]:
    """Places that may not be built, and why: no such mix, two lots that stand in for each other, or a STOP for its press."""
    stops: dict[tuple[str, str], str] = {}
    found: dict[int, str] = {}
    for k, (settings, mix) in enumerate(zip(plan.places, mixes, strict=True)):
        if why := mix.why_not if mix.impossible else why_not_instead(instead, settings):
            found[k] = why
            continue
        plate = plate_of(settings)
        if not plate or not mix.of:
            continue
        if (mix.of, plate) not in stops:
            stops[mix.of, plate] = _stop(bench, mix.of, plate, question.room)
        if stops[mix.of, plate]:
            found[k] = stops[mix.of, plate]
    return found


def _step_refused(
    bench: BenchFile, room: str, instead: Sequence[Sequence[str]]
) -> Callable[[dict[str, str], NextMix], str]:
    """Why a step beyond what was read may not be built; "" where it may."""

    def why(settings: dict[str, str], mix: NextMix) -> str:
        if why := mix.why_not if mix.impossible else why_not_instead(instead, settings):
            return why
        plate = plate_of(settings)
        return _stop(bench, mix.of, plate, room) if plate and mix.of else ""

    return why


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


def _build(plan: Plan, mixes: Sequence[NextMix], place: int, count: int) -> NextBuild:
    """One place with so many builds, as it is believed over the best that was read."""
    best = plan.read_at[plan.best_read()]
    ratio, low, high, chance = ratio_between(plan.belief, place, best)
    name, away = plan.near[place]
    return NextBuild(
        settings=plan.places[place], builds=count, recipe=name if away < _SAME else "", near=name,
        shares=mixes[place].shares, ratio=ratio, interval_95=(low, high), chance_better=chance,
        beyond=plan.beyond(place),
    )  # fmt: skip


def _outside(plan: Plan, mixes: Sequence[NextMix], far: Sequence[int]) -> tuple[NextBuild, ...]:
    """The places outside what was read with the best chance of being better: guesses, no part of the batch."""
    found: dict[tuple[str, ...], NextBuild] = {}
    for one in sorted(
        (_build(plan, mixes, place, 1) for place in far), key=lambda one: -one.chance_better
    ):
        found.setdefault(tuple(one.settings[name] for name in one.beyond), one)
    return tuple(found.values())[:_FAR]


def _left_out(plan: Plan, refused: Mapping[int, str]) -> tuple[LeftOut, ...]:
    """One row for each reason, with the first settings it holds for."""
    rows: dict[str, int] = {}
    for place, why in refused.items():
        rows.setdefault(why, place)
    return tuple(LeftOut(settings=plan.places[place], why=why) for why, place in rows.items())


def _warnings(
    bench: BenchFile, study: Study, plan: Plan, builds: Sequence[NextBuild], asked: Asked,
    refused: Mapping[int, str], pots: Sequence[Pot],
) -> tuple[str, ...]:  # fmt: skip
    said = [*asked.warnings, *drawn_together(builds, plan.best_read())]
    leaked = _leaked(study, asked.read)
    if leaked:
        said.append(
            f"builds of {' and '.join(leaked)} leaked: the current alone chose the batch; if less of something leaks "
            "sooner, set a limit to it"
        )
    said += outside_words(plan)
    if plan.belief.taken:
        said.append(
            f"the spread between builds is taken as {100 * plan.belief.spread:.0f} % (a judgement): no recipe was built twice"
        )
    needs: dict[str, float] = {}
    for one in builds:
        coated = coated_mass(asked.read[one.near])
        for lot, share in one.shares.items():
            needs[lot] = needs.get(lot, 0.0) + one.builds * share * (coated or 0.0)
    said += short_of(bench, needs)
    for pot in pots:
        large = ask_of_record(bench, Mix(name=pot.mix, portions=pot.portions))
        said += [large.rstrip(".")] if large else []
    if refused:
        said.append(
            f"{len(refused)} of {len(plan.places)} settings were left out, for the reasons given"
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


def _next_steps(
    plan: Plan, builds: Sequence[NextBuild], choice: Choice, edge: Edge
) -> tuple[str, ...]:
    if any(one.beyond for one in builds):
        said = [
            "go there in steps: build at the edge of what was read first; once it is read, the limits have moved"
        ]
        return (
            *said,
            "draw the order of measuring beforehand, the control first, in the middle and last",
        )
    if choice.worth < _LITTLE:
        beyond = "go a step beyond the edge, or " if edge.said else ""
        return (
            f"leave {plan.best_read()} as it is and size the battery of it, or weigh another pot of it; "
            "builds of recipes that were read make a verdict surer, and that is all",
            f"to better it still, {beyond}vary something else",
        )
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
