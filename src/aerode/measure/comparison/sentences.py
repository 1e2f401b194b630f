"""Question, headline, warnings and assumptions of a comparison, in sentences."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerode import units
from aerode.measure.comparison.run_order import ALIGNMENT_LIMIT
from aerode.measure.comparison.wording import (
    first_that_fits,
    headline_effect,
    headline_many,
    headline_of,
    ratio_text,
)
from aerode.records.comparisons import Verdict
from aerode.records.results import Level
from aerode.stats.shrinkage import best_after_shrinkage

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.measure.comparison.answer import Request
    from aerode.measure.comparison.asking import Found
    from aerode.measure.comparison.joint import Priors
    from aerode.measure.comparison.questioning import Terms
    from aerode.measure.comparison.study import Study, Values
    from aerode.records.comparisons import AirOrBattery
    from aerode.records.results import ConditionLine

__all__ = [
    "assumptions_of",
    "headline_for",
    "model_of",
    "question_words",
    "response_words",
    "taken_on_trust",
    "warnings_of",
]


def response_words(request: Request) -> str:
    """ "current density at 0.45 V", or "voltage at 2 mA/cm^2"."""
    response = request.response
    if response.voltage is not None:
        return f"current density at {response.voltage:.3g} V"
    return f"voltage (and power) at {0.1 * (response.current_density or 0.0):.3g} mA/cm^2"


def question_words(request: Request, study: Study) -> str:
    """The question as it is answered."""
    names = ", ".join(e.name for e in study.electrodes)
    what = f"What does {request.by} do to" if request.by else "Which is best in"
    return (
        f"{what} {response_words(request)}? ({names}; ratios from {1 / request.margin:.3g} "
        f"to {request.margin:.3g} do not matter)"
    )


def headline_for(
    found: Found, verdict: Verdict, values: Values, response: str, *, only_just: bool = False
) -> str:
    """The line that is read first.

    Parameters
    ----------
    found : Found
    verdict : Verdict
    values : Values
    response : str
    only_just : bool
        Whether one input, changed by a believable amount alone, would undo it.

    Returns
    -------
    str
        At most 100 characters.
    """
    asked = found.asked
    if asked.difference is None:
        head = f"Not shown (recipes): {_why_not(found)}"
        tails = _pieces_tails(found, response)
        return first_that_fits(*(f"{head}{tail}" for tail in tails))
    ratio = math.exp(asked.difference.estimate)
    equal = verdict is Verdict.EQUIVALENT  # two one-sided tests: that interval, not the wider one
    low, high = asked.difference.equivalence if equal else asked.difference.decision
    interval = (math.exp(low), math.exp(high))
    if asked.sort == "recipes" and len(asked.family) > 2:
        return headline_many(
            verdict, asked.names[0], asked.names[1], ratio, interval, len(asked.family),
            only_just=only_just,
        )  # fmt: skip
    if asked.sort == "effect":
        low_setting, high_setting = asked.words.removeprefix(f"{asked.names[0]}, ").split(" to ", 1)
        words = (asked.names[0], low_setting, high_setting)
        return headline_effect(verdict, words, ratio, interval, response, only_just=only_just)
    tail = ""
    if asked.level is Level.PIECES and _one_recipe(found):
        tail = "One recipe: nothing on recipes."
    return headline_of(
        verdict, asked.level, asked.words, ratio, interval, response=f"in {response}", tail=tail,
        only_just=only_just,
    )  # fmt: skip


def _one_recipe(found: Found) -> bool:
    chosen = set(found.asked.family)
    seen = found.pieces_seen
    return len({r for r, e in zip(seen.recipe, seen.electrode, strict=True) if e in chosen}) == 1


def _why_not(found: Found) -> str:
    if max(found.asked.builds) < 2:
        return "one build of each"
    return found.asked.reason.split(";")[0]


def _pieces_tails(found: Found, response: str) -> tuple[str, ...]:
    """What can be said of the first two pieces where nothing can be said of recipes, the longest first."""
    if found.pieces is None:
        return (".",)
    d = found.pieces.differences[0]
    a, b = found.pieces.pairs[0]
    interval = (math.exp(d.decision[0]), math.exp(d.decision[1]))
    numbers = ratio_text(math.exp(d.estimate), interval)
    said, brief = {
        Verdict.SHOWN: ("the pieces differ", "pieces differ"),
        Verdict.SHOWN_SMALL: ("the pieces differ a little", "pieces differ a little"),
        Verdict.EQUIVALENT: ("the pieces are equivalent", "pieces equivalent"),
    }.get(d.verdict, ("nor do the pieces differ clearly", "nor the pieces"))
    quantity = response.partition(" at ")[0]
    return (
        f"; {said}: {a} over {b} {numbers} in {response}.",
        f"; {said}: {a} over {b} {numbers} in {quantity}.",
        f"; {brief}: {a}/{b} {numbers} in {response}.",
        f"; {brief}: {a}/{b} {numbers} in {quantity}.",
        f"; {said}.",
    )


def warnings_of(
    found: Found | None,
    values: Values,
    conditions: Sequence[str],
    air: Sequence[AirOrBattery],
    leaks: str,
    notes: Sequence[str],
) -> tuple[str, ...]:
    """What the person should know before believing it.

    Parameters
    ----------
    found : Found or None
    values : Values
    conditions : sequence of str
    air : sequence of AirOrBattery
    leaks : str
    notes : sequence of str

    Returns
    -------
    tuple of str
    """
    said = [*notes, *conditions]
    if found is not None and (flattered := _flattered(found)):
        said.append(flattered)
    if found is not None and (found.asked.alignment or 0.0) > ALIGNMENT_LIMIT:
        said.append(
            "one side was read before the other, so the day may be what differs: "
            "nothing is called shown"
        )
    if found is not None and found.scatter > 1.0:
        said.append(
            f"repeated readings scatter {found.scatter:.1f} times as much as their stated errors; "
            "the errors of the pieces were enlarged by that"
        )
    if values.order_assumed:
        said.append("the order of measuring was not noted; the order of entry stands for it")
    if not any(m.entrant.control for m in values.measured):
        said.append(
            "no control was read: a drift through the session is told from the pieces alone"
        )
    unclear = [row.electrode for row in air if not row.cleared]
    if unclear:
        said.append(
            f"cannot tell an air cathode from a battery yet: {_few(unclear)} "
            "(charge drawn is less than the solids could give)"
        )
    if leaks:
        said.append(f"leaks: {leaks}")
    said += [f"{run} is left out: {why}" for run, why in values.left_out.items()]
    for one in values.measured:
        said += [f"{one.entrant.run.name}: {text}" for text in one.fit.data.warnings]
    return tuple(dict.fromkeys(said))


_BELIEVABLE_RATIOS = (0.25, 4.0)
"""Variance between recipes over the error variance of one: a judgement, both ends are told."""


def _flattered(found: Found) -> str:
    """How far the best of several recipes is likely to fall back, being picked for coming out best."""
    if found.recipes is None or found.asked.sort != "recipes" or len(found.asked.family) < 3:
        return ""
    fit, names = found.recipes.joint.fit, found.recipes.joint.names
    levels = [float(fit.coefficients[names.index(r)]) for r in found.asked.family]
    errors = [d.standard_error**2 / 2.0 for d in found.recipes.differences]
    best = best_after_shrinkage(levels, sum(errors) / len(errors), _BELIEVABLE_RATIOS)
    mean = sum(levels) / len(levels)
    lead, low, high = (100.0 * math.expm1(x - mean) for x in (best.raw, best.low, best.high))
    return (
        f"the best of {len(levels)} is flattered by being picked: {found.asked.family[best.index]} lies "
        f"{lead:.1f} % above the mean as found, {low:.1f} % to {high:.1f} % as is likely"
    )


def _few(names: Sequence[str]) -> str:
    return (
        ", ".join(names) if len(names) <= 4 else f"{', '.join(names[:3])} and {len(names) - 3} more"
    )


def taken_on_trust(lines: Sequence[ConditionLine], values: Values) -> tuple[str, ...]:
    """What was taken as the same on somebody's word, and runs whose cell was taken to be the only one.

    Parameters
    ----------
    lines : sequence of ConditionLine
    values : Values

    Returns
    -------
    tuple of str
    """
    said = [
        f"{line.condition}: taken as the same for all on somebody's word; nobody measured it"
        for line in lines
        if line.on_word
    ]
    runs: dict[tuple[str, str], list[str]] = {}
    for one in values.measured:
        cell, how = one.entrant.cell, one.entrant.cell_how
        if cell is not None and how:
            runs.setdefault((cell.name, how), []).append(one.entrant.run.name)
    for (cell, how), names in runs.items():
        verb = "names no cell and is" if len(names) == 1 else "name no cell and are"
        said.append(f"{_few(names)} {verb} taken to have been in {cell}: {how}")
    return tuple(said)


def assumptions_of(request: Request, terms: Terms, values: Values) -> tuple[str, ...]:
    """What the answer rests on beside the readings.

    Parameters
    ----------
    request : Request
    terms : Terms
    values : Values

    Returns
    -------
    tuple of str
    """
    said = [
        "differences are told as ratios: 1.10 times is ten per cent more",
        "builds of every recipe differ from each other by as much",
        _look_sentence(request, terms),
    ]
    if terms.priors.ageing_measured:
        said.append("the control ages as earlier days have shown it (its record says so)")
    if terms.past_spread[1] > 0:
        said.append(f"builds differ by {units.per_cent(terms.past_spread[0])}, from earlier work")
    if request.temperature is not None:
        t = request.temperature
        said.append(
            f"temperature coefficient as stated: {units.plain(100 * t.value)} ± "
            # by definition
            f"{units.plain(100 * t.standard_uncertainty)} %/K, to {t.reference - 273.15:.3g} °C"
        )
    for one in values.measured:
        said += list(one.fit.data.assumptions)
    return tuple(dict.fromkeys(said))


def model_of(request: Request, terms: Terms) -> tuple[str, ...]:
    """What the statistics take as given, in a statistician's words.

    Parameters
    ----------
    request : Request
    terms : Terms

    Returns
    -------
    tuple of str
    """
    said = [
        "errors are multiplicative: all is done on natural logarithms and told as ratios",
        "one variance between builds for all recipes",
        *_prior_sentences(terms.priors),
        f"each look at two-sided level {terms.look_level:.3g}"
        + (", none declared beforehand: as if looked at after every pair of builds" if request.looks is None else ""),
    ]  # fmt: skip
    if terms.past_spread[1] > 0:
        said.append(
            f"spread between builds from earlier work: {100 * terms.past_spread[0]:.1f} %, "
            f"{terms.past_spread[1]:.3g} degrees of freedom"
        )
    return tuple(said)


def _prior_sentences(priors: Priors) -> list[str]:
    ageing = f"{units.per_cent(priors.control_ageing)} a run"
    others = (
        f"drift {units.per_cent(priors.drift)} a run, sessions {units.per_cent(priors.session)}"
    )
    if priors.ageing_measured:
        return [
            f"standard deviations assumed beforehand: {others}",
            f"ageing of the control: {ageing}, as earlier days have shown it (its record says so)",
        ]
    return [f"standard deviations assumed beforehand: {others}, ageing of the control {ageing}"]


def _look_sentence(request: Request, terms: Terms) -> str:
    confidence = f"{100 * (1 - terms.look_level):.3g} %"
    if request.looks is None:
        named = ", ".join(f"“{name}”" for name in request.on_file[:4])
        which = "that of a claim" if len(request.on_file) < 2 else "that of any claim"
        none = (
            f"this comparison is not {which} on file ({named})"
            if named and not request.claim
            else "no claim was written down beforehand"
        )
        return (
            f"{none}, and who looks again and again finds something by "
            f"luck: so each look is judged at {confidence} in place of 95 %"
        )
    number = "one look" if request.looks == 1 else f"{request.looks} looks"
    return f"{number} declared beforehand: each is judged at {confidence}"
