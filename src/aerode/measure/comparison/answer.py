"""The whole comparison: from a study to the record that is printed, reported and stored."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import InputError
from aerode.measure.comparison.air_or_battery import SEAL_AGAIN
from aerode.measure.comparison.air_table import air_or_battery_rows
from aerode.measure.comparison.asking import Found, ask
from aerode.measure.comparison.conditions import area_line, lead_line, weigh_conditions
from aerode.measure.comparison.control_piece import control_act
from aerode.measure.comparison.joint import Priors, fit_pieces
from aerode.measure.comparison.leaks import leak_lines, leak_share_in_words
from aerode.measure.comparison.levers import chosen_levers, levers_of
from aerode.measure.comparison.lines import (
    ageing_estimate,
    contrasts_of,
    curvature_of,
    drift_estimate,
    effects_of,
    ratios,
    reach_rows,
    spread_estimate,
)
from aerode.measure.comparison.looks import level_of_each_look
from aerode.measure.comparison.next_steps import acts_with, cheapest_act
from aerode.measure.comparison.overturning import (
    SAYS_SOMETHING,
    drop_each,
    nearest_alone,
    on_one_pair,
    overturn,
    turns_alone,
)
from aerode.measure.comparison.overturning_pairs import overturn_together
from aerode.measure.comparison.pieces_table import piece_rows, refused_readings, value_scale
from aerode.measure.comparison.questioning import Terms
from aerode.measure.comparison.recipe_words import recipes_in_words
from aerode.measure.comparison.sentences import (
    assumptions_of,
    headline_for,
    model_of,
    question_words,
    response_words,
    taken_on_trust,
    warnings_of,
)
from aerode.measure.comparison.stored_charge import ChargeFigure
from aerode.measure.comparison.study import Study, Values, measure_study
from aerode.measure.comparison.unread import too_few_read
from aerode.measure.comparison.values import Response, TemperatureCoefficient
from aerode.measure.comparison.warmth import temperature_doubt, warmth_act
from aerode.measure.comparison.wording import first_that_fits, ratio_text
from aerode.measure.run_plans import resistances
from aerode.quantities import Reason
from aerode.records.comparisons import (
    ActAt,
    Comparison,
    NextAct,
    Overturn,
    Reach,
    Together,
    Verdict,
)
from aerode.records.results import Level

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from numpy.typing import NDArray

    from aerode.measure.comparison.joint import JointFit, Observations
    from aerode.measure.comparison.judging import Difference
    from aerode.records.comparisons import AirOrBattery, LeakLine, TemperatureDoubt
    from aerode.records.results import ConditionLine

__all__ = ["Request", "compare_study"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What is to be compared, by which margin, and what the person says beside the records.

    Parameters
    ----------
    response : Response
    by : str
        A factor; "" compares recipes.
    margin : float [1]
        The smallest ratio that matters, above 1.
    looks : int or None [1]
        Looks declared beforehand; None where none were.
    claim : str
        The claim it is judged under.
    on_file : tuple of str
        All claims of the bench; where it is judged under none, it is that of none of these.
    same : collection of str
        Conditions that the person says were the same for all.
    temperature : TemperatureCoefficient, optional
    priors : Priors
    past_spread : (float, float) [1, 1]
        Spread between builds from earlier work and its degrees of freedom.
    in_order : bool
        True where electrodes were named: "first over second".
    figures : mapping of powder lot to ChargeFigure
        Stored charge where the person knows better than the tables.
    try_changes : bool
        Whether to look for what would overturn the verdict (it takes a second or two).
    try_nearest : bool
        Where not every change is looked for: whether to try each input at the ends of what is
        believable, where something is shown, and to leave out each electrode in turn.
    seed : int [1]
    notes : tuple of str
        Sentences to add to the warnings.
    """

    response: Response
    by: str = ""
    margin: float = 1.10  # judgement
    looks: int | None = None
    claim: str = ""
    on_file: tuple[str, ...] = ()
    same: Collection[str] = ()
    temperature: TemperatureCoefficient | None = None
    priors: Priors = field(default_factory=Priors)
    past_spread: tuple[float, float] = (0.0, 0.0)
    in_order: bool = False
    figures: Mapping[str, ChargeFigure] = field(default_factory=dict[str, ChargeFigure])
    try_changes: bool = True
    try_nearest: bool = False
    seed: int = 1
    notes: tuple[str, ...] = ()

    def terms(self) -> Terms:
        """Margin and level on the scale of logarithms."""
        if not self.margin > 1.0:
            raise InputError(
                f"a margin of {self.margin:g} is no ratio above 1",
                where="margin",
                allowed="the smallest ratio worth having, above 1: 1.10 or 10 %",
            )
        level = level_of_each_look(self.looks)
        return Terms(
            margin=math.log(self.margin),
            look_level=level,
            beside_level=level,
            priors=self.priors,
            past_spread=self.past_spread,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ground:
    """What every answer holds, blocked or not."""

    study: Study
    request: Request
    terms: Terms
    values: Values
    seen: Observations
    lines: tuple[ConditionLine, ...]
    condition_warnings: tuple[str, ...]
    not_measured: tuple[str, ...]
    air: tuple[AirOrBattery, ...]
    leaks: tuple[LeakLine, ...]


def compare_study(study: Study, request: Request) -> Comparison:
    """The honest verdict on the electrodes of a study.

    Parameters
    ----------
    study : Study
    request : Request

    Returns
    -------
    Comparison
        Blocked where a condition may differ between the sides; the table of pieces is there anyway.

    Raises
    ------
    InputError
        With fewer than two electrodes, a margin of 1 or less, or a factor that does not vary.
    TooFewReadError
        If fewer than two electrodes can be read at the common point: it names each, and why not.

    Notes
    -----
    Each run's curve is read at the common point and brought to logarithms; drift, control and
    builds are fitted in one model (`joint`). Pieces: measurement errors alone. Recipes: the spread
    between separately built pieces, Satterthwaite degrees of freedom, simultaneous intervals.
    Four verdicts: shown, shown but smaller than matters, equivalent, not shown.
    """
    if len(study.electrodes) < 2:
        raise InputError(
            "a comparison needs at least two electrodes with runs of load steps",
            where="electrodes",
            next_step="name them, or measure a second one",
        )
    ground = _ground(study, request)
    _check_read(ground)
    blocking = [line for line in ground.lines if line.blocks]
    if blocking:
        return _blocked(ground, blocking)
    found = ask(study, ground.seen, ground.terms, by=request.by, in_order=request.in_order)
    return _answered(ground, found)


def _ground(study: Study, request: Request) -> _Ground:
    asked = {e.name for e in study.electrodes}
    entrants = [e for e in study.entrants() if e.electrode.name in asked]
    if not entrants:
        raise too_few_read(study, request.response, {})
    report = weigh_conditions(
        entrants,
        said_same=request.same,
        first_use=study.first_use(),
        temperature_corrected=request.temperature is not None,
    )
    area = area_line(entrants, request.same)
    per_area = area.known.name != "SAME"
    response = Response(
        voltage=request.response.voltage,
        current_density=request.response.current_density,
        per_area=per_area,
    )
    values = measure_study(study, response, temperature=request.temperature, seed=request.seed)
    seeps = [
        (e, run)
        for e in study.electrodes
        for run in study.runs
        if study.electrode_name(run) == e.name
    ]
    return _Ground(
        study=study,
        request=request,
        terms=request.terms(),
        values=values,
        seen=values.observations(),
        lines=(area, lead_line(entrants), *report.lines),
        condition_warnings=report.warnings,
        not_measured=report.not_measured,
        air=air_or_battery_rows(study, request.figures),
        leaks=leak_lines(seeps),
    )


def _check_read(ground: _Ground) -> None:
    """Refuse where fewer than two could be read; an area that is missing blocks, and is told there."""
    left = ground.values.left_out
    asked = {e.name for e in ground.study.electrodes}
    read = {m.entrant.electrode.name for m in ground.values.measured} & asked
    no_area = {
        e.electrode.name for e in ground.study.entrants() if left.get(e.run.name) == str(Reason.AREA_MISSING)
    }  # fmt: skip
    if len(read | (no_area & asked)) < 2:
        raise too_few_read(ground.study, ground.request.response, left)


def _blocked(ground: _Ground, blocking: list[ConditionLine]) -> Comparison:
    joint = fit_pieces(ground.seen, ground.terms.priors) if ground.values.measured else None
    names = [line.condition for line in blocking]
    steps = tuple(f"{line.condition}: {line.next_step}" for line in blocking)
    why = f"{blocking[0].condition} may differ between the pieces, and that blocks the comparison"
    return _record(
        ground,
        joint,
        None,
        headline=_blocked_by(names),
        verdict=Verdict.BLOCKED,
        acts=(NextAct(do=blocking[0].next_step, why=why),),
        next_steps=steps,
    )


def _blocked_by(names: Sequence[str]) -> str:
    """What blocks, on one line: all of it by name, or the first and how many more."""
    if len(names) == 1:
        first = f"Blocked: {names[0]} may differ between the pieces; say or measure it first."
        return first_that_fits(first, f"Blocked: {names[0]} may differ; say or measure it first.")
    end = "may differ; say or measure them first."
    said = [f"Blocked: {', '.join(names[:-1])} and {names[-1]} {end}"]
    said += [
        f"Blocked: {', '.join(names[:k])} and {len(names) - k} more {end}"
        for k in range(len(names) - 1, 0, -1)
    ]
    return first_that_fits(*said, f"Blocked: {len(names)} conditions {end}")


def _answered(ground: _Ground, found: Found) -> Comparison:
    asked = found.asked
    difference = asked.difference
    verdict = Verdict.NOT_SHOWN if difference is None else difference.verdict
    reach = reach_rows(found, asked, ground.terms)
    changes: tuple[Overturn, ...] = ()
    together: tuple[Together, ...] = ()
    if difference is not None and not difference.capped:
        if ground.request.try_changes:
            changes, together = _changes(ground, found)
        elif ground.request.try_nearest:
            changes = (*_nearest(ground, found, verdict), *_without_each(ground, found))
    seen, kept = _kept(ground, found)
    doubt = temperature_doubt(ground.values, seen, kept, asked, response_words(ground.request))
    one_pair = _on_one_pair(found, verdict)
    acts = _acts(ground, found, verdict, reach, doubt)
    return _record(
        ground,
        found.pieces_joint,
        found,
        headline=headline_for(
            found,
            verdict,
            ground.values,
            response_words(ground.request),
            only_just=turns_alone(verdict, changes) is not None or one_pair,
        ),
        verdict=verdict,
        reach=tuple(_shown_all_the_same(row, difference, verdict) for row in reach),
        overturned_by=changes,
        together=together,
        doubt=doubt,
        acts=acts,
        next_steps=tuple(f"{act.do}: {act.why}" for act in acts),
    )


def _shown_all_the_same(row: Reach, difference: Difference | None, verdict: Verdict) -> Reach:
    """What these builds could show beforehand, with a word where the difference found is smaller and shown."""
    if difference is None or row.detectable_ratio is None or verdict not in SAYS_SOMETHING[:2]:
        return row
    if abs(difference.estimate) >= math.log(row.detectable_ratio):
        return row
    found = ratio_text(math.exp(abs(difference.estimate)), None)
    return replace(
        row,
        detail=f"{row.detail}; {found} was shown all the same, as these builds lie close together",
    )


def _acts(
    ground: _Ground,
    found: Found,
    verdict: Verdict,
    reach: tuple[Reach, ...],
    doubt: TemperatureDoubt | None,
) -> tuple[NextAct, ...]:
    """What to do, the first thing first; later ones are worth doing whatever the first one gives."""
    acts = [_what_would_settle(ground, found, reach)] if verdict is Verdict.NOT_SHOWN else []
    if (warmth := warmth_act(doubt)) is not None:
        acts.append(warmth)
    open_ones = [row for row in ground.air if not row.cleared and row.next_step]
    acts += [_act_of(row) for row in open_ones[:1]]
    if _on_one_pair(found, verdict):
        acts.append(_one_more_build(found))
    if not any(ground.seen.control):
        acts.append(control_act(ground.values, found.pieces_joint, ground.air))
    return tuple(acts)


def _on_one_pair(found: Found, verdict: Verdict) -> bool:
    difference = found.asked.difference
    if difference is None:
        return False
    seen = found.recipes_seen
    builds = list(zip(seen.recipe, seen.piece, strict=True))
    return on_one_pair(verdict, difference.degrees_of_freedom, builds)


def _one_more_build(found: Found) -> NextAct:
    """What makes sure of a result that rests on one pair."""
    recipe = _fewest_builds(found)
    return NextAct(
        do=f"build one more of {recipe}",
        why="how much builds of one recipe differ is known from one pair alone; one more makes sure",
        build=recipe,
    )


def _act_of(row: AirOrBattery) -> NextAct:
    """What would tell air from battery: it stands as "act: why" in its table."""
    do, _, why = row.next_step.partition(": ")
    again = row.next_step == SEAL_AGAIN
    return NextAct(
        do=do,
        why=why or "less charge was drawn than the electrode itself may hold",
        sealed=row.electrode,
        at=ActAt.LOG if again else ActAt.NOWHERE,
    )


def _kept(ground: _Ground, found: Found) -> tuple[Observations, NDArray[np.bool_]]:
    """The readings behind the verdict, and which of all they are."""
    if found.asked.level is Level.PIECES:
        return found.pieces_seen, np.ones(ground.seen.size, dtype=bool)
    return found.recipes_seen, found.kept


def _changes(ground: _Ground, found: Found) -> tuple[tuple[Overturn, ...], tuple[Together, ...]]:
    seen, kept = _kept(ground, found)
    levers = chosen_levers(levers_of(ground.values, ground.seen, ground.terms.priors), kept)
    judged = found.asked.prepared(seen)
    by_input = overturn(levers, seen, judged, contrast=found.asked.words)
    pairs = overturn_together(levers, by_input, seen, judged)
    return (*by_input, *_without_each(ground, found)), pairs


def _nearest(ground: _Ground, found: Found, verdict: Verdict) -> tuple[Overturn, ...]:
    """The inputs that undo what is shown by a believable change alone; nothing to undo, nothing tried."""
    if verdict not in SAYS_SOMETHING:
        return ()
    seen, kept = _kept(ground, found)
    levers = chosen_levers(levers_of(ground.values, ground.seen, ground.terms.priors), kept)
    return nearest_alone(levers, seen, found.asked.prepared(seen), contrast=found.asked.words)


def _without_each(ground: _Ground, found: Found) -> tuple[Overturn, ...]:
    """The verdict with each electrode left out in turn."""
    seen, _ = _kept(ground, found)
    return tuple(drop_each(seen, found.asked.again, contrast=found.asked.words))


def _what_would_settle(ground: _Ground, found: Found, reach: tuple[Reach, ...]) -> NextAct:
    if found.asked.difference is None:
        recipe = _fewest_builds(found) if found.asked.sort != "pieces" else ""
        return NextAct(
            do=f"build one more of {recipe or 'the piece'}",
            why="without a second build nobody knows how much builds of one recipe differ",
            build=recipe,
        )
    if found.asked.difference.capped:
        first = _read_first(ground)
        return NextAct(
            do=f"measure {first} once more, so that the day cannot be the difference",
            why="the two sides ran one after the other, so the day may be what differs",
            measure=first,
        )
    _, kept = _kept(ground, found)
    at_hand = resistances(part for part in ground.study.instruments.values() if part.gone is None)
    act = cheapest_act(found.asked, ground.values, kept, reach, acts_with(at_hand))
    if act.at is ActAt.BUILDS and found.asked.sort not in {"pieces", "effect"}:
        return replace(act, build=_fewest_builds(found))
    return act


def _read_first(ground: _Ground) -> str:
    """The electrode that was read before all others; a control is on no side."""
    seen = ground.seen
    rows = zip(seen.order, seen.electrode, seen.control, strict=True)
    return min((order, name) for order, name, control in rows if not control)[1]


def _fewest_builds(found: Found) -> str:
    """The recipe of those compared that was built least often; of equals the first."""
    seen = found.pieces_seen
    rows = [row for row in zip(seen.recipe, seen.piece, seen.control, strict=True) if not row[2]]
    builds = {recipe: {piece for of, piece, _ in rows if of == recipe} for recipe, _, _ in rows}
    return min(builds, key=lambda recipe: len(builds[recipe]), default="a recipe you have")


def _record(
    ground: _Ground,
    pieces: JointFit | None,
    found: Found | None,
    *,
    headline: str,
    verdict: Verdict,
    reach: tuple[Reach, ...] = (),
    overturned_by: tuple[Overturn, ...] = (),
    together: tuple[Together, ...] = (),
    doubt: TemperatureDoubt | None = None,
    acts: tuple[NextAct, ...] = (),
    next_steps: tuple[str, ...] = (),
) -> Comparison:
    request, values = ground.request, ground.values
    response = request.response
    asked = None if found is None else found.asked
    difference = None if asked is None else asked.difference
    joint, seen = _drift_source(ground, pieces, found)
    return Comparison(
        headline=headline,
        question=question_words(request, ground.study),
        response=response_words(request),
        at=response.voltage if response.voltage is not None else _shown_density(response),
        at_unit="V" if response.voltage is not None else "mA/cm^2",
        value_unit=_value_unit(ground),
        margin=request.margin,
        verdict=verdict,
        level=Level.RECIPES if asked is None else asked.level,
        primary="" if asked is None else asked.words,
        ratio=None if difference is None else math.exp(difference.estimate),
        interval=None if difference is None else ratios(difference.decision),
        equivalence_interval=None if difference is None else ratios(difference.equivalence),
        look_level=ground.terms.look_level,
        claim=request.claim,
        pieces=piece_rows(ground.study, values, pieces, _response_used(ground)),
        recipes=recipes_in_words(ground.study),
        contrasts=() if found is None else contrasts_of(found),
        effects=() if found is None else effects_of(found, ground.terms),
        curvature=None if found is None else curvature_of(found),
        overturn=overturned_by,
        together=together,
        reach=reach,
        conditions=ground.lines,
        air_or_battery=ground.air,
        leaks=ground.leaks,
        refused=refused_readings(ground.study, values),
        build_spread=spread_estimate(found),
        drift_per_run=drift_estimate(joint, seen, ground.terms),
        control_ageing=ageing_estimate(joint, seen, ground.terms),
        order_alignment=None if asked is None else asked.alignment,
        temperature_doubt=doubt,
        next_act=acts[0] if acts else None,
        later_acts=acts[1:],
        next_steps=next_steps,
        warnings=warnings_of(
            found,
            values,
            ground.condition_warnings,
            ground.air,
            leak_share_in_words(ground.leaks),
            request.notes,
        ),
        not_measured=ground.not_measured,
        assumptions=(
            *taken_on_trust(ground.lines, values),
            *assumptions_of(request, ground.terms, values),
        ),
        model=model_of(request, ground.terms),
        run_order=tuple(m.entrant.electrode.name for m in values.measured),
    )


def _response_used(ground: _Ground) -> Response:
    asked = ground.request.response
    per_area = not any(
        line.condition == "wetted area" and line.known.name == "SAME" for line in ground.lines
    )
    return Response(voltage=asked.voltage, current_density=asked.current_density, per_area=per_area)


def _value_unit(ground: _Ground) -> str:
    return value_scale(_response_used(ground))[1]


def _shown_density(response: Response) -> float:
    return (response.current_density or 0.0) * 0.1


def _drift_source(
    ground: _Ground, pieces: JointFit | None, found: Found | None
) -> tuple[JointFit | None, Observations | None]:
    if found is None:
        return pieces, ground.seen if pieces is not None else None
    if found.recipe_joint is not None:
        return found.recipe_joint, found.recipes_seen
    return found.pieces_joint, found.pieces_seen
