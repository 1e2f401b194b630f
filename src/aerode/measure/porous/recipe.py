"""From a recipe and a geometry to the numbers of the model: each a band that says what it rests on.

Kinetics, wetting and the wet film cannot be computed from a recipe. They are wide bands here, from
memory, and stay wide until a run is fitted.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from aerode import properties
from aerode.errors import CannotTellError
from aerode.measure.porous.bands import Band, Form, drawn
from aerode.measure.porous.streaming import Draw
from aerode.physics.cathode import CathodeParameters
from aerode.physics.thermodynamics import GAS_CONSTANT
from aerode.physics.transport import effective_gas_diffusivity, effective_ionic_conductivity
from aerode.quantities import Basis
from aerode.records.materials import Function

if TYPE_CHECKING:
    from aerode.measure.mix.composition import Composition
    from aerode.properties import PropertyAnswer, Solution
    from aerode.records.doses import FilmPorosity
    from aerode.records.electrodes import Electrode

__all__ = [
    "FIELDS",
    "Layer",
    "input_units",
    "layer_of",
    "model_columns",
    "model_of",
    "recipe_columns",
    "recipe_draw",
]

Floats = NDArray[np.float64]
Values = dict[str, Floats]

_CALIPER = 5e-5  # common practice: limit of error of calipers on a soft film [m]
_MEMORY = "from memory, unverified"
_AIR_POWER = 1.75  # from memory: oxygen diffuses in air as temperature to this power
_IN_AIR = 2.05e-5  # from memory: oxygen in still air at 25 °C [m²/s]
_AIR_SPREAD = 0.03  # from memory: as far as published values lie apart
_WARM = 298.15  # by definition: 25 °C [K]
_LEAST_VOID = 0.02  # judgement: below it the pores count as filled
_THICKNESS = (2e-4, 8e-4)  # judgement: layers brushed or rolled by hand [m]
_NO_PATH = 0.1  # judgement: where no path of conductor goes through [S/m]

# name: (low, high, form, unit, source)
_ASSUMED: dict[str, tuple[float, float, Form, str, str]] = {  # from memory
    "saturation": (0.2, 0.8, Form.EVEN, "", "wetting is not computed from a recipe; " + _MEMORY),
    "extra tortuosity": (1.0, 3.0, Form.EVEN_IN_LOG, "", "on top of Bruggeman; " + _MEMORY),
    "gas exponent": (1.5, 3.0, Form.EVEN, "", "power of the dry share; " + _MEMORY),
    "wetted-area exponent": (0.0, 1.0, Form.EVEN, "", "how the wetted area follows saturation; judgement"),
    "film exponent": (0.0, 2.0, Form.EVEN, "", "how the wet film follows the dry share; judgement"),
    "binder cover exponent": (0.0, 2.0, Form.EVEN, "", "how binder covers active surface; judgement"),
    "pressed black": (100.0, 1000.0, Form.EVEN_IN_LOG, "S/m", "pressed carbon black; " + _MEMORY),
    "pressed carbon": (1.0, 100.0, Form.EVEN_IN_LOG, "S/m", "pressed activated carbon; " + _MEMORY),
    "percolation threshold": (0.02, 0.15, Form.EVEN, "", "share below which no path goes through; " + _MEMORY),
    "percolation exponent": (1.7, 2.5, Form.EVEN, "", "carbon black composites; " + _MEMORY),
    "grain radius": (1e-7, 1e-5, Form.EVEN_IN_LOG, "m", "wet grains; " + _MEMORY),
    "grain diffusivity ratio": (0.05, 0.5, Form.EVEN_IN_LOG, "", "in the grains over in the liquid; " + _MEMORY),
    "grain share": (0.2, 0.6, Form.EVEN, "", "wet grains in the layer; " + _MEMORY),
    "film transfer": (10.0, 1e4, Form.EVEN_IN_LOG, "1/s", "wet film between pores and grains; " + _MEMORY),
    "exchange current": (1e-5, 1.0, Form.EVEN_IN_LOG, "A/m²", "per wetted area of electrode; " + _MEMORY),
    "tafel slope": (0.055, 0.140, Form.EVEN, "V/decade", "seen on oxygen electrodes; " + _MEMORY),
    "electrons": (2.0, 4.0, Form.EVEN, "", "2 where peroxide stays, 4 where it does not; by definition"),
    "still air": (3e-3, 1e-2, Form.EVEN, "m", "in front of the air face, room without a fan; " + _MEMORY),
}  # fmt: skip

_TYPED = {"m": "mm", "m²/s": "m^2/s", "mol/m³": "mol/m^3", "A/m²": "mA/cm^2", "V/decade": "mV"}
"""What a number without a unit is taken in, by the unit it is kept in, where they differ."""
_BARE = {"grain radius": "um"}

FIELDS = (
    "thickness",
    "ionic_conductivity",
    "electronic_conductivity",
    "gas_diffusivity",
    "oxygen_air",
    "air_film",
    "henry_liquid_per_gas",
    "agglomerate_radius",
    "agglomerate_diffusivity",
    "agglomerate_fraction",
    "film_transfer",
    "exchange_current",
    "reference_oxygen",
    "tafel_slope",
    "electrons",
)
"""What is drawn of `CathodeParameters`, in this order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One electrode or mix in one electrolyte, as bands.

    Parameters
    ----------
    item : str
        Its name.
    kind : str
        "electrode" or "mix".
    bands : dict of str to Band
        Every input of the model.
    binder_mass_share, conductor_mass_share : float
        Dry mass shares, for changes that are told in them [1].
    liquid : str
        The electrolyte in words.
    temperature : float [K]
    liquid_conductivity : float [S/m]
        Middle; for the gap of the cell.
    assumptions : tuple of str
    """

    item: str
    kind: str
    bands: dict[str, Band]
    binder_mass_share: float
    conductor_mass_share: float
    liquid: str
    temperature: float
    liquid_conductivity: float
    assumptions: tuple[str, ...]


def layer_of(
    item: str,
    composition: Composition,
    solution: Solution,
    *,
    electrode: Electrode | None = None,
    film: FilmPorosity | None = None,
    said: Mapping[str, Band] | None = None,
) -> Layer:
    """The bands of an electrode or a mix.

    Parameters
    ----------
    item : str
        Its name.
    composition : Composition
        What the mix dries to.
    solution : Solution
        The electrolyte at its temperature.
    electrode : Electrode, optional
        The piece; without it thickness and porosity are assumed.
    film : FilmPorosity, optional
        Its porosity from mass, area and thickness.
    said : mapping of str to Band, optional
        Inputs that were typed; they go before everything.

    Returns
    -------
    Layer

    Raises
    ------
    CannotTellError
        A density is not known, or nothing in the mix conducts.
    """
    typed = said or {}
    shares = _volume_shares(composition, item)
    assumptions: list[str] = ["the collector mesh lies at the air face (judgement)"]
    bands: dict[str, Band] = {}
    bands["thickness"] = typed.get("thickness") or _thickness(electrode, assumptions)
    bands["porosity"] = typed.get("porosity") or _porosity(composition, film, assumptions)
    bands |= {name: _band(name, typed) for name in _ASSUMED}
    bands |= {name: _share(value, "of the dry volume") for name, value in shares.items()}
    liquid = {
        "liquid conductivity": (properties.conductivity(solution), "S/m"),
        "dissolved oxygen": (properties.oxygen_solubility(solution), "mol/m³"),
        "dissolved diffusivity": (properties.oxygen_diffusivity(solution), "m²/s"),
    }
    for name, (found, unit) in liquid.items():
        bands[name] = typed.get(name) or _published(found, unit)
        assumptions.extend(f"{name}: {warning}" for warning in found.warnings)
    pressure = properties.air_oxygen_pressure(solution.temperature).value
    air = pressure / (GAS_CONSTANT * solution.temperature)
    bands["oxygen in air"] = Band.fixed(air, "mol/m³", Basis.PUBLISHED, "dry share of air at 1 atm")
    diffusing = _IN_AIR * (solution.temperature / _WARM) ** _AIR_POWER
    bands["air diffusivity"] = Band.bell(diffusing, _AIR_SPREAD * diffusing, "m²/s", Basis.ASSUMED,
                                         "oxygen in air; " + _MEMORY)  # from memory  # fmt: skip
    masses = {
        function: sum(
            composition.value("fraction", part.key)
            for part in composition.parts
            if part.function is function
        )
        for function in Function
    }
    binder = sum(masses[f] for f in (Function.BINDER, Function.PLASTICISER, Function.WET_PROOFER))
    return Layer(
        item=item,
        kind="mix" if electrode is None else "electrode",
        bands=bands,
        binder_mass_share=binder,
        conductor_mass_share=masses[Function.CONDUCTOR],
        liquid=f"{solution.salt} {100 * solution.mass_fraction:.3g} %",
        temperature=solution.temperature,
        liquid_conductivity=bands["liquid conductivity"].middle,
        assumptions=(*assumptions, *composition.notes),
    )


def input_units() -> dict[str, tuple[str, str]]:
    """Every input that may be typed, with the unit it is kept in and the one of a number without any.

    Returns
    -------
    dict of str to tuple of str
        As {"thickness": ("m", "mm")}; "" and "" for a share or a plain number.
    """
    kept = {"thickness": "m", "porosity": ""} | {n: row[3] for n, row in _ASSUMED.items()}
    kept |= {"liquid conductivity": "S/m", "dissolved oxygen": "mol/m³"}
    kept["dissolved diffusivity"] = "m²/s"
    return {name: (unit, _BARE.get(name) or _TYPED.get(unit, unit)) for name, unit in kept.items()}


def _band(name: str, typed: Mapping[str, Band]) -> Band:
    if name in typed:
        return typed[name]
    low, high, form, unit, source = _ASSUMED[name]
    return Band(low=low, high=high, form=form, unit=unit, basis=Basis.ASSUMED, source=source)


def _share(value: float, of: str) -> Band:
    return Band.fixed(value, "", Basis.MEASURED, f"recipe, {of}")


def _published(found: PropertyAnswer, unit: str) -> Band:
    spread = found.quantity.standard_uncertainty or 0.0
    return Band.bell(
        found.value, spread, unit, Basis.PUBLISHED, found.quantity.source, least=0.1 * found.value
    )


def _volume_shares(composition: Composition, item: str) -> dict[str, float]:
    """Shares of the dry volume: binder side, conductor, carbon."""
    if ("specific volume",) not in composition.places:
        lacking = ", ".join(composition.missing.get("density", ()))
        raise CannotTellError(
            f"no density known for {lacking}", where=item,
            allowed="a density of every material of the mix",
            next_step="enter its density; without it no porosity can be given",
        )  # fmt: skip
    found = {"binder": 0.0, "conductor": 0.0, "carbon": 0.0}
    names = {
        Function.BINDER: "binder",
        Function.PLASTICISER: "binder",
        Function.WET_PROOFER: "binder",
        Function.CONDUCTOR: "conductor",
        Function.ACTIVE_CARBON: "carbon",
    }
    for part in composition.parts:
        if part.function in names:
            found[names[part.function]] += composition.value("volume", part.key)
    if found["conductor"] + found["carbon"] <= 0.0:
        raise CannotTellError(
            "nothing in this mix conducts", where=item, allowed="a conductor or a carbon",
            next_step="say on the shelf what each powder does (its function)",
        )  # fmt: skip
    return {f"{name} share": value for name, value in found.items()}


def _thickness(electrode: Electrode | None, assumptions: list[str]) -> Band:
    readings = () if electrode is None else electrode.thickness
    if not readings:
        assumptions.append(
            "thickness not measured: 0.2 to 0.8 mm assumed; calipers at five places tell"
        )
        return Band(low=_THICKNESS[0], high=_THICKNESS[1], form=Form.EVEN, unit="m", basis=Basis.ASSUMED,
                    source="not measured; judgement")  # fmt: skip
    chance = stdev(readings) / math.sqrt(len(readings)) if len(readings) > 1 else 0.0
    spread = math.hypot(chance, _CALIPER / math.sqrt(3.0))
    return Band.bell(fmean(readings), spread, "m", Basis.MEASURED, "calipers, the electrode's own",
                     least=0.1 * fmean(readings))  # fmt: skip


def _porosity(composition: Composition, film: FilmPorosity | None, assumptions: list[str]) -> Band:
    if film is not None and film.porosity.value is not None:
        spread = film.porosity.standard_uncertainty or 0.0
        value = min(max(film.porosity.value, 0.05), 0.95)  # judgement: no film lies beyond
        basis = film.porosity.basis
        told = "coats weighed wet, " if basis is Basis.PREDICTED else "mass, "
        return Band.bell(value, spread, "", basis, f"{told}area and thickness", least=_LEAST_VOID)
    why = "not measured" if film is None else (film.porosity.reason or "not measured")
    voids = composition.value("voids") if ("voids",) in composition.places else 0.6  # judgement
    high = min(max(voids, 0.25), 0.9)  # judgement: before pressing, so an upper estimate
    assumptions.append(f"porosity: {why}; between half and all of the voids the binder leaves")
    return Band(low=0.5 * high, high=high, form=Form.EVEN, unit="", basis=Basis.ASSUMED,
                source="balance of binder and voids, before pressing")  # fmt: skip


def model_columns(values: Mapping[str, Floats], before: Mapping[str, Floats]) -> Values:
    """The model's numbers from drawn inputs.

    Parameters
    ----------
    values : mapping of str to ndarray, shape (m,)
        Drawn inputs, changed or not.
    before : mapping of str to ndarray, shape (m,)
        The same before any change: what was assumed of kinetics and film belongs to that state.

    Returns
    -------
    dict of str to ndarray, shape (m,) [SI]
        `FIELDS` of `CathodeParameters`.

    Notes
    -----
    κ = κ₀(ε s)^1.5/τ, D = D₀ ε^1.5 (1−s)^m/τ (Bruggeman 1935), σ by percolation of the conducting
    grains; a·i₀ goes with the share of powder, with (1 − binder share)^β and with s^w, the film's
    transfer with (1−s)^v. β, w, v are drawn, since nobody knows them.
    """
    v, b = values, before
    void = np.maximum(v["porosity"], _LEAST_VOID)
    powder, powder_before = _powder(v), _powder(b)
    slower = v["extra tortuosity"]
    kappa = np.asarray(
        effective_ionic_conductivity(v["liquid conductivity"], void, v["saturation"])
    )
    gas = _gas(v, void)
    drier = (1.0 - v["saturation"]) / (1.0 - b["saturation"])
    wetter = v["saturation"] / b["saturation"]
    bare = (1.0 - v["binder share"]) / (1.0 - b["binder share"])
    activity = powder / powder_before * bare ** v["binder cover exponent"]
    activity = (
        activity * wetter ** v["wetted-area exponent"] * v.get("activity", np.ones_like(void))
    )
    made = {
        "thickness": v["thickness"],
        "ionic_conductivity": kappa / slower,
        "electronic_conductivity": _solid(v, powder),
        "gas_diffusivity": gas / slower,
        "oxygen_air": v["oxygen in air"],
        "air_film": v["still air"],
        "henry_liquid_per_gas": v["dissolved oxygen"] / v["oxygen in air"],
        "agglomerate_radius": v["grain radius"],
        "agglomerate_diffusivity": v["grain diffusivity ratio"] * v["dissolved diffusivity"],
        "agglomerate_fraction": v["grain share"],
        "film_transfer": v["film transfer"] * drier ** v["film exponent"],
        "exchange_current": v["exchange current"] / b["thickness"] * activity,
        "reference_oxygen": v["dissolved oxygen"],
        "tafel_slope": v["tafel slope"] / math.log(10),
        "electrons": v["electrons"],
    }
    return {name: np.asarray(made[name], dtype=np.float64) for name in FIELDS}


def _powder(v: Mapping[str, Floats]) -> Floats:
    """Share of the layer's volume that is powder and not binder [1]."""
    void = np.maximum(v["porosity"], _LEAST_VOID)
    return np.asarray((1.0 - void) * (1.0 - v["binder share"]))


