"""The tables of the report: words and rounded numbers."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.measure import telling
from aerode.records.comparisons import Comparison, Contrast, Verdict
from aerode.records.reports import Table
from aerode.records.results import Estimate

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.comparisons import AirOrBattery, Effect, Overturn, Piece
    from aerode.records.fits import Fit

__all__ = [
    "NOT_NOTED",
    "air_sentence",
    "air_table",
    "contrast_table",
    "effect_table",
    "estimate_with_unit",
    "estimate_words",
    "fit_table",
    "interval_words",
    "overturn_table",
    "per_cent",
    "piece_table",
    "reach_table",
    "recipe_table",
    "shown_unit",
    "whole_name",
    "without_the_same",
]


NOT_NOTED = "not noted"
"""What stands where nothing is on file: an empty cell would read as "none"."""
_RISING = " (still rising)"


def whole_name(name: str) -> str:
    """A short name of a run, kept on one line."""
    return name.replace(" ", "\u00a0") if len(name) <= 20 else name  # judgement


def per_cent(ratio: float) -> str:
    """A ratio as a change in per cent, with its sign."""
    return f"{100.0 * (ratio - 1.0):+.1f}".replace("-", "−")


def estimate_words(estimate: Estimate) -> str:
    """An estimate with the digits its uncertainty supports, its bound, or "not given"."""
    if estimate.value is None:
        if estimate.lower_bound is not None:
            rising = _RISING if "still rising" in (estimate.reason or "") else ""
            return f"at least {units.bound(estimate.lower_bound)}{rising}"
        return "not given"
    if not estimate.standard_uncertainty:
        return f"{estimate.value:.3g}"
    return units.write(estimate.value, "", estimate.standard_uncertainty)


def estimate_with_unit(estimate: Estimate) -> str:
    """An estimate with its unit behind it; what is not given has none.

    >>> estimate_with_unit(Estimate(value=None, unit="mAh/cm^2", reason="no mass is known"))
    'not given'
    """
    if estimate.value is None and estimate.lower_bound is None:
        return estimate_words(estimate)
    return f"{estimate_words(estimate)} {shown_unit(estimate)}".strip()


def shown_unit(estimate: Estimate) -> str:
    """The unit as it is printed."""
    return estimate.unit.replace("^2", "²")


def interval_words(interval: tuple[float, float] | None) -> str:
    """Two decimals, or three where two would hide on which side of 1 an end lies."""
    if interval is None:
        return "–"
    hidden = any(f"{end:.2f}" == "1.00" and abs(end - 1.0) > 1e-12 for end in interval)
    digits = 3 if hidden else 2
    return f"{interval[0]:.{digits}f} to {interval[1]:.{digits}f}"


def fit_table(fits: Sequence[Fit]) -> Table:
    """What the curves tell, one row for each run."""
    keys = (
        ("tafel_slope_V_decade", "voltage lost per tenfold current [V]"),
        ("area_specific_resistance_ohm_cm2", "resistance of the whole cell [Ω cm²]"),
        ("limiting_current_density_mA_cm2", "limiting current [mA/cm²]"),
        ("peak_power_density_mW_cm2", "peak power [mW/cm²]"),
    )
    rows = tuple(
        (
            fit.electrode or fit.source,
            whole_name(fit.source),
            *(
                estimate_words(fit.parameters[k]).removesuffix(_RISING)
                if k in fit.parameters
                else "–"
                for k, _ in keys
            ),
        )
        for fit in fits
    )
    rising = any(
        estimate_words(one).endswith(_RISING) for fit in fits for one in fit.parameters.values()
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
        note=" ".join(
            f"{one[0].upper()}{one[1:]}."
            for one in [
                *meanings,
                *(["at least: the power was still rising at the last load"] if rising else []),
            ]
        ),
        folded=len(fits) > 3,
    )


def piece_table(comparison: Comparison) -> Table:
    """Every electrode: the ammeter's number, the fair value, what became of it."""
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
        fair = estimate_words(piece.fair) + (f" ({piece.fair_rank})" if piece.fair_rank else "")
        state = (
            piece.left_out
            or wet.get(piece.electrode)
            or ("control" if piece.control else piece.outcome)
        )
        return (
            piece.electrode,
            piece.recipe,
            *((ammeter,) if loud else ()),
            fair,
            interval_words(piece.fair.interval_95),
            state,
        )

    return Table(
        caption=f"Every electrode: {comparison.response}, rank in brackets",
        columns=(
            "electrode",
            "recipe",
            *(("ammeter [mA]",) if loud else ()),
            f"fair value [{comparison.value_unit.replace('^2', '²')}]",
            "95 % interval",
            "state",
        ),
        rows=tuple(row(p) for p in comparison.pieces),
        numbers=(2, 3, 4) if loud else (2, 3),
        note="The ammeter's number is a reading at its own resistance; it is not a performance."
        if loud
        else "",
    )


