"""For who wants to check the verdict: the exact figures and the model behind the plain words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure import telling
from aerode.records.comparisons import Verdict
from aerode.records.reports import Section, Table
from aerode.usecases.report_tables import estimate_with_unit, interval_words

if TYPE_CHECKING:
    from aerode.records.comparisons import Comparison

__all__ = ["statistics_section"]


def statistics_section(comparison: Comparison) -> Section:
    """The level, the degrees of freedom, the spreads and the model, folded; nothing else needs them.

    Parameters
    ----------
    comparison : Comparison

    Returns
    -------
    Section
    """
    figures = Table(
        caption="Figures behind the verdict",
        columns=("figure", "value"),
        rows=tuple(_figures(comparison)),
        folded=True,
    )
    pairs = tuple(
        (f"{c.a} / {c.b}", str(c.level), f"{c.degrees_of_freedom:.2g}")
        for c in comparison.contrasts
        if c.degrees_of_freedom is not None
    )
    freedom = Table(
        caption="Degrees of freedom of each pair", columns=("pair", "level", "degrees of freedom"),
        rows=pairs, numbers=(2,), folded=True,
    )  # fmt: skip
    model = Table(
        caption="The model, and what it takes as given",
        columns=("statement",),
        rows=tuple((text,) for text in comparison.model),
        folded=True,
    )
    tables = [figures, *([freedom] if pairs else []), *([model] if comparison.model else [])]
    return Section(
        name="statistician",
        title="For the statistician",
        sentence="Exact figures behind the words above. Nothing at the bench needs them.",
        tables=tuple(tables),
    )


def _figures(found: Comparison) -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    if found.ratio is not None and found.interval is not None:
        rows.append(
            (
                f"ratio, {found.primary}",
                f"{found.ratio:.3f} ({telling.judged_at(found)}: {interval_words(found.interval)})",
            )
        )
    if found.verdict is Verdict.EQUIVALENT and found.equivalence_interval is not None:
        level = 100.0 * (1.0 - 2.0 * found.look_level)
        said = f"{level:.3g} %: {interval_words(found.equivalence_interval)}"
        rows.append(("interval of the two one-sided tests", said))
    rows.append(("two-sided level of this look", f"{found.look_level:.3g}"))
    freedom = _freedom(found)
    if freedom is not None:
        rows.append(("degrees of freedom", f"{freedom:.2g}"))
    rows += [
        (f"spread taken for {r.builds}", f"{100 * r.spread:.1f} %, {r.degrees_of_freedom:.2g} degrees of freedom")
        for r in found.reach
        if r.degrees_of_freedom is not None
    ]  # fmt: skip
    told = (
        ("spread between builds", found.build_spread),
        ("change over the day, per run", found.drift_per_run),
        ("ageing of the control, per run", found.control_ageing),
    )
    rows += [(words, estimate_with_unit(one)) for words, one in told if one.value is not None]
    if found.order_alignment is not None:
        rows.append(("correlation of side and order of measuring", f"{found.order_alignment:.2f}"))
    return rows


def _freedom(found: Comparison) -> float | None:
    asked = next((e.degrees_of_freedom for e in found.effects if e.asked), None)
    pair = next((c.degrees_of_freedom for c in found.contrasts if f"{c.a} over {c.b}" == found.primary), None)  # fmt: skip
    return asked if asked is not None else pair
