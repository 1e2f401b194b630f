"""A claim: what is to be shown, and what its builds can show, said before anything is built."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import RangeError
from aerode.measure.comparison.looks import level_of_each_look
from aerode.measure.comparison.reaching import ASSUMED_SPREADS, reach_of
from aerode.measure.comparison.wording import shortened
from aerode.records.comparisons import ClaimOutlook, Reach
from aerode.stats.power import builds_for_equivalence, builds_per_arm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.places import Claim
    from aerode.records.runs import Run

__all__ = ["claim_note", "claim_outlook", "matching_claim"]

_MOST = 1000  # numerical


def matching_claim(
    claims: Sequence[Claim],
    *,
    by: str,
    at_voltage: float | None = None,
    at_current_density: float | None = None,
) -> Claim | None:
    """The one claim that is about this question; None where there is none, or more than one.

    Parameters
    ----------
    claims : sequence of Claim [record]
    by : str
        The factor asked about; "" for recipes.
    at_voltage : float, optional [V]
    at_current_density : float, optional [A/m^2]

    Returns
    -------
    Claim or None
        Same factor, same kind of point, and the same point where both name one.

    Examples
    --------
    >>> from aerode.records.places import Claim
    >>> matching_claim([Claim(name="c", question="?", factor="binder", at=0.45)], by="binder").name
    'c'
    """

    def fits(claim: Claim) -> bool:
        if claim.factor != by:
            return False
        at_current = claim.response.startswith("voltage")
        asked = at_current_density if at_current else at_voltage
        other = at_voltage if at_current else at_current_density
        if other is not None:
            return False
        return asked is None or claim.at is None or math.isclose(asked, claim.at, rel_tol=1e-6)

    found = [claim for claim in claims if fits(claim)]
    return found[0] if len(found) == 1 else None


def claim_note(claim: Claim, runs: Sequence[Run]) -> str:
    """Why a claim does not count as written down beforehand; "" where nothing stands against it.

    Parameters
    ----------
    claim : Claim [record]
    runs : sequence of Run [record]
        Dates are compared as far as both are noted.

    Returns
    -------
    str

    Examples
    --------
    >>> from aerode.records.places import Claim
    >>> from aerode.records.runs import Run
    >>> late = Claim(name="late", question="?", made="2026-05-10")
    >>> claim_note(late, [Run(name="r", started="2026-05-09T10:00")])[:30]
    'the claim "late" was written o'
    """
    started = sorted(run.started[:10] for run in runs if run.started)
    if claim.made and started and claim.made[:10] > started[0]:
        return (
            f'the claim "{claim.name}" was written on {claim.made[:10]}, after the first run '
            f"({started[0]}): it is judged as if none had been written"
        )
    return ""


def claim_outlook(
    claim: Claim,
    *,
    own_spread: tuple[float, float] | None = None,
    assumed: Sequence[float] = ASSUMED_SPREADS,
    stored: bool = False,
) -> ClaimOutlook:
    """Which verdicts a claim can reach with its builds, before anything is built.

    Parameters
    ----------
    claim : Claim [record]
        `builds` counts all electrodes, shared evenly between the two sides.
    own_spread : (float, float), optional [1, 1]
        Spread between builds found on this bench, and its degrees of freedom.
    assumed : sequence of float [1]
        Spreads to assume otherwise.
    stored : bool
        Whether the claim was kept.

    Returns
    -------
    ClaimOutlook

    Raises
    ------
    RangeError
        If a spread is not above 0.

    Examples
    --------
    >>> from aerode.records.places import Claim
    >>> plan = claim_outlook(Claim(name="c", question="?", margin=1.1, builds=8), assumed=(0.10,))
    >>> round(plan.reach[0].detectable_ratio, 2), plan.reach[0].equivalence_reachable
    (1.27, False)
    >>> plan.builds_to_show, plan.builds_to_equal
    ((19,), (20,))
    """
    spreads = [own_spread[0]] if own_spread is not None else list(assumed)
    if any(not s > 0 for s in spreads):
        raise RangeError("a spread between builds must be above 0", where="spread")
    level = level_of_each_look(claim.looks)
    margin = math.log(claim.margin)
    sides = _sides(claim.builds)
    rows = tuple(
        reach_of(
            sides,
            spread,
            margin,
            basis=_basis(spread, own_spread),
            look_level=level,
        )
        for spread in spreads
    )
    show = tuple(_capped(builds_per_arm(margin / s, level=1.0 - level)) for s in spreads)
    equal = tuple(_capped(builds_for_equivalence(s, margin, level=1.0 - level)) for s in spreads)
    return ClaimOutlook(
        headline=_headline(claim, rows, equal),
        claim=claim.name,
        question=claim.question,
        factor=claim.factor,
        at=claim.at,
        at_unit="A/m^2" if claim.response.startswith("voltage") else "V",
        margin=claim.margin,
        builds=claim.builds,
        looks=claim.looks,
        look_level=level,
        reach=rows,
        builds_to_show=show,
        builds_to_equal=equal,
        stored=stored,
        warnings=_warnings(claim, rows),
        next_steps=_steps(claim, show),
    )


def _sides(builds: int | None) -> tuple[int, int]:
    if builds is None:
        return 2, 2
    return (builds + 1) // 2, max(builds // 2, 1)


def _basis(spread: float, own: tuple[float, float] | None) -> str:
    if own is None:
        return f"{100 * spread:.0f} % assumed for hand-made builds"
    few = ", from few repeat builds" if own[1] < 4.0 else ""  # judgement
    return f"found on this bench{few}"


def _capped(builds: int) -> int | None:
    return builds if builds <= _MOST else None


def _headline(claim: Claim, rows: Sequence[Reach], equal: Sequence[int | None]) -> str:
    count = "2 + 2 builds (none named)" if claim.builds is None else rows[0].builds
    seen = [row.detectable_ratio for row in rows if row.detectable_ratio is not None]
    if not seen:
        return shortened(f"{count} can show nothing about recipes: build two of each, at least.")
    low, high = min(seen), max(seen)
    span = f"{low:.2f}" if math.isclose(low, high, rel_tol=5e-3) else f"{low:.2f} to {high:.2f}"
    return shortened(
        f"{count} show a true ratio of {span} four times in five; {_equality(claim, rows, equal)}."
    )


def _equality(claim: Claim, rows: Sequence[Reach], equal: Sequence[int | None]) -> str:
    """Whether two equal recipes come out equivalent four times in five, now and then, or not."""
    side = min(_sides(claim.builds))
    enough = [row for row, n in zip(rows, equal, strict=True) if n is not None and side >= n]
    at = (
        f" at {units.per_cent(max(row.spread for row in enough))} spread"
        if 0 < len(enough) < len(rows)
        else ""
    )
    if enough:
        return f'"equivalent" is in reach{at}'
    if any(row.equivalence_reachable for row in rows):
        return '"equivalent" only now and then'
    return '"equivalent" is out of reach'


def _warnings(claim: Claim, rows: Sequence[Reach]) -> tuple[str, ...]:
    said: list[str] = []
    blunt = [
        r for r in rows if r.detectable_ratio is not None and r.detectable_ratio > claim.margin
    ]
    if blunt:
        said.append(
            f'a difference of just {claim.margin:.3g} times would mostly come out as "not shown": '
            "that is no proof of equality"
        )
    if claim.looks > 1:
        said.append(
            f"{claim.looks} looks cost sharpness: each is judged at {100 * (1 - level_of_each_look(claim.looks)):.3g} %"
        )
    return tuple(said)


def _steps(claim: Claim, show: Sequence[int | None]) -> tuple[str, ...]:
    known = [n for n in show if n is not None]
    steps: list[str] = []
    if known and (claim.builds is None or max(known) * 2 > claim.builds):
        low, high = min(known), max(known)
        span = f"{low}" if low == high else f"{low} to {high}"
        steps.append(f"to show a ratio of {claim.margin:.3g}: about {span} builds of each side")
    steps.append("draw the order of measuring beforehand: aerode compare --order")
    return tuple(steps)
