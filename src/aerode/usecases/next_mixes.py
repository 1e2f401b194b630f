"""The mix behind settings that nobody has built yet: that of the nearest recipe, with the varied shares moved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError, UnitError
from aerode.measure.mix.answer import dried
from aerode.records.electrodes import LayerRole
from aerode.records.materials import PowderLot, Solution
from aerode.records.mixes import Batch, Mix
from aerode.usecases.mix import scale_of, shelf_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from aerode.records.electrodes import Electrode, Layer
    from aerode.store.bench_file import BenchFile

__all__ = [
    "SPARE",
    "NextMix",
    "active_layers",
    "lot_for",
    "mix_near",
    "moved_shares",
    "plate_of",
    "shares_of_mix",
    "short_of",
]

SPARE = 1.1
"""What is mixed over what is coated: the usual tenth in the pot and on the brush."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NextMix:
    """Shares of the dry mass by lot; empty with the reason where they cannot be worked out."""

    of: str
    """The mix that it grew out of."""
    shares: dict[str, float]
    why_not: str = ""
    impossible: bool = False
    """Whether no such mix can be made at all."""


def mix_near(bench: BenchFile, electrodes: Iterable[Electrode]) -> Mix | None:
    """The mix of the active layer of a recipe: that of the first of its electrodes that names one."""
    for one in electrodes:
        for layer in active_layers(one):
            pot = bench.find(Batch, layer.batch) if layer.batch and not layer.mix else None
            name = layer.mix or (pot.mix if pot else "")
            found = bench.find(Mix, name) if name else None
            if found is not None:
                return found
    return None


def active_layers(electrode: Electrode) -> list[Layer]:
    """The layers of a piece, those that are active first: a gas side is no mix to vary."""
    return sorted(electrode.layers, key=lambda layer: layer.role is not LayerRole.ACTIVE)


def shares_of_mix(bench: BenchFile, mix: Mix) -> dict[str, float]:
    """The dry shares of a mix by lot: as wanted, else as its amounts give them; empty where neither tells."""
    if mix.wanted:
        return {part.of: part.fraction for part in mix.wanted}
    try:
        return dict(dried(mix, shelf_of(bench), scale_of(bench, "")[0]).dry_shares())
    except AerodeError:
        return {}


def lot_for(factor: str, lots: Mapping[str, PowderLot | Solution], names: Iterable[str]) -> str:
    """The one lot of a mix that a factor is about, by its name, substance or function; "" for none or several."""
    word = factor.strip().casefold()
    own = [name for name in names if name in lots]
    if same := [name for name in own if name.casefold() == word]:
        return same[0]
    for told in (_named, _function):
        found = [name for name in own if told(lots[name], word)]
        if len(found) == 1:
            return found[0]
    return ""


def _named(lot: PowderLot | Solution, word: str) -> bool:
    substance = lot.substance if isinstance(lot, PowderLot) else lot.polymer
    return word in lot.name.casefold() or word == substance.casefold()


def _function(lot: PowderLot | Solution, word: str) -> bool:
    return str(lot.function) == word


def _share(setting: str) -> float | None:
    """A setting in per cent as a share; None for anything else."""
    try:
        number, unit = units.read_number(setting)
    except UnitError:
        return None
    return number / 100.0 if unit == "%" else None


def moved_shares(
    bench: BenchFile, mix: Mix | None, settings: Mapping[str, str], rest: Sequence[str] = ()
) -> NextMix:
    """The mix of the nearest recipe with the shares that the settings name.

    Parameters
    ----------
    bench : BenchFile
    mix : Mix or None
        Of the nearest recipe.
    settings : mapping of factor to setting
        Those in per cent that name a lot of the mix move its share; others (a plate) leave the mix.
    rest : sequence of str
        Lots that gave way in the recipes on record, where the mix itself names none.

    Returns
    -------
    NextMix
        What the others leave over goes to the lots that the mix calls its rest, else to the lot
        with the largest share that no setting names.
    """
    shares = shares_of_mix(bench, mix) if mix is not None else {}
    if mix is None or not shares:
        return NextMix(
            of=mix.name if mix else "",
            shares={},
            why_not="no mix with shares or amounts is on the bench for it",
        )
    lots: dict[str, PowderLot | Solution] = {
        lot.name: lot for cls in (PowderLot, Solution) for lot in bench.all(cls)
    }
    fixed: set[str] = set()
    for factor, setting in settings.items():
        share = _share(setting)
        if share is None:
            continue
        own = factor if factor in lots else ""
        lot = own or lot_for(factor, lots, shares) or lot_for(factor, lots, lots)
        if not lot:
            return NextMix(
                of=mix.name,
                shares={},
                why_not=f"no one lot of {mix.name} is called or works as {factor}",
            )
        if not 0.0 <= share <= 1.0:
            return NextMix(
                of=mix.name, shares={}, why_not=f"{factor} {setting} is no share", impossible=True
            )
        shares[lot] = share
        fixed.add(lot)
    free = [name for name in mix.rest or rest if name in shares and name not in fixed]
    free = free or sorted((n for n in shares if n not in fixed), key=lambda n: -shares[n])[:1]
    left = 1.0 - sum(share for name, share in shares.items() if name not in free)
    before = sum(shares[name] for name in free)
    if not free or left <= 0.0 or before <= 0.0:
        return NextMix(
            of=mix.name,
            shares={},
            why_not="the shares would add up to more than the whole",
            impossible=True,
        )
    moved = {
        name: share * left / before if name in free else share for name, share in shares.items()
    }
    return NextMix(
        of=mix.name, shares={name: share for name, share in moved.items() if share > 0.0}
    )


def plate_of(settings: Mapping[str, str]) -> str:
    """The plate temperature among the settings, as typed; "" where it is not varied."""
    for factor, setting in settings.items():
        try:
            unit = units.read_number(setting)[1]
        except UnitError:
            continue
        if (
            unit
            and unit != "%"
            and units.same_kind(unit, "K")
            and any(w in factor.casefold() for w in ("plate", "press", "temperature"))
        ):
            return setting
    return ""


def short_of(bench: BenchFile, needs: Mapping[str, float]) -> list[str]:
    """The lots of which less stands on the shelf than is needed, in words.

    Parameters
    ----------
    bench : BenchFile
    needs : mapping of lot to mass [kg]
        Dry mass that is coated; a tenth is added, moisture and solids are not counted.

    Returns
    -------
    list of str
        A lot without a stock entered is never short.
    """
    said: list[str] = []
    for lot in bench.all(PowderLot):
        wanted = SPARE * needs.get(lot.name, 0.0)
        if lot.stock is not None and wanted > lot.stock.value:
            said.append(
                f"{lot.name}: {units.plain(1e3 * wanted)} g is needed, {units.plain(1e3 * lot.stock.value)} g is on the shelf"
            )
    return said
