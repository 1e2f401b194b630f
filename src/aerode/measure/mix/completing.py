"""A mix of which some amounts and some shares were typed: the amounts and shares that follow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import InputError
from aerode.measure.mix.composition import compose
from aerode.measure.mix.dosing import doses_for
from aerode.measure.mix.weighing import Scale
from aerode.records.marks import Entry, Share
from aerode.records.mixes import WORKED_OUT, Ingredient, Portion

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.measure.mix.lots import Shelf

__all__ = ["Completed", "complete"]

_WHOLE = 1e-6  # numerical
"""How far shares may be from the whole [1], as in the record of a mix."""
_HAIR = 1e-9  # numerical
_AGREE = 0.02  # judgement: two figures of one ingredient that say the same up to rounding
_ANY_SCALE = Scale(name="none", resolution=1e-6, limit_of_error=0.0)  # numerical


@dataclass(frozen=True, slots=True, kw_only=True)
class Completed:
    """The portions and shares of a mix, none left open; `rest` takes what the other shares leave."""

    portions: tuple[Portion, ...]
    wanted: tuple[Share, ...]
    rest: tuple[str, ...] = ()


def complete(
    portions: Sequence[Portion],
    shares: Mapping[str, float | None],
    shelf: Shelf,
    *,
    order: Sequence[str] = (),
) -> Completed:
    """Give the amounts and the shares that follow from those that were typed.

    The dry mass of the whole is the dry mass of what has an amount, over the share that is left for
    it: m = Σ mᵢ / (1 − Σ sⱼ), with the shares sⱼ of what has none.

    Parameters
    ----------
    portions : sequence of Portion
        What has an amount [kg or m³]; one that was worked out before is worked out again.
    shares : mapping
        Wanted dry mass fraction by name, in the order typed [1]; None for the one that is the rest.
    shelf : Shelf
        The lots.
    order : sequence of str
        Names in the order in which they are to stand; first the amounts, then the shares if left out.

    Returns
    -------
    Completed
        Where no share was typed, the portions as they are. Where nothing has an amount, the shares
        alone: any amount fits them.

    Raises
    ------
    InputError
        The shares reach or pass the whole, do not add up, or leave the amount of the whole open; or
        an amount and a share of one ingredient contradict each other.
    NotFoundError, RangeError
        As `compose`.

    Examples
    --------
    >>> from aerode.measure.mix.lots import Shelf
    >>> from aerode.records.materials import Function, PowderLot
    >>> lots = [PowderLot(name=n, substance="graphite", function=Function.CONDUCTOR, moisture=Entry(value=0.0))
    ...         for n in ("char", "soot")]
    >>> made = complete([Portion(of="char", mass=Entry(value=0.010))], {"soot": 0.2}, Shelf.of(lots, (), ()))
    >>> [(p.of, round(p.mass.value, 6)) for p in made.portions], made.rest
    ([('char', 0.01), ('soot', 0.0025)], ('char',))
    """
    typed = tuple(p for p in portions if not _is_worked_out(p, shares))
    if not shares:
        return Completed(portions=typed, wanted=())
    _refuse_two_rests([of for of, share in shares.items() if share is None])
    weighed = list(dict.fromkeys(p.of for p in typed if p.shelf is not Ingredient.SOLVENT))
    free = [of for of in weighed if shares.get(of) is None]
    """Those whose amount alone says what share they are."""
    open_rest = [of for of, share in shares.items() if share is None and of not in weighed]
    said = {of: share for of, share in shares.items() if share is not None}
    _refuse_solvents_alone(typed, weighed)
    if not weighed:
        return Completed(portions=typed, wanted=_made_whole(shares), rest=tuple(open_rest))
    if not free and not set(shares) - set(weighed):
        return Completed(portions=typed, wanted=_made_whole(shares))
    dry = {of: _dry_mass(of, typed, shelf) for of in weighed}
    if free and open_rest:
        found = _with_anchor(dry, said, free, open_rest[0])
    elif free:
        found = {**said, **_left_for(dry, said, free)}
    else:
        found = {share.of: share.fraction for share in _made_whole(shares)}
    order = list(dict.fromkeys([*order, *(p.of for p in typed), *shares]))
    lacking = [of for of in order if of in found and of not in dry and found[of] > 0]
    made = _worked_out(lacking, found, dry, shelf) if lacking else ()
    return Completed(
        portions=_in_order([*typed, *made], order),
        wanted=tuple(Share(of=of, fraction=found[of]) for of in order if of in found),
        rest=tuple(open_rest or free),
    )


def _is_worked_out(portion: Portion, shares: Mapping[str, float | None]) -> bool:
    entry = portion.mass or portion.volume
    return entry is not None and entry.how == WORKED_OUT and portion.of in shares


def _in_order(portions: Sequence[Portion], order: Sequence[str]) -> tuple[Portion, ...]:
    places = {of: place for place, of in enumerate(order)}
    return tuple(sorted(portions, key=lambda p: places[p.of]))


def _refuse_solvents_alone(typed: Sequence[Portion], weighed: Sequence[str]) -> None:
    if weighed or not typed:
        return
    raise InputError(
        f"{typed[0].of} has an amount and nothing dry has one, so how thin the mix gets stays open",
        where=typed[0].of, allowed="an amount for one powder or solution at least",
        next_step="say one, or leave the solvent out and say the dry mass over the wet mass",
    )  # fmt: skip


def _refuse_two_rests(rests: Sequence[str]) -> None:
    if len(rests) > 1:
        raise InputError(
            f"{' and '.join(rests)} are both the rest: two shares are the rest", where=rests[-1],
            allowed="one rest", next_step="say how large one of them is",
        )  # fmt: skip


def _per_cent(share: float) -> str:
    return f"{100 * share:.4g} %"


def _made_whole(shares: Mapping[str, float | None]) -> tuple[Share, ...]:
    """Shares that have to add up by themselves, in the order typed."""
    total = sum(share for share in shares.values() if share is not None)
    rest = [of for of, share in shares.items() if share is None]
    if rest and total > 1.0 + _HAIR:
        raise InputError(
            f"the wanted shares add up to {_per_cent(total)} before the rest",
            where=rest[0], allowed="less than 100 %", next_step="look at them again",
        )  # fmt: skip
    if not rest and abs(total - 1.0) > _WHOLE:
        raise InputError(
            f"the wanted shares add up to {_per_cent(total)}, not to 100 %", where=list(shares)[-1],
            allowed="100 % of the dry mass", next_step='type one of them as "rest"',
        )  # fmt: skip
    left = max(0.0, 1.0 - total)
    return tuple(Share(of=of, fraction=left if s is None else s) for of, s in shares.items())


def _dry_mass(of: str, portions: Sequence[Portion], shelf: Shelf) -> float:
    """Dry mass of all portions of a name [kg]."""
    own = [p for p in portions if p.of == of and p.shelf is not Ingredient.SOLVENT]
    return compose(own, shelf, _ANY_SCALE, where=of, exact=True).value("dry")


def _left_for(
    dry: Mapping[str, float], said: Mapping[str, float], free: Sequence[str]
) -> dict[str, float]:
    """The shares of what has only an amount: what the others leave, divided as the amounts stand."""
    total = sum(said.values())
    left = 1.0 - total
    if left <= _WHOLE:
        raise InputError(
            f"the shares reach {_per_cent(total)} and leave nothing for {' and '.join(free)}",
            where=list(said)[-1], allowed=f"less than 100 % beside the amount of {' and '.join(free)}",
            next_step="lower a share, or say the share of each",
        )  # fmt: skip
    weight = sum(dry[of] for of in free)
    found = {of: left * dry[of] / weight for of in free}
    others = {of for of in said if of not in dry}
    for of in [of for of in said if of in dry] if others else ():
        from_share, typed = weight / left * said[of], dry[of]
        if abs(typed - from_share) > _AGREE * max(typed, from_share):
            _refuse_two_sayings(of, typed, said[of], from_share)
    return found


def _refuse_two_sayings(of: str, typed: float, share: float, from_share: float) -> None:
    raise InputError(
        f"the amount of {of} is {1e3 * typed:.4g} g dry, and its share of {_per_cent(share)} would be "
        f"{1e3 * from_share:.4g} g", where=of, allowed="an amount or a share of it, where they disagree",
        next_step=f"empty one of the two for {of}",
    )  # fmt: skip


def _with_anchor(
    dry: Mapping[str, float], said: Mapping[str, float], free: Sequence[str], rest: str
) -> dict[str, float]:
    """Some only with an amount, another the rest: one with both has to say how much the whole is."""
    anchors = [of for of in said if of in dry and said[of] > 0]
    names = " and ".join(free)
    if not anchors:
        raise InputError(
            f"{rest} is the rest and {names} has an amount alone, so the amount of the whole stays open",
            where=rest, allowed=f"an amount for {rest}, or a share for {names}",
            next_step=f"say one of the two, or leave {rest} out and let {names} be the rest",
        )  # fmt: skip
    whole = sum(dry[of] for of in anchors) / sum(said[of] for of in anchors)
    found = {**said, **{of: dry[of] / whole for of in free}}
    total = sum(found.values())
    if total > 1.0 + _HAIR:
        raise InputError(
            f"what has an amount or a share makes {_per_cent(total)} of the whole before the rest",
            where=rest, allowed="less than 100 %", next_step="look at the amounts and shares again",
        )  # fmt: skip
    return {**found, rest: max(0.0, 1.0 - total)}


def _worked_out(
    lacking: Sequence[str], found: Mapping[str, float], dry: Mapping[str, float], shelf: Shelf
) -> tuple[Portion, ...]:
    """The amounts of what has only a share."""
    known = sum(found[of] for of in dry)
    if known <= 0:
        names = " and ".join(dry)
        raise InputError(
            f"{names} has an amount and a share of nothing", where=next(iter(dry)),
            allowed="a share above 0 %, or no amount", next_step=f"look at {names} again",
        )  # fmt: skip
    shares = {(shelf.place_of(of), of): found[of] for of in lacking}
    doses = doses_for(shares, sum(dry.values()) / known, shelf, _ANY_SCALE)
    return tuple(
        Portion(of=d.of, shelf=d.shelf, mass=Entry(value=d.mass, how=WORKED_OUT)) for d in doses
    )
