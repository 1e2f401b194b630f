"""The sections of the report, each the answer to one question."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure import picturing, telling
from aerode.measure.comparison.overturning import BELIEVABLE
from aerode.records.comparisons import Comparison
from aerode.records.marks import Known
from aerode.records.reports import Section, Table
from aerode.records.results import Level
from aerode.usecases.report_doubts import could_not
from aerode.usecases.report_making import making_section
from aerode.usecases.report_readings import readings_section
from aerode.usecases.report_statistics import statistics_section
from aerode.usecases.report_tables import (
    air_table,
    contrast_table,
    effect_table,
    fit_table,
    overturn_table,
    per_cent,
    piece_table,
    reach_table,
    recipe_table,
    without_the_same,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from aerode.records.fits import Fit
    from aerode.store.bench_file import BenchFile

__all__ = ["sections", "sentence_of"]

NEAREST = 5
"""Inputs shown at once among those that could overturn the verdict; the others open on demand."""
MOST_CONTRASTS = 10
"""Rows of the verdict figure; the table holds all."""


def sections(bench: BenchFile, comparison: Comparison, fits: Sequence[Fit]) -> Iterable[Section]:
    """The sections of the report in their order: why, curves, verdicts, doubts, leaks, cautions, conditions, data."""
    yield _why(comparison)
    if any(fit.curve is not None for fit in fits):
        at = comparison.at if comparison.at_unit == "V" else None
        yield Section(
            name="curves",
            title="The curves",
            sentence="What each electrode gives over the whole range that was measured.",
            figures=(picturing.polarization_curves(fits, comparison.pieces, at_voltage=at),),
            tables=(fit_table(fits),),
        )
    yield _verdicts(comparison)
    if comparison.overturn or comparison.air_or_battery:
        yield _doubts(comparison)
    if comparison.leaks:
        yield _leaks(comparison)
    yield Section(
        name="cautions", title="Cautions", sentence="What can hurt someone who repeats this."
    )
    yield Section(
        name="not-measured",
        title="What was not measured",
        sentence="A result is worth what is known of how it was made. These were not measured:",
        lines=comparison.not_measured or ("Nothing on the list is missing.",),
    )
    yield _conditions(comparison)
    yield making_section(bench, comparison)
    yield readings_section(bench, comparison)
    if comparison.assumptions:
        yield Section(
            name="assumptions",
            title="What was assumed",
            lines=tuple(sentence_of(line) for line in comparison.assumptions),
        )
    yield statistics_section(comparison)


def _why(comparison: Comparison) -> Section:
    pieces = [p for p in comparison.pieces if p.fair.value is not None and not p.control]
    if not any(p.corrections for p in pieces):
        return Section(name="why", title="Why each one moved", sentence="No correction was needed.")
    kinds = list(
        dict.fromkeys(c.what for p in pieces for c in p.corrections if abs(c.ratio - 1.0) > 0.0005)
    )
    rows: list[tuple[str, ...]] = []
    for piece in pieces:
        by_kind = {c.what: c.ratio for c in piece.corrections}
        changes = tuple(per_cent(by_kind[k]) if k in by_kind else "–" for k in kinds)
        others = [p for p in pieces if p is not piece]
        rows.append((piece.electrode, *changes, telling.why_it_moved(piece, others)))
    return Section(
        name="why",
        title="Why each one moved",
        sentence=(
            "From the curve as read at the clips, at the voltage of comparison, to the fair value, one correction "
            "at a time. The ammeter's reading is another point of the curve and is not where this starts."
        ),
        figures=(picturing.correction_steps(comparison),),
        tables=(
            Table(
                caption="Change by each correction, per cent",
                folded=len(rows) > 3,
                columns=(
                    "electrode",
                    *(telling.CORRECTION_WORDS.get(k, k) for k in kinds),
                    "what stands out",
                ),
                rows=tuple(rows),
                numbers=tuple(range(1, len(kinds) + 1)),
            ),
        ),
    )


def _verdicts(comparison: Comparison) -> Section:
    recipes = [c for c in comparison.contrasts if c.level is Level.RECIPES]
    pieces = [c for c in comparison.contrasts if c.level is Level.PIECES]
    shown = sorted(
        (c for c in recipes or pieces if c.interval_95 is not None),
        key=lambda c: -abs((c.ratio or 1.0) - 1.0),
    )
    figures = [picturing.contrast_intervals(comparison, shown[:MOST_CONTRASTS])] if shown else []
    if any(e.interval_95 for e in comparison.effects):
        figures.append(picturing.effect_intervals(comparison))
    named = recipe_table(comparison)
    tables = [*([named] if named else []), piece_table(comparison)]
    if comparison.effects:
        tables.append(effect_table(comparison.effects, comparison.look_level))
    if recipes:
        tables.append(
            contrast_table(
                "Do these recipes differ? The spread between builds counts.",
                recipes,
                comparison.look_level,
                folded=bool(comparison.effects),
            )
        )
    if pieces:
        tables.append(
            contrast_table(
                "Do these pieces differ? Measurement error alone.",
                pieces,
                comparison.look_level,
                folded=True,
            )
        )
    if comparison.reach:
        tables.append(reach_table(comparison))
    return Section(
        name="verdicts",
        title="What is shown and what is not",
        sentence=_what_matters(comparison),
        figures=tuple(figures),
        tables=tuple(tables),
        lines=tuple(
            [f"When there is time: {step}." for step in comparison.next_steps[1:]]
            + [sentence_of(line) for line in comparison.warnings]
        ),
    )


def _what_matters(comparison: Comparison) -> str:
    least = 100.0 * (comparison.margin - 1.0)
    return (
        f"A difference matters from {least:.3g} % on. “Shown” is said only where luck alone would bring "
        f"it about in no more than {100.0 * comparison.look_level:.2g} % of such looks."
    )


def sentence_of(text: str) -> str:
    """The text as a sentence: a capital first, a full stop last."""
    return f"{text[:1].upper()}{text[1:]}" + ("" if text.endswith((".", "?")) else ".")


def _doubts(comparison: Comparison) -> Section:
    warmth = comparison.temperature_doubt
    tried = (
        f"{telling.rests_on(comparison)} {warmth.words if warmth else ''} Each input was changed alone: one within two "
        f"uncertainties is a worry. {_pairs_tried(comparison)}"
        if comparison.overturn
        else telling.NOTHING_TRIED
    )
    near = [o for o in comparison.overturn if o.to_verdict is not None and o.change is not None]
    near.sort(key=lambda o: abs(o.in_uncertainties or 0.0))
    far = [o for o in comparison.overturn if o.to_verdict is None]
    tables: list[Table] = []
    if near:
        caption = "The smallest change of one input that would overturn the verdict, found by running it again"
        tables.append(overturn_table(caption, near[:NEAREST]))
    if len(near) > NEAREST:
        caption = "Inputs that would have to change by more"
        tables.append(overturn_table(caption, near[NEAREST:], folded=True))
    if comparison.air_or_battery:
        tables.append(air_table(comparison))
    return Section(
        name="doubts",
        title="What would overturn it",
        sentence=tried.strip().replace("  ", " "),
        tables=tuple(tables),
        lines=tuple(filter(None, [telling.together_said(comparison), *could_not(far)])),
    )


def _pairs_tried(comparison: Comparison) -> str:
    """What two inputs do together; not asked where one alone does it within what is believable."""
    if any((o.in_uncertainties or BELIEVABLE + 1.0) <= BELIEVABLE for o in comparison.overturn):
        return "Errors acting together were not tried, as one alone is enough."
    end = ", and this does it:" if comparison.together else "; none does it."
    return f"Pairs of the nearest ones were tried too, by up to two uncertainties each{end}"


def _leaks(comparison: Comparison) -> Section:
    wet = [line for line in comparison.leaks if line.first_wet is not None]
    sentence = (
        f"{len(wet)} of {len(comparison.leaks)} leaked while they were watched."
        if wet
        else f"None of {len(comparison.leaks)} leaked while they were watched; that is no proof that none will."
    )
    return Section(
        name="leaks",
        title="Leaks",
        sentence=sentence,
        figures=(picturing.leak_times(comparison),),
        lines=tuple(f"{line.electrode} {line.detail}." for line in wet if line.detail),
    )


def _conditions(comparison: Comparison) -> Section:
    blocking = [c.condition for c in comparison.conditions if c.blocks]
    may = [c.condition for c in comparison.conditions if c.known is Known.MAY_DIFFER]
    measured = sum(1 for c in comparison.conditions if c.known is Known.MEASURED)
    stops = ("stops the comparison",) if blocking else ()  # where none does, the sentence says so
    return Section(
        name="conditions",
        title="Conditions",
        sentence=(
            f"{measured} of {len(comparison.conditions)} were measured; "
            + (f"may differ: {', '.join(may)}. " if may else "none is left that may differ. ")
            + (f"Blocking: {', '.join(blocking)}." if blocking else "None blocks the comparison.")
        ),
        tables=(
            without_the_same(
                Table(
                    caption="How each condition is known",
                    columns=("condition", "known", "detail", *stops, "what would mend it"),
                    folded=True,
                    rows=tuple(
                        (
                            c.condition,
                            str(c.known),
                            c.detail,
                            *(("yes" if c.blocks else "no",) if blocking else ()),
                            c.next_step or "–",
                        )
                        for c in comparison.conditions
                    ),
                )
            ),
        ),
    )
