"""How each piece of a report was made, so that somebody else can repeat it: mix, pot, coat, press, dates."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError
from aerode.measure.mix.answer import dried
from aerode.measure.mix.dry_names import lot_names
from aerode.measure.mix.porosity import film_of
from aerode.physics.water import ZERO_CELSIUS
from aerode.quantities import Basis
from aerode.records.electrodes import Electrode
from aerode.records.mixes import Batch, Mix, Portion
from aerode.records.reports import Section, Table
from aerode.usecases.electrode_page_minds import mix_of_coat
from aerode.usecases.mix import scale_of, shelf_of
from aerode.usecases.pot_plan import is_as_planned
from aerode.usecases.process import shown_time
from aerode.usecases.report_tables import NOT_NOTED, without_the_same
from aerode.usecases.weighed_dry import dry_mass_of, with_dry_weight

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.measure.mix.composition import Composition
    from aerode.measure.mix.lots import Shelf
    from aerode.measure.mix.weighing import Scale
    from aerode.records.comparisons import Comparison
    from aerode.records.electrodes import Layer, Press
    from aerode.store.bench_file import BenchFile

__all__ = ["making_section"]

_NAMES = {"electrode", "recipe"}


@dataclass
class _Pot:
    """What one or several pots of a mix held, and the recipes and pots that this stands for."""

    mix: Mix | None
    portions: tuple[Portion, ...]
    recipes: list[str] = field(default_factory=list[str])
    pots: list[str] = field(default_factory=list[str])


@dataclass(frozen=True)
class _Maker:
    """The bench with its shelf, read once."""

    bench: BenchFile
    shelf: Shelf
    scale: Scale

    def composition(self, mix: Mix | None) -> Composition | None:
        """What a mix dries to; None where it cannot be worked out."""
        try:
            return dried(mix, self.shelf, self.scale) if mix is not None else None
        except AerodeError:
            return None

    def pots(self, pieces: Sequence[tuple[str, Electrode]]) -> list[_Pot]:
        """The pots of these pieces, those that held the same in one."""
        found: dict[tuple[str, tuple[Portion, ...]], _Pot] = {}
        for recipe, electrode in pieces:
            for layer in electrode.layers:
                batch = self.bench.find(Batch, layer.batch) if layer.batch else None
                name = batch.mix if batch else layer.mix
                mix = self.bench.find(Mix, name) if name else None
                portions = (batch.portions if batch else ()) or (mix.portions if mix else ())
                if mix is None and not portions:
                    continue
                pot = found.setdefault((name, portions), _Pot(mix, portions))
                pot.recipes += [recipe] * (recipe not in pot.recipes)
                told = _dated(batch.name, batch.made) if batch else ""
                pot.pots += [told] * (bool(told) and told not in pot.pots)
        return list(found.values())


def making_section(bench: BenchFile, comparison: Comparison) -> Section:
    """The section of a report by which the pieces can be made again.

    Parameters
    ----------
    bench : BenchFile
        Open.
    comparison : Comparison
        Whose pieces are told.

    Returns
    -------
    Section
        Three tables; what is not on file reads "not noted". One that would hold names alone is a
        sentence.
    """
    held = [(p.recipe, bench.find(Electrode, p.electrode)) for p in comparison.pieces]
    pieces = [(recipe, one) for recipe, one in held if one is not None]
    maker = _Maker(bench, shelf_of(bench), scale_of(bench, "")[0])
    mixed = _mixed(maker, pieces)
    made = (
        *([mixed] if mixed.rows else []),
        without_the_same(_coated(maker, pieces)),
        without_the_same(_built([one for _, one in pieces])),
    )
    bare = [table for table in made if _NAMES.issuperset(table.columns)]
    lines = [f"{table.caption}. {table.note}" for table in bare if table.note]
    if not mixed.rows:
        lines.insert(0, f"{mixed.caption} is {NOT_NOTED}.")
    return Section(
        name="pieces",
        title="The pieces",
        tables=tuple(table for table in made if table not in bare),
        lines=tuple(lines),
    )


def _mixed(maker: _Maker, pieces: Sequence[tuple[str, Electrode]]) -> Table:
    rows = [
        (
            ", ".join(pot.recipes),
            ", ".join(pot.pots) or (f"{pot.mix.name}, no pot noted" if pot.mix else NOT_NOTED),
            *_shares(maker, pot),
            ", ".join(map(_amount, pot.portions)) or NOT_NOTED,
        )
        for pot in maker.pots(pieces)
    ]
    return Table(
        caption="What each recipe is made of",
        folded=True,
        columns=("recipe", "pot", "dry mass, wanted / as weighed", "solids", "put in"),
        rows=tuple(rows),
    )


def _shares(maker: _Maker, pot: _Pot) -> tuple[str, str]:
    """Shares of the dry mass, wanted and as weighed, and the solids of the wet mix."""
    name = pot.mix.name if pot.mix else "pot"
    found = maker.composition(Mix(name=name, portions=pot.portions)) if pot.portions else None
    planned_dry = maker.composition(pot.mix)
    wanted = planned_dry.dry_shares() if planned_dry is not None else {}
    if pot.mix and pot.mix.wanted:
        wanted = {share.of: share.fraction for share in pot.mix.wanted}
    weighed = found.dry_shares() if found is not None else {}
    called = {of: said for one in (planned_dry, found) if one for of, said in lot_names(one).items()}  # fmt: skip
    lots = dict.fromkeys((*wanted, *weighed))
    told = ", ".join(
        f"{called.get(of, of)} {_share(wanted.get(of))} / {_share(weighed.get(of))}" for of in lots
    )
    planned = pot.mix.solids_fraction if pot.mix else None
    solids = f"{_share(planned.value)}, wanted" if planned else NOT_NOTED
    if found is not None:
        solids = _share(found.value("solids"))
    return told or NOT_NOTED, solids


def _share(share: float | None) -> str:
    return NOT_NOTED if share is None else f"{units.plain(100.0 * share, 3)} %"


def _amount(portion: Portion) -> str:
    entry = portion.mass or portion.volume
    assert entry is not None  # a portion has one of the two
    said = f"{1e3 * entry.value:.4g} g" if portion.mass else f"{1e6 * entry.value:.4g} mL"
    return f"{portion.of} {said}{' (as planned)' if is_as_planned(portion) else ''}"


def _coated(maker: _Maker, pieces: Sequence[tuple[str, Electrode]]) -> Table:
    rows = [
        (
            one.name,
            recipe or NOT_NOTED,
            ", ".join(dict.fromkeys(layer.batch for layer in one.layers if layer.batch)) or NOT_NOTED,
            "; ".join(_coats(layer) for layer in one.layers) or NOT_NOTED,
            _wet(one),
            _dry(one),
            _loading(maker, one),
            _drying(one),
            one.made[:10] or NOT_NOTED,
        )
        for recipe, one in pieces
    ]  # fmt: skip
    return Table(
        caption="The coat of each piece",
        folded=True,
        columns=(
            "electrode",
            "recipe",
            "pot",
            "coats",
            "wet mass [g]",
            "dry mass [g]",
            "dry loading [mg/cm²]",
            "drying",
            "made on",
        ),
        rows=tuple(rows),
        numbers=(4, 5, 6),
    )


def _coats(layer: Layer) -> str:
    count = len(layer.coats)
    return f"{layer.how}, {count} coat{'' if count == 1 else 's'}" if count else f"{layer.how}, coats not noted"  # fmt: skip


def _wet(electrode: Electrode) -> str:
    coats = [coat.wet_mass for layer in electrode.layers for coat in layer.coats]
    known = [mass for mass in coats if mass is not None]
    if not known:
        return NOT_NOTED
    part = "" if len(known) == len(coats) else f" ({len(known)} of {len(coats)} coats)"
    return f"{1e3 * sum(known):.3g}{part}"


def _dry(electrode: Electrode) -> str:
    mass = dry_mass_of(electrode)
    return NOT_NOTED if mass is None else f"{1e3 * mass:.3g}"


def _loading(maker: _Maker, electrode: Electrode) -> str:
    """From the dry mass and the area; "about" where it is reckoned from the wet coats."""
    found = maker.composition(mix_of_coat(maker.bench, electrode))
    try:
        film = film_of(with_dry_weight(electrode), found, maker.scale) if found else None
    except AerodeError:
        film = None
    if film is not None and film.loading_mg_cm2.value is not None:
        about = "about " if film.loading_mg_cm2.basis is Basis.PREDICTED else ""
        return f"{about}{film.loading_mg_cm2.value:.3g}"
    area, mass = electrode.wetted_area, _dry(electrode)
    if area is None or mass == NOT_NOTED:
        return NOT_NOTED
    return f"{1e3 * float(mass) / (1e4 * area.value):.3g}"


def _drying(electrode: Electrode) -> str:
    """How long each coat dried, and the last two weighings of the piece, as far as noted."""
    coats = [coat for layer in electrode.layers for coat in layer.coats]
    times = dict.fromkeys(shown_time(c.drying_time) for c in coats if c.drying_time)
    said = [f"{', '.join(times)} a coat"] if times else []
    last = (electrode.weighings or (coats[-1].weighings if coats else ()))[-2:]
    if last:
        alone = "" if all(one.pieces == 1 for one in last) else ", several pieces together"
        masses = ", then ".join(f"{1e3 * one.mass:.4g} g" for one in last)
        after = f" after {shown_time(last[-1].after)}" if last[-1].after else ""
        said.append(f"weighed {masses}{after}{alone}")
    return "; ".join(said) or NOT_NOTED


def _built(pieces: Sequence[Electrode]) -> Table:
    rows: list[tuple[str, ...]] = []
    for one in pieces:
        area = one.wetted_area
        rows.append(
            (
                one.name,
                one.mesh or NOT_NOTED,
                "; ".join(map(_pressed, one.press)) or NOT_NOTED,
                NOT_NOTED if area is None else f"{area.value * 1e4:.2f}",
                NOT_NOTED if area is None else area.how or NOT_NOTED,
                one.tab.how if one.tab else NOT_NOTED,
                one.seal.sealant if one.seal else NOT_NOTED,
                ", ".join(f"{t * 1e3:.2f}" for t in one.thickness) or NOT_NOTED,
            )
        )
    return Table(
        caption="How each piece was made",
        folded=True,
        columns=(
            "electrode",
            "mesh",
            "press: by, temperature, time, force",
            "wetted area [cm²]",
            "area measured by",
            "tab",
            "edge",
            "thickness [mm]",
        ),
        rows=tuple(rows),
    )


def _pressed(press: Press) -> str:
    """One pressing: by what, how warm, how long, how hard; each "not noted" where it is not."""
    by = press.means or (str(press.appliance) if press.appliance else f"means {NOT_NOTED}")
    warm = f"temperature {NOT_NOTED}"
    if press.plate_temperature is not None:
        warm = f"{press.plate_temperature.value - ZERO_CELSIUS:.0f} °C"
    long = f"time {NOT_NOTED}" if press.duration is None else shown_time(press.duration)
    hard = f"force {NOT_NOTED}"
    if press.force is not None:
        hard = f"{press.force.value:.3g} N"
    elif press.torque is not None:
        hard = f"screws at {press.torque.value:.3g} N m"
    elif press.firmness is not None:
        hard = f"{press.firmness}, force {NOT_NOTED}"
    return ", ".join((by, warm, long, hard, *([f"release {press.release}"] if press.release else [])))  # fmt: skip


def _dated(name: str, made: str) -> str:
    return f"{name} ({made[:10]})" if made else name
