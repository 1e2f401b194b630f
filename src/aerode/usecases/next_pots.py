"""The pots of a batch that nobody has made yet: what would be weighed out, and what of it can hurt."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import units
from aerode.cautions.views import ShelfView, mix_view
from aerode.errors import AerodeError
from aerode.measure.mix.dosing import doses_for, portions_of, with_solvents
from aerode.records.cautions import CautionLevel
from aerode.records.marks import Entry, Share
from aerode.records.materials import PowderLot, Solution, SolventLot
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.usecases.caution_question import CautionQuestion
from aerode.usecases.cautions import judge, situation_of, what_can_hurt
from aerode.usecases.mix import scale_of, shelf_of
from aerode.usecases.mix_size import wet_mass
from aerode.usecases.next_mixes import SPARE
from aerode.usecases.weighed_dry import dry_mass_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from aerode.cautions.situation import Situation
    from aerode.measure.mix.lots import Shelf
    from aerode.measure.mix.weighing import Scale
    from aerode.records.cautions import Caution
    from aerode.records.electrodes import Electrode
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.next_mixes import NextMix

__all__ = ["Pot", "cautions_of_pots", "coated_mass", "pots_of", "pots_words"]

_SAME = 6
"""Decimals to which two shares are one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pot:
    """One pot of the batch: for so many pieces, of so much wet area, pressed at these plates."""

    mix: str
    """The mix on record that it grows out of."""
    builds: int
    area: float | None
    """Wet area of all its pieces [m^2]; None where no area is known."""
    portions: tuple[Portion, ...]
    """What would be weighed out, as received; empty where it cannot be worked out."""
    plates: tuple[str, ...]
    """Plate temperatures as typed; "" where the plate is not varied."""


def coated_mass(pieces: Sequence[Electrode]) -> float | None:
    """Mean dry mass of the coats of these pieces [kg]; None where none was weighed."""
    found = [mass for e in pieces if (mass := dry_mass_of(e) or 0.0) > 0.0]
    return sum(found) / len(found) if found else None


def _area(pieces: Sequence[Electrode]) -> float | None:
    found = [e.wetted_area.value for e in pieces if e.wetted_area is not None]
    return sum(found) / len(found) if found else None


def pots_of(
    bench: BenchFile, wanted: Iterable[tuple[NextMix, int, str, Sequence[Electrode]]]
) -> tuple[Pot, ...]:
    """The pots of a batch, one for each different mix.

    Parameters
    ----------
    bench : BenchFile
    wanted : iterable of (NextMix, int, str, sequence of Electrode)
        Mix, number of builds, plate, and the pieces on record that it is coated like.

    Returns
    -------
    tuple of Pot
        As much as the pieces take with a tenth to spare, and no less than the pot on record: nobody
        weighs out a smaller one (judgement).
    """
    rows: dict[tuple[object, ...], list[tuple[NextMix, int, str, Sequence[Electrode]]]] = {}
    for row in wanted:
        mix = row[0]
        if mix.of:
            told = tuple(sorted((name, round(share, _SAME)) for name, share in mix.shares.items()))
            rows.setdefault((mix.of, told), []).append(row)
    shelf, (scale, _) = shelf_of(bench), scale_of(bench, "")
    return tuple(_pot(bench, shelf, scale, those) for those in rows.values())


def _pot(
    bench: BenchFile, shelf: Shelf, scale: Scale,
    rows: Sequence[tuple[NextMix, int, str, Sequence[Electrode]]],
) -> Pot:  # fmt: skip
    mix, builds = rows[0][0], sum(row[1] for row in rows)
    pieces = [(row[1], coated_mass(row[3]), _area(row[3])) for row in rows]
    areas = [n * area for n, _, area in pieces if area is not None]
    needs = [SPARE * n * mass for n, mass, _ in pieces if mass is not None]
    return Pot(
        mix=mix.of, builds=builds, area=sum(areas) if len(areas) == len(rows) else None,
        portions=_portions(bench.get(Mix, mix.of), mix.shares, sum(needs), shelf, scale),
        plates=tuple(dict.fromkeys(row[2] for row in rows)),
    )  # fmt: skip


