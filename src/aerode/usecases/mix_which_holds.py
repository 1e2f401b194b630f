"""Amounts and shares of one mix that say two different things: which of them holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.measure.mix.composition import compose
from aerode.records.mixes import Ingredient, Mix, Portion

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.measure.mix.lots import Shelf
    from aerode.measure.mix.weighing import Scale

__all__ = ["AMOUNTS", "SHARES", "Settled", "settle"]

AMOUNTS, SHARES = "amounts", "shares"
"""Which of the two a person said holds."""
_SLIP = 0.05  # judgement
"""By how much of the whole a share may miss where nobody changed a share: weighing strays, slips stray more."""
_SAME = 1e-6  # numerical
_FEW = 3
"""Of how many ingredients both shares are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """The amounts and shares that are one mix."""

    portions: tuple[Portion, ...]
    shares: dict[str, float | None]
    told: str = ""
    """What was done with the others, in words; "" where nothing had to be done."""
    ask: str = ""
    """Where it is open which holds: how the two disagree. The shares hold in what is given here."""


def settle(
    portions: Sequence[Portion],
    shares: Mapping[str, float | None],
    shelf: Shelf,
    scale: Scale,
    *,
    base: Mix | None = None,
    copied: bool = False,
    holds: str = "",
) -> Settled:
    """Make one mix of amounts and shares.

    Who changes a share of a mix that grows out of another means the share: the amounts that came
    along follow it, and the first powder keeps its own. Anywhere else it is asked, once the two
    disagree by more than weighing explains.

    Parameters
    ----------
    portions : sequence of Portion
        What has an amount.
    shares : mapping
        Wanted dry mass fraction by name [1]; None for the one that is the rest.
    shelf : Shelf
        The lots.
    scale : Scale
        On which an amount without an uncertainty of its own was weighed.
    base : Mix, optional
        What it grew out of, or what it was before.
    copied : bool
        The amounts came along from `base`, and nobody weighed them for this one.
    holds : str
        `AMOUNTS` or `SHARES` where somebody said which holds.

    Returns
    -------
    Settled

    Raises
    ------
    InputError, NotFoundError, RangeError
        As `compose`.
    """
    same = Settled(portions=tuple(portions), shares=dict(shares))
    weighed = list(dict.fromkeys(p.of for p in portions if p.shelf is not Ingredient.SOLVENT))
    wanted = _whole(shares)
    both = [of for of in weighed if of in wanted]
    alone = set(weighed) - set(wanted)
    if not both or (not alone and abs(sum(wanted.values()) - 1.0) > _SAME):
        return same
    moved = base is not None and _moved(wanted, shares, base)
    came_along = {of for of in both if base is not None and _as_in(of, portions, base)}
    if copied and moved and came_along == set(both):
        if (
            not alone
            and set(wanted) == set(both)
            and not _apart(portions, wanted, shelf, scale, 0.0)
        ):
            return same
        return _following(same, weighed, wanted)
    if set(weighed) != set(wanted):
        return same
    apart = _apart(portions, wanted, shelf, scale, 0.0 if moved else _SLIP)
    if not apart:
        return same
    if holds == AMOUNTS:
        return Settled(portions=same.portions, shares={}, told="the shares follow the amounts")
    found = _following(same, weighed, wanted)
    if holds == SHARES:
        return found
    return Settled(portions=found.portions, shares=found.shares, ask=_two_mixes(apart, wanted))


def _whole(shares: Mapping[str, float | None]) -> dict[str, float]:
    """Each share with the rest worked out; empty where they make no whole by themselves."""
    said = sum(share for share in shares.values() if share is not None)
    left = max(0.0, 1.0 - said)
    return {of: left if share is None else share for of, share in shares.items()}


def _moved(wanted: Mapping[str, float], shares: Mapping[str, float | None], base: Mix) -> bool:
    """True if a share is another one than it was, or is new beside an amount."""
    before = {share.of: share.fraction for share in base.wanted}
    told = {share.of for share in base.wanted} - set(base.rest)
    return any(
        abs(share - before.get(of, -1.0)) > _SAME
        for of, share in wanted.items()
        if of in told or shares[of] is not None
    )


def _as_in(of: str, portions: Sequence[Portion], base: Mix) -> bool:
    """True if the amounts of a name are those of the other mix, to the digits that a form shows."""

    def amounts(of_those: Sequence[Portion]) -> list[float]:
        return [(p.mass or p.volume).value for p in of_those if p.of == of]  # pyright: ignore[reportOptionalMemberAccess]

    now, before = amounts(portions), amounts(base.portions)
    return len(now) == len(before) and all(
        abs(a - b) <= 1e-3 * max(a, b) for a, b in zip(now, before, strict=True)
    )


def _apart(
    portions: Sequence[Portion], wanted: Mapping[str, float], shelf: Shelf, scale: Scale, slip: float
) -> dict[str, float]:  # fmt: skip
    """Share by the amounts of each ingredient where it is not the wanted one, even by weighing [1]."""
    made = compose(portions, shelf, scale, where="mix")
    by_amount = made.dry_shares()
    return {
        of: by_amount.get(of, 0.0)
        for of, share in wanted.items()
        if abs(by_amount.get(of, 0.0) - share) > max(slip, 2.0 * made.share_uncertainty(of) + _SAME)
    }


def _following(same: Settled, weighed: Sequence[str], wanted: Mapping[str, float]) -> Settled:
    """The amounts of what has a share left out, to be worked out; one of them says how much the whole is."""
    alone = [of for of in weighed if of not in wanted]
    kept = set(alone) or {_anchor(same.portions, wanted)}
    portions = tuple(p for p in same.portions if p.shelf is Ingredient.SOLVENT or p.of in kept)
    told = "the amounts follow the new shares"
    if not alone:
        told = f"{told}; that of {next(iter(kept))} stays"
    return Settled(portions=portions, shares=same.shares, told=told)


def _anchor(portions: Sequence[Portion], wanted: Mapping[str, float]) -> str:
    """The first powder that has a share; the first of anything where no powder has one."""
    there = [p for p in portions if wanted.get(p.of, 0.0) > 0]
    powders = [p for p in there if p.shelf is Ingredient.POWDER]
    return (powders or there or list(portions))[0].of


def _two_mixes(apart: Mapping[str, float], wanted: Mapping[str, float]) -> str:
    worst = sorted(apart, key=lambda of: -abs(apart[of] - wanted[of]))[:_FEW]
    each = [f"{of} is {100 * apart[of]:.3g} % of the dry coat by the amounts, and {100 * wanted[of]:.3g} % by its share" for of in worst]  # fmt: skip
    return "; ".join(each)
