"""How long a wet coat takes to dry, as a band: the free liquid, then what the binder holds back."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import properties, units
from aerode.cautions import lookup
from aerode.cautions.policy import CONSTANT_WEIGHT_SHARE
from aerode.cautions.situation import OpenLiquid, Situation, Span
from aerode.errors import RangeError, ReferenceDataError, UnitError
from aerode.physics import drying, evaporation
from aerode.physics.constants import ATMOSPHERE, GAS_CONSTANT
from aerode.physics.evaporation_models import AIR_MOLAR_MASS
from aerode.properties.pure import equation_answer, water_saturation
from aerode.records.processes import (
    CrackHint,
    DryingTimes,
    LiquidShare,
    ProcessAnswer,
)
from aerode.reference import hazard_rule
from aerode.reference.process_figures import process_figure
from aerode.usecases.process import (
    Desk,
    MixOnFile,
    band_of,
    cautions_for,
    ends_of,
    mix_on_file,
    shares_of,
    shown_time,
    sources_of,
)
from aerode.usecases.property_words import surface_tension

if TYPE_CHECKING:
    from aerode.physics.evaporation import EvaporationBand
    from aerode.store.bench_file import BenchFile

__all__ = ["DryingQuestion", "time_to_dry"]

_ROOM = 298.15
# A mixture of isomers stands in by the one of which there is most.
_STAND_IN = {"xylenes": "m-xylene"}


@dataclass(frozen=True, slots=True, kw_only=True)
class DryingQuestion:
    """What is asked, as typed; "" where it was not said."""

    mix: str = ""
    solvents: tuple[str, ...] = ()
    liquid: str = ""
    wet: str = ""
    loading: str = ""
    solids: str = ""
    area: str = ""
    faces: int = 1
    temperature: str = ""
    humidity: str = ""
    air: str = "still"
    air_speed: str = ""
    lost: str = ""
    thickness: str = ""
    coat: str = ""
    grain: str = ""


@dataclass(frozen=True, slots=True)
class _Air:
    temperature: float
    slow: float
    fast: float
    humidity: tuple[float, float]


def time_to_dry(question: DryingQuestion, bench: BenchFile | None = None) -> ProcessAnswer:
    """How long a wet coat takes: the free liquid, then the last solvent, as bands.

    Parameters
    ----------
    question : DryingQuestion
        As typed.
    bench : BenchFile, optional
        Open; needed where a mix is named.

    Returns
    -------
    ProcessAnswer
        With `drying` filled, and the cautions on what goes into the air.

    Raises
    ------
    InputError
        Something typed cannot be taken, or the amount of liquid cannot be told; what is missing is
        named.
    ReferenceDataError
        A liquid that is not on file.

    Examples
    --------
    >>> answer = time_to_dry(DryingQuestion(solvents=("ethanol",), liquid="0.5 g", area="36 cm^2"))
    >>> answer.drying.free.low < answer.drying.free.likely < answer.drying.free.high
    True
    """
    desk = Desk()
    mix = mix_on_file(bench, question.mix) if bench is not None and question.mix else None
    shares = shares_of(question.solvents) or _named(mix)
    area = desk.above_zero(question.area, "m^2", "area")
    if area is None:
        raise RangeError(
            "the wet area is missing", where="area", allowed='as in --area "36 cm^2"',
            next_step="measure the coated patch with a ruler",
        )  # fmt: skip
    liquid, loading = _liquid_mass(question, mix, area, desk)
    air = _air(question, desk)
    wet_area = area * question.faces
    rates = {name: _rates(name, air, wet_area, desk) for name in shares}
    times = _measured(question, liquid, desk) or _modelled(shares, rates, liquid)
    last = _last_solvent(question, mix, loading, desk)
    cracks = _cracks(question, mix, shares, desk)
    found = DryingTimes(
        liquids=_shares(shares, rates, liquid),
        liquid_mass=liquid,
        area=wet_area,
        free=band_of(*times, "s", "free liquid"),
        last=band_of(last[0], None, last[1], "s", "last solvent in the binder"),
        whole=band_of(
            times[0] + (last[0] or 0.0), None,
            None if last[1] is None else times[2] + last[1], "s", "both",
        ),
        coldest=min(cold for _, cold in rates.values()),
        measured_rate=bool(question.lost.strip()),
        cracks=cracks,
    )  # fmt: skip
    about = (question.mix,) if question.mix else tuple(shares)
    open_liquids = tuple(
        OpenLiquid(name=n, substance=n, mass=liquid * share) for n, share in shares.items()
    )
    situation = Situation(
        about=about, liquids=open_liquids, open_area=wet_area,
        air_speed=Span(low=air.slow, high=air.fast, how="as given"),
    )  # fmt: skip
    return ProcessAnswer(
        headline=_headline(question, shares, found),
        process="drying",
        about=about,
        drying=found,
        cautions=cautions_for(situation),
        warnings=(
            "weigh it twice, ten minutes apart, before any heat: a skin holds solvent back",
            *desk.warnings,
        ),
        assumed=tuple(desk.assumed),
        sources=sources_of(desk.assumed),
        understood=tuple(desk.understood),
    )


def _named(mix: MixOnFile | None) -> dict[str, float]:
    if mix is None or not mix.liquids:
        raise RangeError(
            "which liquid?", where="solvent", allowed='--solvent ethanol, --solvent "toluene=0.6", or --mix',
            next_step="name what the coat is wet with",
        )  # fmt: skip
    return shares_of(f"{name}={share}" for name, share in mix.liquids.items())


def _liquid_mass(
    question: DryingQuestion, mix: MixOnFile | None, area: float, desk: Desk
) -> tuple[float, float | None]:
    """Mass of liquid in the coat [kg], and its dry loading [kg/m^2] where it is known."""
    loading = desk.above_zero(question.loading, "kg/m^2", "loading")
    liquid = desk.above_zero(question.liquid, "kg", "liquid")
    if liquid is not None:
        return liquid, loading
    wet = desk.above_zero(question.wet, "kg", "wet coat")
    solids = desk.above_zero(question.solids, "", "solids")
    if solids is None and mix is not None:
        solids = mix.solids_fraction
    if solids is not None and not 0.0 < solids < 1.0:
        raise RangeError(
            f"a solids fraction of {solids:g}", where="solids", allowed="above 0 %, below 100 %"
        )
    if solids is not None and wet is not None:
        return wet * (1.0 - solids), wet * solids / area
    if solids is not None and loading is not None:
        return loading * area * (1.0 / solids - 1.0), loading
    raise RangeError(
        "how much liquid is in the coat cannot be told",
        where="liquid",
        allowed="--liquid, or --wet with --solids, or --loading with --solids",
        next_step="weigh the piece before and right after coating: --wet is the difference",
    )


def _air(question: DryingQuestion, desk: Desk) -> _Air:
    temperature = desk.read(question.temperature, "K", "temperature")
    if temperature is None:
        temperature = _ROOM
        desk.say("temperature", "25 degC", "--temperature")
    speed = desk.above_zero(question.air_speed, "m/s", "air speed")
    if speed is None:
        row = desk.take(process_figure("air", "air_speed", question.air), f"{question.air} air", "--air-speed")  # fmt: skip
        slow, fast = ends_of(row)
    else:
        slow = fast = speed
    humid = desk.read(question.humidity, "", "humidity", ("%",))
    if humid is not None and not 0.0 <= humid <= 1.0:
        raise RangeError(f"a humidity of {humid:g}", where="humidity", allowed="0 to 100 %")
    if humid is not None:
        return _Air(temperature, slow, fast, (humid, humid))
    return _Air(temperature, slow, fast, ends_of(process_figure("air", "relative_humidity")))


def _pressure(name: str) -> Callable[[float], float]:
    """Vapour pressure [Pa] at any temperature [K], by the equation on file, carried on past its range."""
    held = _STAND_IN.get(name, name)
    if held == "water":
        return lambda kelvin: water_saturation(kelvin).value

    def pressure(kelvin: float) -> float:
        found = equation_answer(held, "vapour_pressure", kelvin)
        if found is None:
            raise ReferenceDataError(
                f"no vapour pressure equation of {name} on file", where="solvent",
                allowed="a solvent with one", next_step="weigh the loss instead: --lost",
            )  # fmt: skip
        return found.value

    return pressure


def _figure(condition: str) -> float:
    found = lookup.rule("exposure_model_figure", condition)
    if found is None:
        raise ReferenceDataError(f"no figure {condition!r} on file")
    return found.value


def _rates(
    name: str, air: _Air, area: float, desk: Desk
) -> tuple[tuple[float, float, float], float]:
    """Lowest, likely and highest rate of one liquid alone [kg/s], and how cold it makes itself [K]."""
    if name in _STAND_IN:
        desk.say(name, f"as {_STAND_IN[name]}", source="derived_here")
    pressure, molar = _pressure(name), lookup.molar_mass(name)
    spreads = lookup.diffusivity_in_air(_STAND_IN.get(name, name), air.temperature)
    if molar is None or spreads is None:
        raise ReferenceDataError(f"no molar mass or formula of {name} on file", where="solvent")
    saturated = pressure(air.temperature)
    least, most = (h * saturated if name == "water" else 0.0 for h in air.humidity)
    cold = _coldest(pressure, molar, spreads, air, most)
    warm = _band(air, area, molar, saturated - least, air.temperature, spreads)
    cooled = _band(air, area, molar, max(pressure(cold) - most, 1e-3 * saturated), cold, spreads)
    return (cooled.low, math.sqrt(warm.centre * cooled.centre), warm.high), cold


def _coldest(
    pressure: Callable[[float], float], molar: float, spreads: float, air: _Air, ambient: float
) -> float:
    """The wet bulb of the liquid in this air [K]."""
    heat, _ = ends_of(process_figure("air", "specific_heat"))
    spread, _ = ends_of(process_figure("air", "thermal_diffusivity"))
    dense = ATMOSPHERE * AIR_MOLAR_MASS / (GAS_CONSTANT * air.temperature)
    return drying.wet_bulb_temperature(
        air.temperature, molar, drying.evaporation_heat(pressure, air.temperature), pressure,
        diffusivity=spreads, air_thermal_diffusivity=spread,
        air_specific_heat=heat, air_density=dense, ambient=ambient,
    )  # fmt: skip


def _band(
    air: _Air, area: float, molar: float, driving: float, temperature: float, spreads: float
) -> EvaporationBand:
    return evaporation.evaporation_band(
        molar, driving, temperature, area, slow_air=air.slow, fast_air=air.fast, diffusivity=spreads,
        still_coefficient=_figure("mass transfer of water, still room"),
        pool_coefficient=_figure("mass transfer of water, outdoor pool"),
    )  # fmt: skip


def _modelled(
    shares: dict[str, float],
    rates: dict[str, tuple[tuple[float, float, float], float]],
    liquid: float,
) -> tuple[float, float, float]:
    """Shortest, likely and longest time of the free liquid [s]."""
    masses = [liquid * share for share in shares.values()]
    by_end = [[rates[name][0][end] for name in shares] for end in range(3)]
    slow, likely, fast = (drying.blend_drying_time(masses, rate) for rate in by_end)
    return fast, likely, slow


def _measured(
    question: DryingQuestion, liquid: float, desk: Desk
) -> tuple[float, float, float] | None:
    """The same from what a scale saw."""
    if not question.lost.strip():
        return None
    parts = re.split(r"\s+in\s+|\s*/\s*", question.lost.strip(), maxsplit=1)
    if len(parts) != 2:
        raise UnitError(
            f"{question.lost!r} is no weigh-loss", where="lost",
            allowed='a mass and a time, as in "0.2 g in 5 min"',
        )  # fmt: skip
    lost, over = (
        units.read(p, u, field="lost").value for p, u in zip(parts, ("kg", "s"), strict=True)
    )
    rate, _ = evaporation.weigh_loss_rate(lost, over)
    if rate <= 0.0:
        raise RangeError("nothing was lost", where="lost", allowed="a loss above zero")
    _, most = ends_of(
        desk.take(
            hazard_rule("exposure_model_figure", "drying peak over mean"), "later over first rate"
        )
    )
    time = liquid / rate
    return time, time * math.sqrt(most), time * most


def _shares(
    shares: dict[str, float],
    rates: dict[str, tuple[tuple[float, float, float], float]],
    liquid: float,
) -> tuple[LiquidShare, ...]:
    names = list(shares)
    near = dict.fromkeys(names, 1.0)
    if len(names) > 1:
        molar = [lookup.molar_mass(n) or 1.0 for n in names]
        likely = [rates[n][0][1] for n in names]
        left = drying.blend_left([shares[n] for n in names], molar, likely, 0.1)
        near = dict(zip(names, left, strict=True))
    found: list[LiquidShare] = []
    for name in names:
        fast, likely, slow = (liquid * shares[name] / rates[name][0][end] for end in (2, 1, 0))
        alone = band_of(fast, likely, slow, "s", "alone")
        found.append(
            LiquidShare(of=name, at_start=shares[name], near_the_end=near[name], alone=alone)
        )
    return tuple(found)


def _thickness_of(mix: MixOnFile | None, loading: float | None) -> float | None:
    """Dry thickness from loading, density and void [m], None where one is not known."""
    if mix is None or loading is None or mix.porosity is None or mix.solids_density is None:
        return None
    return loading / mix.solids_density / (1.0 - mix.porosity)


def _last_solvent(
    question: DryingQuestion, mix: MixOnFile | None, loading: float | None, desk: Desk
) -> tuple[float | None, float | None]:
    """Shortest and longest time of the last solvent [s]; None where the way is not known."""
    thickness = desk.above_zero(question.thickness, "m", "dry thickness")
    if thickness is None:
        thickness = _thickness_of(mix, loading)
    porous = mix.porous if mix is not None else None
    if question.coat:
        porous = question.coat == "porous"
    slow, quick = ends_of(
        desk.take(process_figure("polymer", "polymer_diffusivity"), "solvent in the binder")
    )
    skin = process_figure("coat", "polymer_path")
    short = thickness if porous is False else skin.low
    long = skin.high if porous else thickness
    if porous is not False:
        desk.take(skin, "binder the solvent has to cross", "--thickness, --coat dense")
    low = None if short is None else drying.late_drying_time(short, quick, CONSTANT_WEIGHT_SHARE)
    high = None if long is None else drying.late_drying_time(long, slow, CONSTANT_WEIGHT_SHARE)
    return low, high


def _cracks(
    question: DryingQuestion, mix: MixOnFile | None, shares: dict[str, float], desk: Desk
) -> CrackHint | None:
    """How far the coat sinks, and where bare grains crack, where enough is known."""
    sinks = _sinking(question, mix, shares)
    diameter = desk.above_zero(question.grain, "m", "grain")
    if diameter is None:
        return None if sinks is None else CrackHint(dry_over_wet=sinks)
    model = desk.take(process_figure("coat", "cracking_model"), "cracking model")
    stiff = desk.take(process_figure("carbon", "shear_modulus"), "stiffness of the grains")
    pull = _last_tension(shares)
    c = model.coefficient
    ends = [
        drying.critical_cracking_thickness(
            diameter / 2.0, modulus, tension, packing=c["packing"], contacts=c["contacts"],
            factor=c["factor"], power=c["power"],
        )
        for modulus, tension in zip(ends_of(stiff), reversed(pull), strict=True)
    ]  # fmt: skip
    return CrackHint(
        dry_over_wet=sinks,
        grain_diameter=diameter,
        thickness=band_of(ends[0], None, ends[1], "m", "bare grains crack above this"),
    )


def _last_tension(shares: dict[str, float]) -> tuple[float, float]:
    """Surface tension of what may leave last [N/m]."""
    ends: list[float] = []
    for name in shares:
        try:
            ends.append(surface_tension(name, _ROOM).value)
        except ReferenceDataError:
            row = process_figure("organic solvent", "surface_tension")
            ends += ends_of(row)
    return min(ends), max(ends)


def _sinking(
    question: DryingQuestion, mix: MixOnFile | None, shares: dict[str, float]
) -> float | None:
    if mix is None or mix.porosity is None or not mix.solids_density:
        return None
    solids = (
        units.read(question.solids, "").value if question.solids.strip() else mix.solids_fraction
    )
    if solids is None:
        return None
    volume = 0.0
    for name, share in shares.items():
        density = properties.lookup(name, "density", temperature=_ROOM).quantity.value
        if density is None:
            return None
        volume += (1.0 - solids) * share / density
    solid = solids / mix.solids_density
    share_of_solids = solid / (solid + volume)
    if share_of_solids > 1.0 - mix.porosity:
        return None
    return drying.dry_over_wet_thickness(share_of_solids, mix.porosity)


def _headline(question: DryingQuestion, shares: dict[str, float], found: DryingTimes) -> str:
    name = question.mix or " + ".join(shares)
    free, last = found.free, found.last
    text = f"{name}: the liquid goes in {shown_time(free.low or 0.0)} to {shown_time(free.high or 0.0)}"
    if last.high is not None and last.low is not None:
        return f"{text}, the last of it in {shown_time(last.low)} to {shown_time(last.high)} more"
    return f"{text}; the last of it: only a scale tells"