def _verdict_words(one: Effect | Contrast, look_level: float) -> str:
    """The verdict; "equivalent" with the interval of the two one-sided tests it rests on."""
    if one.verdict is not Verdict.EQUIVALENT or one.equivalence_interval is None:
        return str(one.verdict)
    level = 100.0 * (1.0 - 2.0 * look_level)
    return f"{one.verdict} ({level:.3g} % interval {interval_words(one.equivalence_interval)})"


def _interval_head(look_level: float) -> str:
    """The interval that the verdicts rest on, as the head of a column."""
    return f"{100.0 * (1.0 - look_level):.3g} % interval"


def effect_table(effects: Sequence[Effect], look_level: float) -> Table:
    """The effect of each factor."""
    return Table(
        caption="Effect of each factor",
        columns=(
            "factor",
            "from",
            "to",
            "ratio",
            _interval_head(look_level),
            "verdict",
            "not told apart from",
        ),
        rows=tuple(
            (
                e.factor,
                e.low,
                e.high,
                "–" if e.ratio is None else f"{e.ratio:.2f}",
                interval_words(e.decision_interval or e.interval_95),
                _verdict_words(e, look_level),
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


def contrast_table(
    caption: str, contrasts: Sequence[Contrast], look_level: float, *, folded: bool = False
) -> Table:
    """Ratios of pairs with their intervals and verdicts."""

    def row(c: Contrast) -> tuple[str, ...]:
        ratio = "–" if c.ratio is None else f"{c.ratio:.2f}"
        return (
            f"{c.a} / {c.b}",
            ratio,
            interval_words(c.decision_interval or c.interval_95),
            _verdict_words(c, look_level),
            *([c.reason] if why else []),
        )

    why = any(c.reason for c in contrasts)
    return Table(
        caption=caption,
        columns=(
            "pair",
            "ratio",
            f"{_interval_head(look_level)}, all rows together",
            "verdict",
            *(["why"] if why else []),
        ),
        rows=tuple(row(c) for c in contrasts),
        numbers=(1, 2),
        folded=folded,
    )


def reach_table(comparison: Comparison) -> Table:
    """Which verdicts this many builds can reach."""
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
        note=" ".join(
            dict.fromkeys(
                f"{r.detail[:1].upper()}{r.detail[1:].rstrip('.')}."
                for r in comparison.reach
                if r.detail
            )
        ),
    )


def overturn_table(caption: str, rows: Sequence[Overturn], *, folded: bool = False) -> Table:
    """By how much each input would have to change to overturn the verdict."""

    def change(o: Overturn) -> str:
        if o.change is not None:
            return f"{units.plain(o.change, 3, sign=True)} {o.unit}".replace("-", "−")
        return "left out" if o.to_verdict is not None else o.reason

    about = {o.contrast for o in rows}
    said = f" ({about.pop()})" if len(about) == 1 else ""
    return Table(
        caption=f"{caption}{said}",
        columns=(
            "input",
            *([] if said else ["verdict on"]),
            "change",
            "in uncertainties",
            "would become",
        ),
        rows=tuple(
            (
                o.input,
                *([] if said else [o.contrast]),
                change(o),
                "–" if o.in_uncertainties is None else f"{abs(o.in_uncertainties):.1f}",
                str(o.to_verdict) if o.to_verdict else "no change",
            )
            for o in rows
        ),
        numbers=(1, 2) if said else (2, 3),
        folded=folded,
    )


_TAPE = "tape over the air face of {} and repeat three loads (10 min)"
_FEEDS = ": shows whether air feeds it"


def air_table(comparison: Comparison) -> Table:
    """Charge drawn against the charge that the electrode itself may hold."""

    def answer(a: AirOrBattery) -> str:
        told = a.charge_drawn.value is not None and a.stored_charge.value is not None
        short = not a.cleared and told and " or more (" not in a.detail
        return "cannot be told yet" if short else a.detail

    def following(a: AirOrBattery) -> str:
        if a.cleared and not a.next_step:
            return "none needed"
        return (
            a.next_step.replace(_TAPE.format(a.electrode), "tape test").removesuffix(_FEEDS) or "–"
        )

    all_of = comparison.air_or_battery
    told = {shown_unit(one) for a in all_of for one in (a.charge_drawn, a.stored_charge)}
    unit = told.pop() if len(told) == 1 else ""
    written = estimate_words if unit else estimate_with_unit
    behind = f" [{unit}]" if unit else ""
    rows = [
        (a.electrode, written(a.charge_drawn), written(a.stored_charge), answer(a), following(a))
        for a in all_of
    ]
    taped = any("tape test" in row[-1] for row in rows)
    return Table(
        caption="Air cathode or battery? Charge drawn against the charge the electrode itself may hold",
        columns=("electrode", f"drawn{behind}", f"may hold up to{behind}", "answer", "next"),
        rows=tuple(rows),
        numbers=(1, 2) if unit else (),
        note=f"Tape test: {_TAPE.format('the piece')}. It shows whether air feeds it."
        if taped
        else "",
        folded=len(rows) > 3,
    )


def air_sentence(rows: Sequence[AirOrBattery]) -> str:
    """Air, or the electrode's own charge, in a sentence: what could be, and what is not known.

    Parameters
    ----------
    rows : sequence of AirOrBattery
    """
    open_ones = [one for one in rows if not one.cleared]
    unknown = [one for one in open_ones if one.stored_charge.value is None]
    could = len(open_ones) - len(unknown)
    said: list[str] = []
    if could:
        said.append(
            f"For {could} of {len(rows)} the charge drawn could have come out of the electrode itself."
        )
    if unknown:
        told = {one.stored_charge.meaning for one in unknown}
        why = f": {told.pop()}" if len(told) == 1 and "" not in told else ""
        said.append(
            f"For {len(unknown)} of {len(rows)} it is not known what the electrode itself could hold{why}."
        )
    return " ".join(said) or _all_cleared(rows)


def _all_cleared(rows: Sequence[AirOrBattery]) -> str:
    """By what it is settled for all that air feeds the current."""
    drawn = [one for one in rows if _drawn_beyond(one)]
    if len(drawn) == len(rows):
        return (
            f"From all {len(rows)}, more charge was drawn than the electrodes themselves may hold."
        )
    head = f"Air feeds the current of all {len(rows)}: "
    other = f"the taped face or a blank shows it for {len(rows) - len(drawn) if drawn else 'each'}"
    by_charge = f"; from {len(drawn)} more charge was drawn than they may hold" if drawn else ""
    return f"{head}{other}{by_charge}."


def _drawn_beyond(one: AirOrBattery) -> bool:
    drawn, stored = one.charge_drawn.value, one.stored_charge.value
    return drawn is not None and stored is not None and drawn > stored


def recipe_table(comparison: Comparison) -> Table | None:
    """What the short names of the recipes stand for; None where no recipe has a name of its own."""
    if not comparison.recipes:
        return None
    return Table(
        caption="What each recipe is",
        columns=("recipe", "what is in it", "builds"),
        rows=tuple((r.recipe, r.words, ", ".join(r.electrodes)) for r in comparison.recipes),
    )


def without_the_same(table: Table) -> Table:
    """The table without columns that say one thing in every row: the note says it once.

    Rows with a dash are named as exceptions; a column of dashes goes without a word. What nobody
    noted of any row stands in one sentence.
    """
    if len(table.rows) < 2:
        return table
    kept, notes, lacking = [0], [table.note] if table.note else [], list[str]()
    for k in range(1, len(table.columns)):
        said = {row[k] for row in table.rows} - {"–"}
        without = [row[0] for row in table.rows if row[k] == "–"]
        most = 2 if len(table.rows) > 2 else 0  # judgement: more exceptions are a column
        if len(said) > 1 or (said and len(without) > most):
            kept.append(k)
        elif said == {NOT_NOTED} and not without:
            lacking.append(table.columns[k])
        elif said:
            but = f" but {' and '.join(without)}" if without else ""
            head = table.columns[k]
            notes.append(f"{head[:1].upper()}{head[1:]}: {said.pop()} for all{but}.")
    if lacking:
        notes.append(f"{NOT_NOTED[:1].upper()}{NOT_NOTED[1:]} for any: {'; '.join(lacking)}.")
    return replace(
        table,
        columns=tuple(table.columns[k] for k in kept),
        rows=tuple(tuple(row[k] for k in kept) for row in table.rows),
        numbers=tuple(kept.index(k) for k in table.numbers if k in kept),
        note=" ".join(notes),
    )
