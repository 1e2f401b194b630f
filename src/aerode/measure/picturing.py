"""Answers as figure records: what the person should see first, and what lies behind it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerode.errors import CannotTellError
from aerode.measure.telling import CORRECTION_WORDS, judged_at, quantity_of
from aerode.records.figures import Axis, Dash, Figure, Mark, Scale, Series, Stretch
from aerode.records.results import Level

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.comparisons import Comparison, Contrast, Effect, Piece
    from aerode.records.fits import Fit

__all__ = [
    "ammeter_beside_fair",
    "contrast_intervals",
    "correction_steps",
    "effect_intervals",
    "leak_times",
    "lowest_shown",
    "polarization_curves",
]

_MARKS = (Mark.CIRCLE, Mark.SQUARE, Mark.DIAMOND, Mark.TRIANGLE, Mark.CROSS)


def _recipe_places(pieces: Sequence[Piece]) -> dict[str, int]:
    """A running number for each recipe: its mark and its tone, the same for repeat builds."""
    return {recipe: k for k, recipe in enumerate(dict.fromkeys(piece.recipe for piece in pieces))}


def _shown(comparison: Comparison) -> list[Piece]:
    """Those with a value; a control too, where its recipe is one of those that are compared."""
    compared = {p.recipe for p in comparison.pieces if not p.control}
    compared |= {
        name for c in comparison.contrasts if c.level is Level.RECIPES for name in (c.a, c.b)
    }
    return [
        p
        for p in comparison.pieces
        if p.fair.value is not None and not p.left_out and (not p.control or p.recipe in compared)
    ]


def _name(piece: Piece) -> str:
    return f"{piece.electrode} (control)" if piece.control else piece.electrode


def ammeter_beside_fair(comparison: Comparison) -> Figure:
    """What the ammeter said beside the fair value, joined for each electrode.

    Both columns are in per cent of their own mean over the electrodes that have both, so that the
    order can be read across; repeat builds of one recipe carry the same mark.
    """
    shown = [p for p in _shown(comparison) if p.ammeter_mA is not None]
    if not shown:
        return _fair_alone(comparison)
    recipes = _recipe_places(shown)
    fair_mean = sum(p.fair.value or 0.0 for p in shown) / len(shown)
    metered = [p.ammeter_mA for p in shown if p.ammeter_mA is not None]
    ammeter_mean = sum(metered) / len(metered) if metered else 1.0
    series: list[Series] = []
    for piece in shown:
        fair = 100.0 * (piece.fair.value or 0.0) / fair_mean
        low, high = piece.fair.interval_95 or (piece.fair.value or 0.0, piece.fair.value or 0.0)
        bars = (100.0 * low / fair_mean, 100.0 * high / fair_mean)
        place = recipes[piece.recipe]
        left = [] if piece.ammeter_mA is None else [100.0 * piece.ammeter_mA / ammeter_mean]
        series.append(
            Series(
                label=piece.electrode,
                x=(*(0.0 for _ in left), 1.0),
                y=(*left, fair),
                y_low=(*left, bars[0]),
                y_high=(*left, bars[1]),
                mark=_MARKS[place % len(_MARKS)],
                dash=Dash.SOLID,
                tone=place,
                point_labels=(*("" for _ in left), _name(piece)),
            )
        )
    series += [
        Series(label=recipe, x=(), y=(), mark=_MARKS[k % len(_MARKS)], tone=k)
        for recipe, k in recipes.items()
    ]
    best = max(shown, key=lambda p: p.fair.value or 0.0)
    loudest = max(shown, key=lambda p: p.ammeter_mA or 0.0)
    return Figure(
        name="ammeter-beside-fair",
        title="What the ammeter said, and the fair value",
        x=Axis(
            title="",
            scale=Scale.NAMES,
            names=("ammeter current", f"fair {quantity_of(comparison)}"),
        ),
        y=Axis(title="Share of the average of all", unit="%"),
        series=tuple(series),
        caption=(
            f"Left: the ammeter put across the cell. Right: {comparison.response}, corrected, with its 95 % interval: "
            "of measuring alone, so do not judge recipes by it. Builds of one recipe share mark and colour."
        ),
        alt=(
            f"Lines join each electrode's ammeter reading to its fair value. The ammeter puts "
            f"{loudest.electrode} highest; the fair value is highest for {best.electrode}. The table below the "
            "figure holds all numbers."
        ),
    )


def _fair_alone(comparison: Comparison) -> Figure:
    """The fair value of each electrode with its interval, where no ammeter reading was taken."""
    shown = _shown(comparison)
    if not shown:
        raise CannotTellError(
            "no electrode has a value to show",
            where="report",
            next_step="measure at least two electrodes with three loads each",
        )
    recipes = _recipe_places(shown)
    series = [
        Series(
            label=piece.recipe,
            x=(piece.fair.value or 0.0,),
            y=(float(row),),
            x_low=((piece.fair.interval_95 or (piece.fair.value or 0.0,) * 2)[0],),
            x_high=((piece.fair.interval_95 or (piece.fair.value or 0.0,) * 2)[1],),
            mark=_MARKS[recipes[piece.recipe] % len(_MARKS)],
            tone=recipes[piece.recipe],
        )
        for row, piece in enumerate(shown)
    ]
    best = max(shown, key=lambda p: p.fair.value or 0.0)
    return Figure(
        name="fair-values",
        title="The fair values",
        x=Axis(title=_capital(comparison.response), unit=comparison.value_unit.replace("^2", "²")),
        y=Axis(title="", scale=Scale.NAMES, names=tuple(map(_name, shown))),
        series=tuple(series),
        caption=(
            f"{_capital(comparison.response)}, corrected, with its 95 % interval: of measuring alone, so do not "
            "judge recipes by it."
        ),
        alt=f"One row for each of {len(shown)} electrodes with its fair value; the highest is {best.electrode}.",
    )


def correction_steps(comparison: Comparison) -> Figure:
    """By how much each correction moved each electrode, in per cent."""
    shown = _shown(comparison)
    kinds = list(
        # judgement
        dict.fromkeys(c.what for p in shown for c in p.corrections if abs(c.ratio - 1.0) > 0.0005)
    )
    series: list[Series] = []
    for k, kind in enumerate(kinds):
        points = [
            (100.0 * (c.ratio - 1.0), float(row))
            for row, piece in enumerate(shown)
            for c in piece.corrections
            if c.what == kind
        ]
        series.append(
            Series(
                label=CORRECTION_WORDS.get(kind, kind),
                x=tuple(x for x, _ in points),
                y=tuple(y for _, y in points),
                mark=_MARKS[k % len(_MARKS)],
                tone=k,
            )
        )
    largest = max(
        ((abs(c.ratio - 1.0), p.electrode, c.what, c.ratio) for p in shown for c in p.corrections),
        default=(0.0, "none", "nothing", 1.0),
    )
    return Figure(
        name="corrections",
        title="Why each electrode moved",
        x=Axis(title=f"Change of the {quantity_of(comparison)}", unit="%"),
        y=Axis(title="", scale=Scale.NAMES, names=tuple(map(_name, shown))),
        series=tuple(series),
        stretches=(Stretch(along="x", low=0.0, high=0.0, label=""),),
        caption="Each mark is one correction: how far it moved this electrode's value, up (+) or down (−).",
        alt=(
            f"One row for each electrode, one mark for each correction. The largest is {largest[2]} for "
            f"{largest[1]}: {100 * (largest[3] - 1):+.0f} per cent."
        ),
    )


def polarization_curves(
    fits: Sequence[Fit], pieces: Sequence[Piece], *, at_voltage: float | None = None
) -> Figure:
    """Voltage over current density with 95 % bands, the readings on top."""
    drawn = [fit for fit in fits if fit.curve is not None]
    recipes = _recipe_places(pieces)
    by_name = {piece.electrode: piece for piece in pieces}
    per_area = all(fit.curve.per_area for fit in drawn if fit.curve)
    factor = 0.1 if per_area else 1000.0  # mA/cm^2 or mA, by definition
    series: list[Series] = []
    for count, fit in enumerate(drawn):
        curve = fit.curve
        if curve is None:
            continue
        place = recipes[by_name[fit.electrode].recipe] if fit.electrode in by_name else count
        current = tuple(factor * i for i in curve.current)
        name = fit.electrode or fit.source
        series.append(
            Series(
                label="",
                x=current,
                y=curve.voltage,
                y_low=curve.voltage_low,
                y_high=curve.voltage_high,
                band=True,
                tone=place,
            )
        )
        series.append(
            Series(
                label=name,
                x=current,
                y=curve.voltage,
                dash=Dash.SOLID,
                tone=place,
                point_labels=(*("" for _ in current[1:]), name),
            )
        )
        series.append(_readings(fit, factor, _MARKS[place % len(_MARKS)], place))
    unit = "mA/cm²" if per_area else "mA"
    across = (
        ()
        if at_voltage is None
        else (Stretch(along="y", low=at_voltage, high=at_voltage, label="compared here"),)
    )
    return Figure(
        name="curves",
        title="Polarization curves",
        x=Axis(title="Current density" if per_area else "Current", unit=unit, low=0.0),
        y=Axis(title="Voltage", unit="V", low=lowest_shown(series)),
        series=tuple(series),
        stretches=across,
        caption=(
            "Line: fitted curve; shade: 95 % band at each point; marks: readings, brought to the "
            "tab where its resistance was measured, else at the clips. The curves are as measured: the change over the day is not taken out here."
        ),
        alt=f"Polarization curves of {len(drawn)} runs. Voltage falls as the current rises.",
    )


def lowest_shown(series: Sequence[Series]) -> float | None:
    """Where an axis of cell voltages begins: at 0 where something comes near it, as no cell at a load reads less.

    Parameters
    ----------
    series : sequence of Series
        What is drawn, bands with it.

    Returns
    -------
    float or None [V]
        None where everything lies well above: then the values say where it begins.
    """
    values = [v for one in series for v in (*one.y, *one.y_low, *one.y_high)]
    return 0.0 if values and min(values) < 0.1 * max(values) else None


def _readings(fit: Fit, factor: float, mark: Mark, tone: int) -> Series:
    area = fit.wetted_area_cm2.value
    scale = 1000.0 / area if factor == 0.1 and area else 1000.0  # by definition
    points = [
        (scale * p.current, p.corrected_voltage)
        for p in fit.points
        if p.used and p.current is not None and p.corrected_voltage is not None
    ]
    return Series(
        label="", x=tuple(x for x, _ in points), y=tuple(y for _, y in points), mark=mark, tone=tone
    )


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"


def _interval_figure(
    name: str,
    title: str,
    rows: Sequence[Contrast | Effect],
    labels: Sequence[str],
    comparison: Comparison,
    caption: str,
) -> Figure:
    level, margin = judged_at(comparison), comparison.margin
    drawn = [
        (float(k), row.ratio, interval)
        for k, row in enumerate(rows)
        if row.ratio is not None and (interval := row.decision_interval or row.interval_95)
    ]
    excluded = sum(1 for _, _, (low, high) in drawn if low > 1.0 or high < 1.0)
    return Figure(
        name=name,
        title=title,
        x=Axis(
            title=f"Ratio of {comparison.response.replace('^2', '²')}, log scale", scale=Scale.LOG
        ),
        y=Axis(title="", scale=Scale.NAMES, names=tuple(labels)),
        series=(
            Series(
                label=f"ratio with its {level} interval",
                x=tuple(r for _, r, _ in drawn),
                y=tuple(y for y, _, _ in drawn),
                x_low=tuple(i[0] for _, _, i in drawn),
                x_high=tuple(i[1] for _, _, i in drawn),
                mark=Mark.CIRCLE,
            ),
        ),
        stretches=(
            Stretch(along="x", low=1.0 / margin, high=margin, label="smaller than matters"),
            Stretch(along="x", low=1.0, high=1.0, label=""),
        ),
        caption=caption,
        alt=(
            f"{len(drawn)} ratios with {level} intervals on a line where 1 means no difference; "
            f"{excluded} of them keep clear of 1."
        ),
    )


def contrast_intervals(comparison: Comparison, contrasts: Sequence[Contrast]) -> Figure:
    """The ratios with the intervals their verdicts rest on, for all rows together, and the margin that matters."""
    return _interval_figure(
        "contrasts",
        "Which differ, and by how much",
        contrasts,
        [f"{c.a} / {c.b}" for c in contrasts],
        comparison,
        f"An interval that keeps clear of 1 shows a difference{_unless(contrasts)}; one inside the shaded margin shows "
        f"that it is too small to matter. {judged_at(comparison)} intervals, for all rows together.",
    )


def _unless(contrasts: Sequence[Contrast]) -> str:
    """What stands in the way of calling any of these differences shown, or ""."""
    reasons = dict.fromkeys(one.reason.partition(";")[0] for one in contrasts if one.reason)
    return f", but not where {' or '.join(reasons)}" if reasons else ""


def effect_intervals(comparison: Comparison) -> Figure:
    """The effect of each factor, from its low to its high setting."""
    return _interval_figure(
        "effects",
        "What each factor does",
        comparison.effects,
        [f"{e.factor} {e.low} → {e.high}" for e in comparison.effects],
        comparison,
        f"The {quantity_of(comparison)} at the high setting over that at the low one, with its "
        f"{judged_at(comparison)} interval.",
    )


def leak_times(comparison: Comparison) -> Figure:
    """When each air face went wet, as far as the looks tell; the span between two looks is hatched."""
    names = tuple(line.electrode for line in comparison.leaks)
    last = max(
        (v for line in comparison.leaks for v in (line.last_dry, line.first_wet) if v is not None),
        default=1.0,
    )
    dry = [
        (float(k), line.last_dry)
        for k, line in enumerate(comparison.leaks)
        if line.last_dry is not None
    ]
    wet = [
        (float(k), line.first_wet)
        for k, line in enumerate(comparison.leaks)
        if line.first_wet is not None
    ]
    spans = tuple(
        Stretch(
            along="x",
            low=line.last_dry or 0.0,
            high=line.first_wet,
            label="",
            hatched=True,
            across=(k - 0.3, k + 0.3),  # judgement: width of a bar
        )
        for k, line in enumerate(comparison.leaks)
        if line.first_wet is not None
    )
    series = [
        Series(
            label="last seen dry",
            x=tuple(x for _, x in dry),
            y=tuple(y for y, _ in dry),
            x_low=tuple(0.0 for _ in dry),
            x_high=tuple(x for _, x in dry),
            mark=Mark.RING,
        )
    ]
    if wet:
        series.append(
            Series(
                label="first seen wet (it leaked in the hatched span)",
                x=tuple(x for _, x in wet),
                y=tuple(y for y, _ in wet),
                mark=Mark.DIAMOND,
                tone=7,
            )
        )
    wet_names = (
        ", ".join(line.electrode for line in comparison.leaks if line.first_wet is not None)
        or "none"
    )
    return Figure(
        name="leaks",
        title="When the air face went wet",
        x=Axis(title="Time under water", unit="h", low=0.0, high=math.ceil(last / 6.0) * 6.0),
        y=Axis(title="", scale=Scale.NAMES, names=names),
        series=tuple(series),
        stretches=spans,
        caption="Bars: known to be dry. Hatched: it leaked somewhere in this span, when is not known.",
        alt=f"One bar for each electrode up to its last dry look. Found wet: {wet_names}.",
    )