def _gas(v: Mapping[str, Floats], void: Floats) -> Floats:
    """Diffusivity in the pores, its power of the dry share drawn for each."""
    dry = 1.0 - v["saturation"]
    open_layer = np.asarray(effective_gas_diffusivity(v["air diffusivity"], void))
    return np.asarray(open_layer * dry ** v["gas exponent"])


def _solid(v: Mapping[str, Floats], powder: Floats) -> Floats:
    """Percolation of the black alone and of all carbons together, side by side [S/m]."""
    dry = np.maximum(1.0 - v["binder share"], 1e-6)  # numerical
    black = powder * v["conductor share"] / dry
    every = powder * (v["conductor share"] + v["carbon share"]) / dry
    start, power = v["percolation threshold"], v["percolation exponent"]

    def through(share: Floats, pressed: Floats) -> Floats:
        above = np.maximum(share - start, 0.0) / (1.0 - start)
        return np.asarray(pressed * above**power)

    made = through(black, v["pressed black"]) + through(every, v["pressed carbon"])
    return np.asarray(np.maximum(made * v.get("conduction", np.ones_like(made)), _NO_PATH))


def recipe_columns(layer: Layer, *, draws: int = 1000, seed: int = 0) -> Values:  # numerical
    """Draws of the model's numbers as the recipe leaves them: what is assumed before a run.

    Parameters
    ----------
    layer : Layer
    draws : int
    seed : int
        Of the dice.

    Returns
    -------
    dict of str to ndarray, shape (draws,) [SI]
    """
    return recipe_draw(layer)(np.random.default_rng(seed), draws)


def recipe_draw(layer: Layer) -> Draw:
    """A draw of the model's numbers as the recipe leaves them.

    Parameters
    ----------
    layer : Layer

    Returns
    -------
    Draw
    """

    def draw(dice: np.random.Generator, size: int) -> Values:
        values = drawn(layer.bands, dice.random((size, len(layer.bands))))
        return model_columns(values, values)

    return draw


def model_of(columns: Mapping[str, Floats]) -> CathodeParameters:
    """The cathode at the middle of its drawn numbers.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (m,) [SI]
        From `model_columns`.

    Returns
    -------
    CathodeParameters
    """
    middle: dict[str, Any] = {name: float(np.median(columns[name])) for name in FIELDS}
    return CathodeParameters(**middle)
