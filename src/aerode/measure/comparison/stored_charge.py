"""Air cathode or battery: the charge an electrode could give without any oxygen, against what was drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import AerodeError, RangeError
from aerode.measure.mix.at_odds import at_odds
from aerode.physics.constants import FARADAY
from aerode.records.materials import Function
from aerode.reference import select, substance

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from aerode.records.electrodes import Electrode, Layer
    from aerode.records.materials import PowderLot, Solution
    from aerode.records.mixes import Batch, Mix, Portion

__all__ = [
    "OXIDE_STEPS",
    "ChargeFigure",
    "OxideSteps",
    "StoredCharge",
    "capacitive_charge",
    "charge_figure",
    "dry_masses",
    "lacking_for_charge",
    "stoichiometric_charge",
    "stored_charge",
]

VOLTAGE_SWING = 0.7
"""How far the film's potential may move between open circuit and the lowest load [V]; a judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OxideSteps:
    """How many electrons a formula unit takes up in water: at first, and in all.

    `reactions` are balanced half-reactions in alkaline writing; a test checks atoms and charge.
    """

    first: int
    every: int
    reactions: tuple[str, ...]


# Half-reactions: textbook electrochemistry of battery oxides; written by hand, balance tested.
# Steps below the potential of iron metal or beyond are left out: an aluminium cell under load
# does not take its cathode there in salt water.
OXIDE_STEPS: dict[str, OxideSteps] = {
    "MnO2": OxideSteps(
        first=1,
        every=2,
        reactions=("MnO2 + H2O + e- -> MnOOH + OH-", "MnOOH + H2O + e- -> Mn(OH)2 + OH-"),
    ),
    "Fe3O4": OxideSteps(first=2, every=2, reactions=("Fe3O4 + 4 H2O + 2 e- -> 3 Fe(OH)2 + 2 OH-",)),
    "Fe2O3": OxideSteps(first=2, every=2, reactions=("Fe2O3 + 3 H2O + 2 e- -> 2 Fe(OH)2 + 2 OH-",)),
    "CuO": OxideSteps(first=2, every=2, reactions=("CuO + H2O + 2 e- -> Cu + 2 OH-",)),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeFigure:
    """The charge per mass that a solid can give without oxygen [C/kg], and where that comes from."""

    substance: str
    charge: float
    source: str
    verified: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredCharge:
    """The most that the solids of one electrode could give [C], part by part.

    `unknown` names solids for which there is no figure: then the bound is only "at least".
    """

    bound: float
    parts: tuple[tuple[str, float], ...]
    unknown: tuple[str, ...] = ()
    unverified: tuple[str, ...] = ()
    basis: tuple[str, ...] = ()


def stoichiometric_charge(electrons: float, molar_mass: float) -> float:
    """Charge per mass of a reaction that takes up so many electrons per formula unit: n F / M.

    Parameters
    ----------
    electrons : float [1]
        Electrons n per formula unit, above 0.
    molar_mass : float [kg/mol]
        Molar mass M of the formula unit.

    Returns
    -------
    float [C/kg]

    Raises
    ------
    RangeError
        Unless both are above 0.

    Notes
    -----
    Faraday's law; F is exact in the SI of 2019.

    Examples
    --------
    >>> round(stoichiometric_charge(1, 0.08694) / 3600)  # manganese dioxide, mAh/g
    308
    """
    if not (electrons > 0 and molar_mass > 0):
        raise RangeError("electrons and molar mass must be above 0", where="stoichiometric_charge")
    return electrons * FARADAY / molar_mass


def capacitive_charge(surface: float, capacitance: float, swing: float = VOLTAGE_SWING) -> float:
    """Charge per mass held in the double layer of a carbon: S c V.

    Parameters
    ----------
    surface : float [m^2/kg]
        Specific surface.
    capacitance : float [F/m^2]
        Capacitance per real surface.
    swing : float [V]
        How far the potential moves.

    Returns
    -------
    float [C/kg]

    Raises
    ------
    RangeError
        If one of them is negative.

    Examples
    --------
    >>> round(capacitive_charge(1.0e6, 0.10, 0.5) / 3600, 1)  # 100 F/g over 0.5 V, mAh/g
    13.9
    """
    if min(surface, capacitance, swing) < 0:
        raise RangeError(
            "surface, capacitance and swing cannot be negative", where="capacitive_charge"
        )
    return surface * capacitance * swing


def charge_figure(
    name: str, *, alkaline: bool = True, lot_surface: float | None = None, carbon: bool = False
) -> ChargeFigure | None:
    """The most charge per mass that a solid can give without oxygen, from figures on file.

    Faraday's law over the oxide's own formula is taken first, then a published stored charge, then
    (for carbons) surface times capacitance, each at the end of its range that gives more charge.

    Parameters
    ----------
    name : str
        Substance by name, alias or CAS number.
    alkaline : bool
        True counts every step of an oxide, False only the first (neutral salt water).
    lot_surface : float, optional [m^2/kg]
        Specific surface of this very powder, where it is known.
    carbon : bool
        True where the powder serves as carbon, whatever its name.

    Returns
    -------
    ChargeFigure or None
        None where nothing is on file.
    """
    found = _oxide_charge(name, alkaline=alkaline) or _published_charge(name)
    if found is None and (carbon or _kind(name) == "carbon"):
        return _carbon_charge(name, lot_surface)
    return found


def _kind(name: str) -> str:
    try:
        return substance(name).kind
    except AerodeError:
        return ""


def _highest(name: str, quantity: str) -> tuple[float, str, bool] | None:
    """The upper end of everything on file, in SI, with its source and whether it was verified."""
    try:
        rows = select(name, quantity)
    except AerodeError:
        return None
    ends = [(_upper_end(row), row.source, str(row.status) == "verified") for row in rows]
    known = [(value, source, sure) for value, source, sure in ends if value is not None]
    return max(known, key=lambda end: end[0]) if known else None


def _upper_end(row: object) -> float | None:
    from aerode.reference.rows import KNOWN_UNITS
    from aerode.units import convert

    values = [getattr(row, part) for part in ("value", "low", "high")]
    present = [float(v) for v in values if v is not None]
    unit = str(getattr(row, "unit", ""))
    if not present:
        return None
    si = KNOWN_UNITS.get(unit, unit)
    return convert(max(present), unit, si) if unit != si else max(present)


def _published_charge(name: str) -> ChargeFigure | None:
    end = _highest(name, "stored_charge")
    if end is None:
        return None
    return ChargeFigure(substance=name, charge=end[0], source=end[1], verified=end[2])


def _oxide_charge(name: str, *, alkaline: bool) -> ChargeFigure | None:
    try:
        known = substance(name)
        if not known.formula and "manganese dioxide" in known.name:
            known = substance(
                "manganese dioxide"
            )  # a form of it whose water is left out: an upper bound
    except AerodeError:
        return None
    steps = OXIDE_STEPS.get(known.formula)
    if steps is None or known.molar_mass is None:
        return None
    electrons = steps.every if alkaline else steps.first
    plural = "s" if electrons > 1 else ""
    return ChargeFigure(
        substance=name,
        charge=stoichiometric_charge(electrons, known.molar_mass),
        source=f"{electrons} electron{plural} per {known.formula}, by Faraday's law",
    )


# Used only where neither the lot nor the tables give a figure. From memory, not checked: the upper
# ends of what activated carbons and carbon blacks are said to reach.
_SURFACE_UPPER = {"carbon black": 2.5e5, "acetylene black": 1.0e5, "graphite": 2.0e4}
_SURFACE_UPPER_OTHER = 1.5e6  # from memory
_CAPACITANCE_UPPER = 0.20  # from memory


def _carbon_charge(name: str, lot_surface: float | None) -> ChargeFigure:
    surface, surface_said = _surface(name, lot_surface)
    on_file = _highest(name, "double_layer_capacitance") or _highest(
        "carbon", "double_layer_capacitance"
    )
    capacitance = on_file[0] if on_file else _CAPACITANCE_UPPER
    said = on_file[1] if on_file else "from memory, not checked"
    return ChargeFigure(
        substance=name,
        charge=capacitive_charge(surface, capacitance),
        source=f"surface ({surface_said}) x capacitance ({said}) x {VOLTAGE_SWING:g} V",
        verified=bool(on_file and on_file[2]) and surface_said != "from memory, not checked",
    )


def _surface(name: str, lot_surface: float | None) -> tuple[float, str]:
    if lot_surface is not None:
        return lot_surface, "of this lot"
    on_file = _highest(name, "specific_surface_area")
    if on_file is not None:
        return on_file[0], on_file[1]
    try:
        key = substance(name).name
    except AerodeError:
        key = name
    return _SURFACE_UPPER.get(key, _SURFACE_UPPER_OTHER), "from memory, not checked"


def stored_charge(
    masses: Mapping[str, float], figures: Mapping[str, ChargeFigure | None]
) -> StoredCharge:
    """The most charge that the dry solids of one electrode could give without oxygen.

    Parameters
    ----------
    masses : mapping of str to float [kg]
        Dry mass of each substance that could take part; binders and waxes are left out.
    figures : mapping of str to ChargeFigure or None
        The figure of each; None where there is none.

    Returns
    -------
    StoredCharge [C]

    Examples
    --------
    >>> figure = ChargeFigure(substance="manganese dioxide", charge=308 * 3600.0, source="n F / M")
    >>> round(stored_charge({"manganese dioxide": 1.0e-5}, {"manganese dioxide": figure}).bound / 3.6, 2)  # mAh
    3.08
    """
    parts: list[tuple[str, float]] = []
    unknown: list[str] = []
    known: list[ChargeFigure] = []
    for name, mass in masses.items():
        figure = figures.get(name)
        if figure is None:
            unknown.append(name)
            continue
        parts.append((name, mass * figure.charge))
        known.append(figure)
    return StoredCharge(
        bound=sum(charge for _, charge in parts),
        parts=tuple(sorted(parts, key=lambda part: -part[1])),
        unknown=tuple(unknown),
        unverified=tuple(f.substance for f in known if not f.verified),
        basis=tuple(f"{f.substance}: {f.source}" for f in known),
    )


_TAKES_NO_PART = {
    Function.BINDER,
    Function.WET_PROOFER,
    Function.PLASTICISER,
    Function.PORE_FORMER,
    Function.SEALANT,
    Function.SOLVENT,
    Function.SEPARATOR,
}


def dry_masses(
    electrode: Electrode,
    *,
    mixes: Mapping[str, Mix],
    batches: Mapping[str, Batch],
    powders: Mapping[str, PowderLot],
    solutions: Mapping[str, Solution],
) -> dict[str, float] | None:
    """Dry mass of each powder lot in an electrode that could take part in a discharge.

    Parameters
    ----------
    electrode : Electrode [record]
    mixes, batches, powders, solutions : mapping of name to record

    Returns
    -------
    dict of str to float [kg], or None
        By the name of the powder lot. None where recipe or dry mass is not known.
    """
    found: dict[str, float] = {}
    for layer in electrode.layers:
        shares = _dry_shares(layer, mixes, batches, powders, solutions)
        mass = _layer_mass(electrode, layer)
        if not shares or mass is None:
            return None
        for name, share in shares.items():
            lot = powders.get(name)
            if lot is not None and lot.function not in _TAKES_NO_PART:
                found[name] = found.get(name, 0.0) + mass * share
    return found or None


def lacking_for_charge(electrode: Electrode) -> str:
    """What has to be entered before the charge that an electrode may hold can be told, in words.

    Parameters
    ----------
    electrode : Electrode [record]
        Whose `dry_masses` are None.

    Examples
    --------
    >>> from aerode.records.electrodes import Electrode
    >>> lacking_for_charge(Electrode(name="T5"))
    'its recipe (mix or pot) and the dry mass of its layer'
    """
    layers = electrode.layers
    recipe = bool(layers) and all(layer.mix or layer.batch for layer in layers)
    mass = bool(layers) and all(_layer_mass(electrode, layer) is not None for layer in layers)
    said = ["its recipe (mix or pot)"] * (not recipe) + ["the dry mass of its layer"] * (not mass)
    return " and ".join(said) or "what its mix is made of"


def _layer_mass(electrode: Electrode, layer: Layer) -> float | None:
    if layer.dry_mass is not None:
        return layer.dry_mass.value
    coats = [coat.dry_mass for coat in layer.coats]
    if coats and all(mass is not None for mass in coats):
        return sum(mass for mass in coats if mass is not None)
    if (
        len(electrode.layers) == 1
        and electrode.mass is not None
        and electrode.mesh_mass is not None
        and not at_odds(electrode)
    ):
        return max(0.0, electrode.mass.value - electrode.mesh_mass.value)
    return None


def _dry_shares(
    layer: Layer,
    mixes: Mapping[str, Mix],
    batches: Mapping[str, Batch],
    powders: Mapping[str, PowderLot],
    solutions: Mapping[str, Solution],
) -> dict[str, float]:
    batch = batches.get(layer.batch)
    mix = mixes.get(layer.mix or (batch.mix if batch is not None else ""))
    if mix is not None and mix.wanted:
        return {share.of: share.fraction for share in mix.wanted}
    portions = batch.portions if batch is not None and batch.portions else ()
    if not portions and mix is not None:
        portions = mix.portions
    dry = _dried(portions, powders, solutions)
    total = sum(dry.values())
    return {name: mass / total for name, mass in dry.items()} if total > 0 else {}


def _dried(
    portions: Sequence[Portion],
    powders: Mapping[str, PowderLot],
    solutions: Mapping[str, Solution],
) -> dict[str, float]:
    """Dry mass of each portion; a liquid of unknown solids counts as nothing, which raises the rest."""
    dry: dict[str, float] = {}
    for portion in portions:
        if portion.mass is None:
            continue
        share = _solid_share(portion.of, powders, solutions)
        if share > 0:
            dry[portion.of] = dry.get(portion.of, 0.0) + portion.mass.value * share
    return dry


def _solid_share(
    name: str, powders: Mapping[str, PowderLot], solutions: Mapping[str, Solution]
) -> float:
    lot = powders.get(name)
    if lot is not None:
        return 1.0 - (lot.moisture.value if lot.moisture is not None else 0.0)
    solution = solutions.get(name)
    if solution is None:
        return 0.0
    if solution.solids is not None:
        return solution.solids.value
    dried = [(d.dried - d.empty) / (d.wet - d.empty) for d in solution.dishes if d.wet > d.empty]
    if dried:
        return sum(dried) / len(dried)
    return solution.label_solids.value if solution.label_solids is not None else 0.0
