"""The one-page report of a comparison: first screen, why, curves, verdicts, leaks, cautions, conditions, data."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from aerode import units
from aerode.measure import picturing, telling
from aerode.records.adapter import canonical
from aerode.records.cautions import CautionLevel
from aerode.records.comparisons import Comparison, Contrast
from aerode.records.electrodes import Cell, Electrode
from aerode.records.marks import Known
from aerode.records.mixes import Mix
from aerode.records.places import Bench
from aerode.records.reports import Report, Section, Table
from aerode.records.results import Estimate, Level
from aerode.records.runs import Reading, Run
from aerode.usecases.cautions import CautionQuestion, what_can_hurt
from aerode.usecases.compare import compare
from aerode.usecases.fit import FitQuestion, fit_bench_run
from aerode.version import VERSION

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from datetime import datetime

    from aerode.records.cautions import CautionSheet
    from aerode.records.comparisons import Effect, Overturn, Piece
    from aerode.records.fits import Fit
    from aerode.records.reports import SourceLine
    from aerode.store.bench_file import BenchFile

__all__ = ["compare_and_report", "data_digest", "report"]

NEAREST = 5
"""Inputs shown at once among those that could overturn the verdict; the others open on demand."""
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
    return Report(
        title=f"{own.title if own else 'bench'}: {comparison.question}",
        bench=own.title if own else "bench",
        sentence=telling.plain_verdict(comparison),
        lead_figure=picturing.ammeter_beside_fair(comparison),
        lead_lines=_lead_lines(comparison, sheets),
        sections=tuple(_sections(bench, comparison, fits, runs)),
        cautions=_once(sheets),
        comparison=comparison,
        sources=tuple(sources),
        invented=invented,
        made=moment.date().isoformat(),
        version=VERSION,
        data_digest=data_digest(comparison, runs),
    )


def _lead_lines(comparison: Comparison, sheets: Sequence[CautionSheet]) -> tuple[str, ...]:
    """What stands below the first figure: what can hurt, who leads, who fell, what is next."""
    hardest = [
        c for level in CautionLevel for sheet in sheets for c in sheet.cautions if c.level is level
    ]
    said = (
        [f"{hardest[0].level}, before you repeat this: {hardest[0].headline}. {hardest[0].do}"]
        if hardest
        else []
    )
    said.append(telling.what_it_may_be_instead(comparison))
    said.append(telling.rests_on(comparison))
    said.append(telling.who_leads(comparison))
    fall = telling.biggest_fall(comparison)
    said.append(fall.sentence() if fall else "")
    said += [f"{w.electrode} {w.detail}." for w in comparison.leaks if w.first_wet is not None]
    said += [f"Next: {step}" for step in comparison.next_steps[:1]]
    return tuple(_sentence(line) for line in said if line)


def _once(sheets: Sequence[CautionSheet]) -> tuple[CautionSheet, ...]:
    """Each caution once: what several mixes share is not said again."""
    seen: set[tuple[str, str, str]] = set()
    kept: list[CautionSheet] = []
    for sheet in sheets:
        fresh = [c for c in sheet.cautions if (c.hazard, c.headline, c.do) not in seen]
        seen |= {(c.hazard, c.headline, c.do) for c in fresh}
        if fresh:
            kept.append(replace(sheet, cautions=tuple(fresh)))
    return tuple(kept)


def compare_and_report(
    bench: BenchFile,
    electrodes: Sequence[str],
    *,
    at: str,
    by: str,
    claim: str,
    room: str,
    moment: datetime,
    step: Callable[[str, float], None],
) -> Report:
    """Compare electrodes of a bench and put the answer on one page.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrodes : sequence of str
        Names; none for all that were measured.
    at : str
        A voltage ("0.45 V") or a current density ("2 mA/cm^2"); "" leaves it to the claim.
    by, claim, room : str
        A factor, a claim of the bench, a room for the cautions; "" for none.
    moment : datetime
        When it is made.
    step : callable
        Told what is being done and which share of the whole is done.
    """
    step("comparing", 0.05)
    comparison = compare(bench, electrodes, by=by, claim=claim, **_point(at))
    step("fitting the curves", 0.60)
    names = {name for piece in comparison.pieces for name in piece.runs if not piece.control}
    fits = [
        fit_bench_run(bench, run.name, FitQuestion()) for run in bench.all(Run) if run.name in names
    ]
    step("looking for what can hurt", 0.85)
    asked = CautionQuestion(room=room)
    sheets = [what_can_hurt(bench, item, asked) for item in _items(bench, comparison)]
    step("laying it out", 0.95)
    return report(bench, comparison, fits, sheets, moment=moment)


def _point(at: str) -> dict[str, Any]:
    """Where to compare, by the unit that was typed."""
    if not at.strip():
        return {}
    _, unit = units.read_number(at)
    if units.same_kind(unit, "A/m^2"):
        return {"at_current_density": units.read(at, "A/m^2", field="at").value}
    return {
        "at_voltage": units.read(at, "V", bare=("V", "mV"), plausible=(0.0, 2.7), field="at").value
    }


def _items(bench: BenchFile, comparison: Comparison) -> list[str]:
    """The mixes behind the pieces, and one cell: what someone who repeats it would handle."""
    mixes: dict[str, None] = {}
    cells: list[str] = []
    for piece in comparison.pieces:
        electrode = bench.find(Electrode, piece.electrode)
        for layer in electrode.layers if electrode else ():
            if layer.mix and bench.find(Mix, layer.mix) is not None:
                mixes[f"mix:{layer.mix}"] = None
        cells += [f"cell:{c.name}" for c in bench.all(Cell) if c.electrode == piece.electrode]
    return [*mixes, *cells[:1]]


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
    kinds = list(
        dict.fromkeys(c.what for p in pieces for c in p.corrections if abs(c.ratio - 1.0) > 0.0005)
    )
    rows: list[tuple[str, ...]] = []
    for piece in pieces:
        by_kind = {c.what: c.ratio for c in piece.corrections}
        changes = tuple(_per_cent(by_kind[k]) if k in by_kind else "–" for k in kinds)
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
        ("tafel_slope_V_decade", "voltage lost per tenfold current [V]"),
        ("area_specific_resistance_ohm_cm2", "resistance of the whole cell [Ω cm²]"),
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
    meanings = [
        f"{title.split(' [')[0]}: {said}"
        for key, title in keys
        for said in sorted({fit.parameters[key].meaning for fit in fits if key in fit.parameters})
        if said
    ]
    return Table(
        caption="What the curves tell, value ± one standard uncertainty",
        columns=("electrode", "run", *(title for _, title in keys)),
        rows=rows,
        numbers=(2, 3, 4, 5),
        note=". ".join(meanings),
        folded=len(fits) > 3,
    )


def _interval(interval: tuple[float, float] | None) -> str:
    """Two decimals, or three where two would hide on which side of 1 an end lies."""
    if interval is None:
        return "–"
    hidden = any(f"{end:.2f}" == "1.00" and abs(end - 1.0) > 1e-12 for end in interval)
    digits = 3 if hidden else 2
    return f"{interval[0]:.{digits}f} to {interval[1]:.{digits}f}"


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
            _contrast_table(
                "Do these recipes differ? The spread between builds counts.",
                recipes,
                folded=bool(comparison.effects),
            )
        )
    if pieces:
        tables.append(
            _contrast_table("Do these pieces differ? Measurement error alone.", pieces, folded=True)
        )
    if comparison.reach:
        tables.append(_reach_table(comparison))
    return Section(
        name="verdicts",
        title="What is shown and what is not",
        sentence=f"Margin that matters: a ratio of {comparison.margin:g}. Intervals are 95 %.",
        figures=tuple(figures),
        tables=tuple(tables),
        lines=tuple(_sentence(line) for line in (*comparison.next_steps, *comparison.warnings)),
    )


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}" + ("" if text.endswith((".", "?")) else ".")


def _piece_table(comparison: Comparison) -> Table:
    loud = telling.places(
        {p.electrode: p.ammeter_mA for p in comparison.pieces if p.ammeter_mA is not None}
    )
    wet = {
        w.electrode: f"leaked, {w.last_dry or 0:g} to {w.first_wet:g} h"
        for w in comparison.leaks
        if w.first_wet is not None
    }

    def row(piece: Piece) -> tuple[str, ...]:
        ammeter = (
            "–" if piece.ammeter_mA is None else f"{piece.ammeter_mA:.3g} ({loud[piece.electrode]})"
        )
        fair = _estimate(piece.fair) + (f" ({piece.fair_rank})" if piece.fair_rank else "")
        state = (
            piece.left_out
            or wet.get(piece.electrode)
            or ("control" if piece.control else piece.outcome)
        )
        return (
            piece.electrode,
            piece.recipe,
            ammeter,
            fair,
            _interval(piece.fair.interval_95),
            state,
        )

    return Table(
        caption=f"Every electrode: {comparison.response}, rank in brackets",
        columns=(
            "electrode",
            "recipe",
            "ammeter [mA]",
            f"fair value [{comparison.value_unit.replace('^2', '²')}]",
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
        note=(
            "The factor that was asked for is judged alone. The others were looked at beside it and are judged "
            "together, so their intervals are wider."
        ),
    )


def _contrast_table(caption: str, contrasts: Sequence[Contrast], *, folded: bool = False) -> Table:
    def row(c: Contrast) -> tuple[str, ...]:
        freedom = "–" if c.degrees_of_freedom is None else f"{c.degrees_of_freedom:.2g}"
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
        folded=folded,
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
    near = [o for o in comparison.overturn if o.to_verdict is not None and o.change is not None]
    near.sort(key=lambda o: abs(o.in_uncertainties or 0.0))
    far = [o for o in comparison.overturn if o.to_verdict is None]
    tables: list[Table] = []
    if near:
        caption = "The smallest change of one input that would overturn the verdict, found by running it again"
        tables.append(_overturn_table(caption, near[:NEAREST]))
    if len(near) > NEAREST or far:
        tables.append(
            _overturn_table(
                "Inputs farther away, or that could not overturn it",
                [*near[NEAREST:], *far],
                folded=True,
            )
        )
    if comparison.air_or_battery:
        tables.append(_air_table(comparison))
    return Section(
        name="doubts",
        title="What would overturn it",
        sentence=(
            f"{telling.rests_on(comparison)} Each input was changed alone: one within two uncertainties is a "
            "worry; errors acting together were not tried."
        ).strip(),
        tables=tuple(tables),
    )


def _overturn_table(caption: str, rows: Sequence[Overturn], *, folded: bool = False) -> Table:
    def change(o: Overturn) -> str:
        if o.change is not None:
            return f"{o.change:+.3g} {o.unit}".replace("-", "−")
        return "left out" if o.to_verdict is not None else o.reason

    return Table(
        caption=caption,
        columns=("input", "verdict on", "change", "in uncertainties", "would become"),
        rows=tuple(
            (
                o.input,
                o.contrast,
                change(o),
                "–" if o.in_uncertainties is None else f"{abs(o.in_uncertainties):.1f}",
                str(o.to_verdict) if o.to_verdict else "no change",
            )
            for o in rows
        ),
        numbers=(2, 3),
        folded=folded,
    )


def _air_table(comparison: Comparison) -> Table:
    return Table(
        caption="Air cathode or battery? Charge drawn against the charge the electrode itself may hold",
        columns=("electrode", "drawn", "may hold up to", "answer", "next"),
        rows=tuple(
            (
                a.electrode,
                f"{_estimate(a.charge_drawn)} {_unit(a.charge_drawn)}",
                f"{_estimate(a.stored_charge)} {_unit(a.stored_charge)}",
                a.detail,
                a.next_step or "–",
            )
            for a in comparison.air_or_battery
        ),
        folded=len(comparison.air_or_battery) > 3,
    )


def _unit(estimate: Estimate) -> str:
    return estimate.unit.replace("^2", "²")


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
    return Section(
        name="conditions",
        title="Conditions",
        sentence=(
            f"{measured} of {len(comparison.conditions)} were measured; "
            + (f"may differ: {', '.join(may)}. " if may else "none is left that may differ. ")
            + (f"Blocking: {', '.join(blocking)}." if blocking else "None blocks the comparison.")
        ),
        tables=(
            Table(
                caption="How each condition is known",
                columns=("condition", "known", "detail", "blocks", "what would mend it"),
                folded=True,
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
                folded=True,
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
                folded=True,
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
