"""What is asked of the weights of a piece and its bare mesh, and told of those that stand already."""

from __future__ import annotations

import statistics
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import AerodeError, some_of
from aerode.measure.mix.answer import dried
from aerode.measure.mix.at_odds import at_odds, film_weighed, wet_total
from aerode.records.electrodes import Electrode
from aerode.records.materials import MeshCard
from aerode.usecases.electrode_page_minds import mix_of_coat
from aerode.usecases.mix import scale_of, shelf_of
from aerode.usecases.unlikely_pot import likely_slip
from aerode.usecases.weighed_dry import with_dry_weight

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = [
    "LIKE_THE_MESH",
    "MeshDoubt",
    "ask_of_mesh",
    "doubts_of_piece",
    "likelier_mesh",
    "new_doubts",
]

LIKE_THE_MESH = "weights that fit the mesh card, the wet coats and the other pieces"
"""What would not be asked about."""
_FAR = 1.5  # judgement
"""Times what is expected, or its part: meshes of one roll and coats of one pot scatter by less."""
_BEYOND = 3.0  # judgement
"""Times the mesh behind the wetted area: a tab and an edge lie outside it, and are mesh too."""
_LOOKED_AT = 60
"""Newest electrodes among which the sister pieces are looked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeshDoubt:
    """One way in which the weights of a piece do not fit."""

    said: str
    instead: str = ""
    """The bare mesh as it likelier was, with its unit; "" where no power of ten lands near."""

    @property
    def ask(self) -> str:
        """As it is asked before it is stored, and told afterwards."""
        likely = f" Likelier the mesh was {self.instead}." if self.instead else ""
        return f"{self.said}.{likely}"


def ask_of_mesh(bench: BenchFile, record: object, before: object = None) -> str:
    """What is asked of the weights of an electrode before they are stored; "" of anything else.

    Parameters
    ----------
    bench : BenchFile
        Open.
    record : Electrode or any other
    before : record, optional
        The state it grew out of: what did not fit there already is not asked about again.

    Returns
    -------
    str
        A sentence for each new doubt, with blanks between, and what to look at.
    """
    if not isinstance(record, Electrode):
        return ""
    found = new_doubts(bench, record, before if isinstance(before, Electrode) else None)
    said = " ".join(one.ask for one in found)
    return f"{said} Are the weights right?" if said else ""


def likelier_mesh(bench: BenchFile, electrode: Electrode, before: Electrode) -> tuple[str, ...]:
    """What the bare mesh likelier was, each with its unit.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : Electrode
        As it would be stored.
    before : Electrode
        As it stands.

    Returns
    -------
    tuple of str
        Empty where no power of ten lands near.
    """
    found = new_doubts(bench, electrode, before)
    return tuple(dict.fromkeys(one.instead for one in found if one.instead))


def new_doubts(
    bench: BenchFile, electrode: Electrode, before: Electrode | None
) -> tuple[MeshDoubt, ...]:
    """The doubts of a piece that its earlier state did not have.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : Electrode
        As it would be stored.
    before : Electrode, optional
        As it stands.

    Returns
    -------
    tuple of MeshDoubt
    """
    found = doubts_of_piece(bench, electrode)
    if before is None or not found:
        return found
    old = doubts_of_piece(bench, before)
    return tuple(one for one in found if one not in old)


def doubts_of_piece(bench: BenchFile, electrode: Electrode) -> tuple[MeshDoubt, ...]:
    """How the bare mesh, the piece and its wet coats do not fit one another or what is usual here.

    Parameters
    ----------
    bench : BenchFile
        Open; knows the mesh card, the mix and the other pieces.
    electrode : Electrode
        With the weight of its bare mesh.

    Returns
    -------
    tuple of MeshDoubt
        Empty where the mesh was not weighed, and where all fits.
    """
    if electrode.mesh_mass is None:
        return ()
    net = scale_of(bench, "")[0].net_uncertainty
    dry = with_dry_weight(electrode)
    solids = _solids(bench, electrode)
    odds = at_odds(dry, solids=solids, net=net)
    found = [
        *_of_card(bench, electrode, net),
        *_of_sisters(bench, electrode, net),
        *([_with_slip(electrode, dry, solids, odds)] if odds else []),
        *([] if odds else _of_coats(electrode, dry, solids, net)),
    ]
    return tuple(found)


def _of_card(bench: BenchFile, electrode: Electrode, net: float) -> list[MeshDoubt]:
    """The bare mesh against the mass per area of its card."""
    card = bench.find(MeshCard, electrode.mesh) if electrode.mesh else None
    mesh, area = electrode.mesh_mass, electrode.wetted_area
    if card is None or card.mass_per_area is None or area is None or mesh is None:
        return []
    per_area = card.mass_per_area.value
    about = per_area * area.value
    if about / _FAR <= mesh.value <= about * _BEYOND or abs(mesh.value - about) <= 2.0 * net:
        return []
    return [MeshDoubt(
        said=f"The bare mesh is {_grams(mesh.value)}, and {1e4 * area.value:.3g} cm² of {card.name} at "
        f"{100.0 * per_area:.3g} mg/cm² are about {_grams(about, 2)}",
        instead=likely_slip(mesh.value, about, within=_BEYOND),
    )]  # fmt: skip


def _of_sisters(bench: BenchFile, electrode: Electrode, net: float) -> list[MeshDoubt]:
    """The bare mesh against those of the other pieces of this mesh, per area where all have one."""
    mesh, area = electrode.mesh_mass, electrode.wetted_area
    if mesh is None or not electrode.mesh:
        return []
    others = {
        one.name: one.mesh_mass.value * (area.value / one.wetted_area.value if area and one.wetted_area else 1.0)
        for one in bench.latest(Electrode, count=_LOOKED_AT)
        if one.mesh == electrode.mesh and one.mesh_mass is not None and one.piece not in {electrode.name, electrode.piece}
        and (one.wetted_area is None) == (area is None)
    }  # fmt: skip
    if not others:
        return []
    usual = statistics.median(others.values())
    if usual / _FAR <= mesh.value <= usual * _FAR or abs(mesh.value - usual) <= 2.0 * net:
        return []
    for_area = " for its area" if area is not None else ""
    return [MeshDoubt(
        said=f"The bare mesh is {_grams(mesh.value)}, and that of {some_of(sorted(others), 3)} is about "
        f"{_grams(usual, 2)}{for_area}",
        instead=likely_slip(mesh.value, usual),
    )]  # fmt: skip


def _with_slip(electrode: Electrode, dry: Electrode, solids: float | None, odds: str) -> MeshDoubt:
    """What cannot all be true, with the mesh that the coat would leave of the piece."""
    wet, mesh = wet_total(electrode), electrode.mesh_mass
    whole = dry.mass.value if dry.mass else electrode.weighings[-1].mass if electrode.weighings else None  # fmt: skip
    slip = ""
    if mesh is not None and whole is not None:
        coat = wet * solids if wet is not None and solids is not None else 0.0
        slip = likely_slip(mesh.value, whole - coat)
    return MeshDoubt(said=f"{odds[0].upper()}{odds[1:]}", instead=slip)


def _of_coats(
    electrode: Electrode, dry: Electrode, solids: float | None, net: float
) -> list[MeshDoubt]:
    """The coat on the scale against the wet coats and the solids of their mix."""
    wet, mesh = wet_total(electrode), electrode.mesh_mass
    if wet is None or solids is None or mesh is None:
        return []
    about, film = wet * solids, film_weighed(dry)
    last = electrode.weighings[-1] if electrode.weighings else None
    if film is None and last is not None and last.pieces == 1:
        film = min(last.mass - mesh.value, about)  # what is still wet may weigh more
        if last.mass - mesh.value > wet + 2.0 * net:
            return [MeshDoubt(said=f"The piece less its mesh is {_grams(last.mass - mesh.value)}, and only {_grams(wet)} was put on wet")]  # fmt: skip
    if film is None or about / _FAR <= film <= about * _FAR or abs(film - about) <= 2.0 * net:
        return []
    whole = film + mesh.value
    return [MeshDoubt(
        said=f"The coat is {_grams(film)} (the piece less its mesh), and {_grams(wet)} wet at "
        f"{100.0 * solids:.3g} % solids leave about {_grams(about, 2)}",
        instead=likely_slip(mesh.value, whole - about),
    )]  # fmt: skip


def _solids(bench: BenchFile, electrode: Electrode) -> float | None:
    """Dry over wet mass of the mix of its coat; None where it cannot be told."""
    mix = mix_of_coat(bench, electrode)
    if mix is None or not (mix.portions or mix.wanted):
        return None
    try:
        return dried(mix, shelf_of(bench), scale_of(bench, "")[0]).value("solids")
    except (AerodeError, KeyError):
        return None


def _grams(mass: float, digits: int = 4) -> str:
    return f"{1e3 * mass:.{digits}g} g"
