"""The one-page report of a comparison: first screen, why, curves, verdicts, leaks, cautions, conditions, data."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from aerode import __version__, units
from aerode.measure import picturing, telling
from aerode.records.adapter import canonical
from aerode.records.comparisons import Comparison, Contrast
from aerode.records.electrodes import Electrode
from aerode.records.places import Bench
from aerode.records.reports import Report, Section, Table
from aerode.records.results import Estimate, Level
from aerode.records.runs import Reading, Run

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from aerode.records.cautions import CautionSheet
    from aerode.records.comparisons import Effect, Piece
    from aerode.records.fits import Fit
    from aerode.records.reports import SourceLine
    from aerode.store.bench_file import BenchFile

__all__ = ["data_digest", "report"]

MOST_CONTRASTS = 10
"""Rows of the verdict figure; the table holds all."""


def report(
    bench: BenchFile,
    comparison: Comparison,
    fits: Sequence[Fit],
    sheets: Sequence[CautionSheet],
    *,
    sources: Sequence[SourceLine] = (),
    moment: datetime,
    invented: bool = False,
) -> Report:
    """Put a comparison, its curves and its cautions on one page.

    Parameters
    ----------
    bench : BenchFile
        For the conditions and the readings themselves.
    comparison : Comparison
        The answer that is reported.
    fits : sequence of Fit
        The curves behind it.
    sheets : sequence of CautionSheet
        Of the mixes, electrodes and cells in it.
    sources : sequence of SourceLine
        What the numbers rest on.
    moment : datetime
        When it is made.
    invented : bool
        True for the demo: the page says that its data are invented.
    """
    own = next(iter(bench.all(Bench)), None)
    runs = [run for run in bench.all(Run) if any(run.name in p.runs for p in comparison.pieces)]
    fall = telling.biggest_fall(comparison)
    return Report(
        title=f"{own.title if own else 'bench'}: {comparison.question}",
        bench=own.title if own else "bench",
        sentence=comparison.headline,
        lead_figure=picturing.ammeter_beside_fair(comparison),
        lead_note=fall.sentence() if fall else "",
        sections=tuple(_sections(bench, comparison, fits, runs)),
        cautions=tuple(sheets),
        comparison=comparison,
        sources=tuple(sources),
        invented=invented,
        made=moment.date().isoformat(),
        version=__version__,
        data_digest=data_digest(comparison, runs),
    )


def data_digest(comparison: Comparison, runs: Sequence[Run]) -> str:
    """One checksum (SHA-256) over the question and the raw readings, in the order of their names."""
    digest = hashlib.sha256(comparison.question.encode())
    for run in sorted(runs, key=lambda r: r.name):
        digest.update(hashlib.sha256(canonical(run).encode()).digest())
    return digest.hexdigest()


def _sections(
    bench: BenchFile, comparison: Comparison, fits: Sequence[Fit], runs: Sequence[Run]
) -> Iterable[Section]:
    yield _why(comparison)
    if any(fit.curve is not None for fit in fits):
        at = comparison.at if comparison.at_unit == "V" else None
        yield Section(
            name="curves",
            title="The curves",
            sentence="What each electrode gives over the whole range that was measured.",
            figures=(picturing.polarization_curves(fits, comparison.pieces, at_voltage=at),),
            tables=(_fit_table(fits),),
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
    yield _recipe_section(bench, comparison)
    yield _data(comparison, runs)
    if comparison.assumptions:
        yield Section(name="assumptions", title="What was assumed", lines=comparison.assumptions)


def _why(comparison: Comparison) -> Section:
    pieces = [p for p in comparison.pieces if p.fair.value is not None and not p.control]
    if not any(p.corrections for p in pieces):
        return Section(name="why", title="Why each one moved", sentence="No correction was needed.")
    kinds = list(dict.fromkeys(c.what for p in pieces for c in p.corrections))
    rows: list[tuple[str, ...]] = []
    for piece in pieces:
        by_kind = {c.what: c.ratio for c in piece.corrections}
        changes = tuple(_per_cent(by_kind[k]) if k in by_kind else "–" for k in kinds)
        others = [p for p in pieces if p is not piece]
        rows.append((piece.electrode, *changes, telling.why_it_moved(piece, others)))
    return Section(
        name="why",
        title="Why each one moved",
        sentence="From the raw reading to the fair value, one correction at a time.",
        figures=(picturing.correction_steps(comparison),),
        tables=(
            Table(
                caption="Change by each correction, per cent",
                columns=("electrode", *kinds, "what stands out"),
                rows=tuple(rows),
                numbers=tuple(range(1, len(kinds) + 1)),
            ),
        ),
    )


def _per_cent(ratio: float) -> str:
    return f"{100.0 * (ratio - 1.0):+.1f}".replace("-", "−")


def _estimate(estimate: Estimate) -> str:
    if estimate.value is None:
        if estimate.lower_bound is not None:
            return f"more than {estimate.lower_bound:.3g}"
        return "not given"
    if not estimate.standard_uncertainty:
        return f"{estimate.value:.3g}"
    return units.write(estimate.value, "", estimate.standard_uncertainty)


def _fit_table(fits: Sequence[Fit]) -> Table:
    keys = (
        ("tafel_slope_V_decade", "Tafel slope, apparent [V/decade]"),
        ("area_specific_resistance_ohm_cm2", "resistance [Ω cm²]"),
        ("limiting_current_density_mA_cm2", "limiting current [mA/cm²]"),
        ("peak_power_density_mW_cm2", "peak power [mW/cm²]"),
    )
    rows = tuple(
        (
            fit.electrode or fit.source,
            fit.source,
            *(_estimate(fit.parameters[k]) if k in fit.parameters else "–" for k, _ in keys),
        )
        for fit in fits
    )
    meanings = {e.meaning for fit in fits for e in fit.parameters.values() if e.meaning}
    return Table(
        caption="What the curves tell, value ± one standard uncertainty",
        columns=("electrode", "run", *(title for _, title in keys)),
        rows=rows,
        numbers=(2, 3, 4, 5),
        note="; ".join(sorted(meanings)),
    )


def _interval(interval: tuple[float, float] | None, digits: int = 2) -> str:
    return "–" if interval is None else f"{interval[0]:.{digits}f} to {interval[1]:.{digits}f}"


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
    tables = [_piece_table(comparison)]
    if comparison.effects:
        tables.append(_effect_table(comparison.effects))
    if recipes:
        tables.append(
            _contrast_table("Do these recipes differ? The spread between builds counts.", recipes)
        )
    if pieces:
        tables.append(_contrast_table("Do these pieces differ? Measurement error alone.", pieces))
    if comparison.reach:
        tables.append(_reach_table(comparison))
    return Section(
        name="verdicts",
        title="What is shown and what is not",
        sentence=f"Margin that matters: a ratio of {comparison.margin:g}. Intervals are 95 %.",
        figures=tuple(figures),
        tables=tuple(tables),
        lines=(*comparison.next_steps, *comparison.warnings),
    )


def _piece_table(comparison: Comparison) -> Table:
    def row(piece: Piece) -> tuple[str, ...]:
        ammeter = (
            "–"
            if piece.ammeter_mA is None
            else f"{piece.ammeter_mA:.3g} ({piece.ammeter_rank or '–'})"
        )
        fair = _estimate(piece.fair) + (f" ({piece.fair_rank})" if piece.fair_rank else "")
        state = piece.left_out or ("control" if piece.control else piece.outcome)
        return (
            piece.electrode,
            piece.recipe,
            ammeter,
            fair,
            _interval(piece.fair.interval_95),
            state,
        )

    return Table(
        caption=f"Every electrode: {comparison.response} at {comparison.at:g} {comparison.at_unit}, rank in brackets",
        columns=(
            "electrode",
            "recipe",
            "ammeter [mA]",
            f"fair value [{comparison.value_unit}]",
            "95 % interval",
            "state",
        ),
        rows=tuple(row(p) for p in comparison.pieces),
        numbers=(2, 3, 4),
        note="The ammeter's number is a reading at its own resistance; it is not a performance.",
    )


def _effect_table(effects: Sequence[Effect]) -> Table:
    return Table(
        caption="Effect of each factor",
        columns=(
            "factor",
            "from",
            "to",
            "ratio",
            "95 % interval",
            "verdict",
            "not told apart from",
        ),
        rows=tuple(
            (
                e.factor,
                e.low,
                e.high,
                "–" if e.ratio is None else f"{e.ratio:.2f}",
                _interval(e.interval_95),
                str(e.verdict),
                "; ".join(e.aliases) or "–",
            )
            for e in effects
        ),
        numbers=(3, 4),
    )


def _contrast_table(caption: str, contrasts: Sequence[Contrast]) -> Table:
    def row(c: Contrast) -> tuple[str, ...]:
        freedom = "–" if c.degrees_of_freedom is None else f"{c.degrees_of_freedom:.3g}"
        ratio = "–" if c.ratio is None else f"{c.ratio:.2f}"
        return (
            f"{c.a} / {c.b}",
            ratio,
            _interval(c.interval_95),
            freedom,
            str(c.verdict),
            c.reason,
        )

    return Table(
        caption=caption,
        columns=(
            "pair",
            "ratio",
            "95 % interval, all rows together",
            "degrees of freedom",
            "verdict",
            "why",
        ),
        rows=tuple(row(c) for c in contrasts),
        numbers=(1, 2, 3),
    )


def _reach_table(comparison: Comparison) -> Table:
    return Table(
        caption="Which verdicts this many builds can reach",
        columns=(
            "builds",
            "spread between builds",
            "smallest ratio that would show",
            "equivalence in reach",
            "more builds per recipe",
        ),
        rows=tuple(
            (
                r.builds,
                f"{100 * r.spread:.0f} % ({r.spread_basis})",
                "–" if r.detectable_ratio is None else f"{r.detectable_ratio:.2f}",
                "yes" if r.equivalence_reachable else "no",
                "–" if r.more_builds_per_recipe is None else str(r.more_builds_per_recipe),
            )
            for r in comparison.reach
        ),
        numbers=(2, 4),
        note=" ".join(r.detail for r in comparison.reach if r.detail),
    )


def _doubts(comparison: Comparison) -> Section:
    tables: list[Table] = []
    if comparison.overturn:
        tables.append(
            Table(
                caption="The smallest change of one input that would overturn the verdict, found by running it again",
                columns=("input", "verdict on", "change", "in uncertainties", "would become"),
                rows=tuple(
                    (
                        o.input,
                        o.contrast,
                        "none would"
                        if o.change is None
                        else f"{o.change:+.3g} {o.unit}".replace("-", "−"),
                        "–" if o.in_uncertainties is None else f"{abs(o.in_uncertainties):.1f}",
                        str(o.to_verdict) if o.to_verdict else o.reason or "–",
                    )
                    for o in comparison.overturn
                ),
                numbers=(2, 3),
            )
        )
    if comparison.air_or_battery:
        tables.append(
            Table(
                caption="Air cathode or battery? Charge drawn against the charge the electrode itself may hold",
                columns=("electrode", "drawn", "may hold up to", "answer", "next"),
                rows=tuple(
                    (
                        a.electrode,
                        f"{_estimate(a.charge_drawn)} {a.charge_drawn.unit}",
                        f"{_estimate(a.stored_charge)} {a.stored_charge.unit}",
                        a.detail,
                        a.next_step or "–",
                    )
                    for a in comparison.air_or_battery
                ),
            )
        )
    return Section(
        name="doubts",
        title="What would overturn it",
        sentence="An input several uncertainties away from overturning the verdict is no worry; one within two is.",
        tables=tuple(tables),
    )


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
        lines=tuple(f"{line.electrode}: {line.detail}" for line in comparison.leaks if line.detail),
    )


def _conditions(comparison: Comparison) -> Section:
    return Section(
        name="conditions",
        title="Conditions",
        tables=(
            Table(
                caption="How each condition is known",
                columns=("condition", "known", "detail", "blocks", "what would mend it"),
                rows=tuple(
                    (
                        c.condition,
                        str(c.known),
                        c.detail,
                        "yes" if c.blocks else "no",
                        c.next_step or "–",
                    )
                    for c in comparison.conditions
                ),
            ),
        ),
    )


def _recipe_section(bench: BenchFile, comparison: Comparison) -> Section:
    rows: list[tuple[str, ...]] = []
    for piece in comparison.pieces:
        electrode = bench.find(Electrode, piece.electrode)
        if electrode is None:
            continue
        press = "; ".join(
            f"{p.plate_temperature.value - 273.15:.0f} °C"
            if p.plate_temperature
            else p.means or "pressed"
            for p in electrode.press
        )
        area = electrode.wetted_area
        rows.append(
            (
                electrode.name,
                electrode.recipe or "–",
                electrode.mesh or "–",
                press or "–",
                "–"
                if area is None
                else f"{area.value * 1e4:.2f} cm² ({area.how or 'how is not noted'})",
                electrode.tab.how if electrode.tab else "–",
                ", ".join(f"{t * 1e3:.2f}" for t in electrode.thickness) or "–",
            )
        )
    return Section(
        name="pieces",
        title="The pieces",
        tables=(
            Table(
                caption="How each piece was made",
                columns=(
                    "electrode",
                    "recipe",
                    "mesh",
                    "press",
                    "wetted area",
                    "tab",
                    "thickness [mm]",
                ),
                rows=tuple(rows),
            ),
        ),
    )


def _reading(reading: Reading) -> str:
    if reading.voltage is not None:
        text = f"{reading.load or 'load'}: {reading.voltage:.3f} V"
    else:
        text = f"ammeter: {(reading.current or 0.0) * 1e3:.4g} mA"
    return text + (f" ({reading.settling})" if reading.load == "open" else "")


def _data(comparison: Comparison, runs: Sequence[Run]) -> Section:
    refused = tuple(
        f"Kept but not used: {r.run}, reading {r.index + 1} ({r.text}): {r.why}"
        for r in comparison.refused
    )
    return Section(
        name="data",
        title="The readings",
        sentence="As they were taken; nothing is left out.",
        tables=(
            Table(
                caption="Readings of every run, in the order of the day",
                columns=("order", "run", "readings"),
                rows=tuple(
                    (
                        "–" if run.order is None else str(run.order),
                        run.name,
                        ", ".join(_reading(r) for r in run.readings),
                    )
                    for run in sorted(runs, key=lambda r: (r.session, r.order or 0))
                ),
                numbers=(0,),
            ),
        ),
        lines=refused,
    )
