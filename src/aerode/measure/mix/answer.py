"""The answer of `mix`: composition, balance, dose sheet and cost in one record."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError, InputError
from aerode.measure.mix.balance import binder_fill, closest_critical_volume, lacking, voids
from aerode.measure.mix.composition import Composition, compose
from aerode.measure.mix.costing import cost_lines, cost_per_electrode
from aerode.measure.mix.dosing import (
    Dose,
    DoseRequest,
    doses_for,
    portions_of,
    wanted_shares,
    with_solvents,
)
from aerode.measure.mix.dry_names import lot_names, part_names
from aerode.measure.mix.masterbatch import too_small
from aerode.measure.mix.sheet import dose_sheet
from aerode.records.doses import CostLine, DoseSheet, DryPart, MixAnswer
from aerode.records.materials import Function
from aerode.records.results import Estimate

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.measure.mix.lots import Shelf
    from aerode.measure.mix.pot import Part
    from aerode.measure.mix.weighing import Scale
    from aerode.records.doses import FilmPorosity
    from aerode.records.materials import MeshCard
    from aerode.records.mixes import Mix

__all__ = ["answer", "dried"]

_HEADLINE = 100  # judgement: one line
_NAMED = 5  # judgement: so many parts are all named,
_WHOLE = 160  # judgement: where two lines hold them
_ON_PAPER = 0.1  # [kg] dry: what a mix that was only wanted is shown for; judgement
_NO_DOSE = "ask for an area, a loading and a number of electrodes"


def dried(mix: Mix, shelf: Shelf, scale: Scale) -> Composition:
    """Give what a mix dries to: from its portions, or on paper from what is wanted.

    Parameters
    ----------
    mix : Mix
        With portions, or with wanted dry shares.
    shelf : Shelf
        The lots.
    scale : Scale
        What it was weighed on.

    Returns
    -------
    Composition
        On paper no weighing has happened, so the scale adds nothing.

    Raises
    ------
    InputError, NotFoundError, RangeError
        As `compose`.
    """
    if mix.portions:
        return compose(mix.portions, shelf, scale, where=mix.name)
    if not mix.wanted:
        raise InputError(
            "the mix holds nothing", where=mix.name, allowed="portions, or wanted dry shares",
            next_step='name what goes in, as in --portion "biochar A=12.0 g"',
        )  # fmt: skip
    shares = wanted_shares(mix, shelf, scale)
    doses, shelf = with_solvents(
        doses_for(shares, _ON_PAPER, shelf, scale), mix, shelf, _ON_PAPER, None
    )
    return compose(portions_of(doses), shelf, scale, where=mix.name, exact=True)


def answer(
    mix: Mix,
    shelf: Shelf,
    scale: Scale,
    *,
    request: DoseRequest | None = None,
    mesh: MeshCard | None = None,
    currency: str = "EUR",
    films: Sequence[FilmPorosity] = (),
    assumptions: Sequence[str] = (),
    cautions: Sequence[str] = (),
    planned: Mix | None = None,
) -> MixAnswer:
    """Give the whole answer on a mix.

    Parameters
    ----------
    mix : Mix
        What went in, or what is wanted.
    shelf : Shelf
        The lots, and published figures for what was not measured.
    scale : Scale
        The scale.
    request : DoseRequest, optional
        Area, loading and number to dose for; None: no dose sheet and no cost.
    mesh : MeshCard, optional
        The collector, for the cost.
    currency : str
        Of the bench.
    films : sequence of FilmPorosity
        Electrodes of this mix whose porosity was measured.
    assumptions : sequence of str
        What the caller had to assume.
    cautions : sequence of str
        Lines of the cautions engine.
    planned : Mix, optional
        Of a pot: the mix whose dry shares it should have, where it holds no wanted ones itself.

    Returns
    -------
    MixAnswer
        `headline` says in a line what it dries to: every part of five or fewer, of more the largest
        ones and what binds them.

    Raises
    ------
    InputError, NotFoundError, RangeError
        As `compose` and `doses_for`.
    """
    composition = dried(mix, shelf, scale)
    doses: list[Dose] = []
    sheet: DoseSheet | None = None
    costs: tuple[CostLine, ...] = ()
    if request is not None:
        shares = wanted_shares(mix, shelf, scale)
        doses = doses_for(shares, request.dry_mass, shelf, request.scale)
        doses, shelf = with_solvents(doses, mix, shelf, request.dry_mass, request.solids_fraction)
        sheet, weighed = dose_sheet(doses, shares, shelf, request)
        if not mix.portions:
            composition = weighed
        costs = cost_lines(doses, shelf, request.electrodes, mesh=mesh, area=request.area)
    balance_reason = lacking(composition)
    return MixAnswer(
        headline=_headline(mix.name, composition),
        mix=mix.name,
        weighed=bool(mix.portions),
        dry=_parts(composition),
        wet_mass_g=composition.estimate("wet", unit="g", factor=1e3),  # by definition
        dry_mass_g=composition.estimate("dry", unit="g", factor=1e3),  # by definition
        solids_fraction=composition.estimate("solids", unit=""),
        solvents_g={
            name: composition.estimate("liquid", name, unit="g", factor=1e3)  # by definition
            for name in composition.liquids
            if composition.value("liquid", name) > 0
        },
        solvent_to_lose_g=composition.estimate("lost", unit="g", factor=1e3),  # by definition
        pigment_volume=composition.estimate("pigment", unit="", reason=balance_reason),
        critical_pigment_volume=composition.estimate("critical", unit="", reason=balance_reason),
        pigment_volume_over_critical=composition.estimate("fill", unit="", reason=balance_reason),
        binder_fill=binder_fill(composition),
        porosity=voids(composition),
        films=tuple(films),
        cost_per_electrode=(
            cost_per_electrode(costs, currency)
            if request is not None
            else Estimate(value=None, unit=currency, identifiable=False, reason=_NO_DOSE)
        ),
        cost=costs,
        dose=sheet,
        warnings=(
            *_strayed(mix, composition, _aimed_at(mix, planned, shelf, scale)),
            *_warnings(composition, sheet, doses, request),
        ),
        assumptions=(*assumptions, *composition.notes, *_packing_note(composition, shelf)),
        cautions=tuple(cautions),
    )


def _parts(composition: Composition) -> tuple[DryPart, ...]:
    no_volume = "no density known for " + ", ".join(composition.missing.get("density", ()))
    names, found = part_names(composition), list[DryPart]()
    for part in composition.parts:
        own = part.function is not Function.PLASTICISER
        found.append(
            DryPart(
                of=part.of,
                substance=part.substance,
                function=part.function.value,
                # by definition
                mass_g=composition.estimate("mass", part.key, unit="g", factor=1e3),
                mass_fraction=composition.estimate("fraction", part.key, unit=""),
                volume_fraction=composition.estimate("volume", part.key, unit="", reason=no_volume),
                substance_mass_g=_of_powder(composition, "assay", part.of) if own else None,
                washes_out_g=_of_powder(composition, "soluble", part.of) if own else None,
                name=names[part.key],
            )
        )
    return tuple(found)


def _of_powder(composition: Composition, what: str, name: str) -> Estimate | None:
    if (what, name) not in composition.places:
        return None
    return composition.estimate(what, name, unit="g", factor=1e3)  # by definition


def _headline(name: str, composition: Composition) -> str:
    """What it dries to, largest part first: all of a few, else what binds and as many as a line holds."""
    parts = sorted(composition.parts, key=lambda p: -composition.value("fraction", p.key))
    names = part_names(composition)
    end = f"; {100 * composition.value('solids'):.1f} % solids wet."

    def told(kept: Sequence[Part]) -> str:
        shown = [
            f"{100 * composition.value('fraction', p.key):.1f} % {names[p.key]}"
            for p in parts
            if p in kept
        ]
        rest = len(parts) - len(shown)
        return f"{name} dries to " + ", ".join(shown) + (f" and {rest} more" if rest else "") + end

    if len(told(parts)) <= (_WHOLE if len(parts) <= _NAMED else _HEADLINE):
        return told(parts)
    first = sorted(parts, key=lambda p: p.function is not Function.BINDER)  # often what is varied
    for kept in range(len(first), 0, -1):
        if len(text := told(first[:kept])) <= _HEADLINE:
            return text
    return f"{name[:40]} dries to {len(parts)} parts{end}"  # judgement: one line


def _warnings(
    composition: Composition,
    sheet: DoseSheet | None,
    doses: Sequence[Dose],
    request: DoseRequest | None,
) -> tuple[str, ...]:
    found: list[str] = []
    doubtful = _doubtful(composition)
    if doubtful:
        found.append(f"known to worse than a tenth of its share: {', '.join(doubtful)}")
    found += [note for note in composition.notes if "too coarse for dishes" in note]
    if sheet is None or request is None:
        return tuple(found)
    if sheet.scale_cannot:
        least = request.scale.least(request.within) * 1e3
        found.append(
            f"this scale cannot weigh {', '.join(sheet.scale_cannot)}; it needs {least:g} g for "
            f"±{100 * request.within:g} %"
        )
    helped = {name for batch in sheet.masterbatches for name in batch.of}
    small = too_small(doses, request.scale, request.within)
    helpless = [dose.of for dose in small if dose.of not in helped]
    if helpless:
        found.append(
            f"no masterbatch helps here ({', '.join(helpless)}): mix for "
            f"{sheet.enough_for_electrodes} electrodes at once, or take a finer scale"
        )
    found += [f"not enough in stock: {line}" for line in sheet.stock_short]
    return tuple(found)


def _aimed_at(mix: Mix, planned: Mix | None, shelf: Shelf, scale: Scale) -> dict[str, float]:
    """The dry shares that were wanted, by lot: as said, else those that the planned amounts give."""
    if mix.wanted:
        return {share.of: share.fraction for share in mix.wanted}
    if planned is None or not (planned.portions or planned.wanted):
        return {}
    try:
        return dried(planned, shelf, scale).dry_shares()
    except AerodeError:  # a lot of the mix is gone: nothing to hold the pot against
        return {}


def _strayed(mix: Mix, composition: Composition, wanted: Mapping[str, float]) -> tuple[str, ...]:
    """How far what was weighed lies from what was wanted, where that is more than can be doubted."""
    if not mix.portions:
        return ()
    made = composition.dry_shares()
    off = {of: made.get(of, 0.0) - share for of, share in wanted.items()}
    spread = {of: composition.share_uncertainty(of) for of in off}
    names = lot_names(composition)
    far = {of: gap for of, gap in off.items() if abs(gap) > 2.0 * spread[of] + 1e-6}  # numerical
    said = [f"{names.get(of, of)} {100 * gap:+.1f} points" for of, gap in far.items()]
    return (f"weighed is not what was wanted: {', '.join(said)}",) if said else ()


def _doubtful(composition: Composition) -> list[str]:
    """Parts whose share is known to worse than a tenth of itself, as the table tells it; plasticisers always are."""
    names, found = part_names(composition), list[str]()
    for part in composition.parts:
        spread = composition.uncertainty("fraction", part.key)
        value = composition.value("fraction", part.key)
        if spread > 0.1 * value and part.function is not Function.PLASTICISER:
            told = units.write(100 * value, "%", 100 * spread) if spread <= value else "unknown"
            found.append(f"{names[part.key]} {told}")
    return found


def _packing_note(composition: Composition, shelf: Shelf) -> tuple[str, ...]:
    closest = closest_critical_volume(composition, shelf)
    if closest is None:
        return ()
    return (
        f"the voids count each powder as it packs alone; if the finer grains filled the gaps of the "
        f"coarser, the binder would fill them up to a powder share of {100.0 * closest:.0f} % of the volume "
        f"and not {100.0 * composition.value('critical'):.0f} %",
    )