def _portions(
    like: Mix, shares: dict[str, float], needed: float, shelf: Shelf, scale: Scale
) -> tuple[Portion, ...]:
    """What a pot with these dry shares takes, thinned as the mix on record is."""
    if not shares:
        return like.portions
    total = sum(shares.values())
    mix = replace(
        like, wanted=tuple(Share(of=of, fraction=part / total) for of, part in shares.items()), rest=()
    )  # fmt: skip
    try:
        dry = max(needed, _dry_on_record(like, shelf, scale))
        if not dry > 0.0:
            return ()
        told = {(shelf.place_of(of, where=like.name), of): part for of, part in shares.items()}
        doses, _ = with_solvents(doses_for(told, dry, shelf, scale), mix, shelf, dry, None)
    except AerodeError:
        return like.portions
    return tuple(portions_of(doses))


def _dry_on_record(mix: Mix, shelf: Shelf, scale: Scale) -> float:
    """Dry mass of the pot on record [kg]; 0 where it has no amounts."""
    from aerode.measure.mix.composition import compose

    if not mix.portions:
        return 0.0
    return compose(mix.portions, shelf, scale, where=mix.name).value("dry")


def _together(pots: Sequence[Pot]) -> tuple[Portion, ...]:
    """All pots as one: the same room, one afternoon."""
    found: dict[tuple[Ingredient, str, bool], float] = {}
    for portion in (one for pot in pots for one in pot.portions):
        entry = portion.mass or portion.volume
        key = (portion.shelf, portion.of, portion.mass is not None)
        found[key] = found.get(key, 0.0) + (entry.value if entry else 0.0)
    return tuple(
        Portion(of=of, shelf=shelf, mass=Entry(value=amount)) if by_mass
        else Portion(of=of, shelf=shelf, volume=Entry(value=amount))
        for (shelf, of, by_mass), amount in found.items()
    )  # fmt: skip


def _situation(bench: BenchFile, pots: Sequence[Pot], room: str) -> Situation:
    """All pots open in one room, all coats wet at once."""
    shelf = ShelfView.of(bench.all(PowderLot), bench.all(Solution), bench.all(SolventLot))
    unsaid = [pot for pot in pots if not pot.portions]
    names = [share.of for pot in unsaid for share in bench.get(Mix, pot.mix).wanted]
    pot = mix_view(_together(pots), list(dict.fromkeys(names)), shelf)
    areas = [one.area for one in pots if one.area is not None]
    alone = situation_of(bench, f"mix:{pots[0].mix}", CautionQuestion(room=room))
    return replace(
        alone, about=(pots_words(bench, pots),), liquids=pot.liquids, powders=pot.powders,
        polymers=pot.polymers, sheets=pot.sheets, open_area=sum(areas) if len(areas) == len(pots) else None,
    )  # fmt: skip


def pots_words(bench: BenchFile, pots: Sequence[Pot]) -> str:
    """How large the pots of the batch are together, as "3 pots, 45 g wet in all"."""
    mass = 1e3 * sum(wet_mass(bench, pot.portions) for pot in pots)
    count = f"{len(pots)} pot{'' if len(pots) == 1 else 's'}"
    return f"{count}, {units.plain(mass)} g wet in all" if mass > 0.0 else count


def cautions_of_pots(bench: BenchFile, pots: Sequence[Pot], room: str) -> tuple[Caution, ...]:
    """What can hurt in making these pots in one afternoon and pressing their pieces, hardest first.

    Parameters
    ----------
    bench : BenchFile
    pots : sequence of Pot
    room : str
        "" for the only room of the bench.

    Returns
    -------
    tuple of Caution
        Vapour, fire and dust of all pots together, over the wet area of all pieces; heat pot by pot,
        at the plate of each. A harder one of a single pot takes the place of that of all.
    """
    if not pots:
        return ()
    order = [CautionLevel.STOP, CautionLevel.FIRST, CautionLevel.NOTE]
    found = {one.key: one for one in judge(bench, _situation(bench, pots, room)).cautions}
    for pot in pots:
        area = "" if pot.area is None else f"{1e4 * pot.area:.6g} cm^2"
        for plate in pot.plates:
            asked = CautionQuestion(plate=plate, room=room, portions=pot.portions, area=area)
            for one in what_can_hurt(bench, f"mix:{pot.mix}", asked).cautions:
                held = found.get(one.key)
                if held is None or order.index(one.level) < order.index(held.level):
                    found[one.key] = one
    said: dict[tuple[str, str], Caution] = {}
    for one in sorted(found.values(), key=lambda one: order.index(one.level)):
        said.setdefault((one.hazard, one.do), one)
    return tuple(said.values())
