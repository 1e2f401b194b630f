"""Making an electrolyte up, thinning a stock, topping up after evaporation, and reading a cheap probe."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import properties, reference, units
from aerode.cautions.policy import LYES
from aerode.cautions.situation import LyeMakeUp, Situation
from aerode.errors import RangeError
from aerode.physics.electrolyte_make_up import dilution_masses
from aerode.records.processes import ElectrolyteSheet, ProcessAnswer
from aerode.usecases.process import Desk, cautions_for, sources_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.properties import Solution
    from aerode.records.cautions import Caution

__all__ = ["ElectrolyteQuestion", "StrengthQuestion", "make_up", "read_probe"]

_STRENGTHS = {
    "mass_fraction": ("", ("",)),
    "molality": ("mol/kg", ("mol/kg",)),
    "molarity": ("mol/m^3", ("mol/L",)),
    "grams_per_100_ml_water": ("g", ("g",)),
    "practical_salinity": ("", ("",)),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ElectrolyteQuestion:
    """What is asked, as typed; "" where it was not said."""

    salt: str
    strength: Mapping[str, str]
    volume: str = ""
    temperature: str = ""
    assay: str = ""
    stock: str = ""
    was: str = ""
    now: str = ""


def _solution(question: ElectrolyteQuestion, desk: Desk, temperature: float) -> Solution:
    strength: dict[str, float] = {}
    for word, text in question.strength.items():
        unit, bare = _STRENGTHS[word]
        value = desk.read(text, unit, word.replace("_", " "), bare)
        if value is not None:
            strength[word] = value
    return properties.solution(question.salt, temperature, **strength)


def make_up(question: ElectrolyteQuestion) -> ProcessAnswer:
    """What to weigh for an electrolyte, from dry salt or a stock; or what brings it back to strength.

    Parameters
    ----------
    question : ElectrolyteQuestion
        As typed. With `was` and `now` (masses of the vessel's content) it answers the top-up.

    Returns
    -------
    ProcessAnswer
        With `electrolyte` filled, and the cautions on lye.

    Raises
    ------
    InputError
        Something typed cannot be taken, or neither a volume nor two masses were given.

    Examples
    --------
    >>> answer = make_up(ElectrolyteQuestion(
    ...     salt="NaCl", volume="500 mL", strength={"mass_fraction": "3.5 %"}, temperature="20 degC"))
    >>> answer.headline
    '500 mL of sodium chloride 3.5 %: weigh 17.90 g of salt into 493.6 g of water'
    """
    desk = Desk()
    temperature = desk.above_zero(question.temperature, "K", "temperature")
    if temperature is None:
        temperature = 298.15
        desk.say("temperature", "25 degC", "--temperature")
    brine = _solution(question, desk, temperature)
    if question.was.strip() or question.now.strip():
        return _top_up(question, brine, desk)
    volume = desk.above_zero(question.volume, "m^3", "volume")
    if volume is None:
        raise RangeError(
            "how much is wanted?", where="volume",
            allowed='--volume "500 mL", or --was and --now for a top-up',
        )  # fmt: skip
    assay = desk.above_zero(question.assay, "", "assay") or 1.0
    made = properties.make_up_sheet(brine, volume, assay=assay)
    stock = desk.above_zero(question.stock, "", "stock")
    sheet = _sheet(brine, volume)
    salt, water, taken = made.masses.salt_as_weighed, made.masses.water, None
    if stock is not None:
        taken, water = dilution_masses(made.masses.solution, brine.mass_fraction, stock)
    sheet = _with_masses(sheet, None if stock is not None else salt, water, taken)
    about = f"{question.salt} {units.per_cent(brine.mass_fraction, 4)}"
    return ProcessAnswer(
        headline=_headline(brine, sheet, assay),
        process="electrolyte",
        about=(about,),
        electrolyte=sheet,
        cautions=_lye_cautions(brine, about, made.masses.salt, water),
        warnings=tuple(
            dict.fromkeys((*made.warnings, "weigh both: volumes do not add, and a cup is no scale"))
        ),
        assumed=tuple(desk.assumed),
        sources=_sources(brine, desk),
        understood=tuple(desk.understood),
    )


def _sources(brine: Solution, desk: Desk) -> tuple[str, ...]:
    found = [
        properties.density(brine).quantity.source,
        properties.conductivity(brine).quantity.source,
    ]
    return sources_of(desk.assumed, *found)


def _lye_cautions(brine: Solution, about: str, salt: float, water: float) -> tuple[Caution, ...]:
    if brine.salt not in LYES:
        return ()
    made = LyeMakeUp(salt=brine.salt, solute=salt, water=water, start_temperature=brine.temperature)
    return cautions_for(Situation(about=(about,), make_ups=(made,)))


def _sheet(brine: Solution, volume: float | None) -> ElectrolyteSheet:
    conducts = properties.conductivity(brine).quantity
    return ElectrolyteSheet(
        salt=brine.salt,
        volume=volume,
        temperature=brine.temperature,
        mass_fraction=brine.mass_fraction,
        molality=brine.molality,
        molarity=brine.molarity,
        grams_per_100_ml_water=brine.grams_per_100_ml_water,
        density=properties.density(brine).value,
        practical_salinity=brine.practical_salinity,
        conductivity=conducts.value,
        conductivity_uncertainty=conducts.standard_uncertainty,
    )


def _with_masses(
    sheet: ElectrolyteSheet, salt: float | None, water: float | None, stock: float | None
) -> ElectrolyteSheet:
    return replace(sheet, salt_mass=salt, water_mass=water, stock_mass=stock)


def _grams(kilograms: float) -> str:
    grams = 1e3 * kilograms
    return f"{grams:.2f} g" if grams < 100.0 else f"{grams:.1f} g"


def _headline(brine: Solution, sheet: ElectrolyteSheet, assay: float) -> str:
    millilitres = f"{1e6 * (sheet.volume or 0.0):.4g} mL"
    strength = f"{100.0 * brine.mass_fraction:.3g} %"
    water = _grams(sheet.water_mass or 0.0)
    if sheet.stock_mass is not None:
        return f"{millilitres} of {brine.salt} {strength}: weigh {_grams(sheet.stock_mass)} of stock into {water} of water"
    called = "lye" if brine.salt in LYES else "salt"
    what = called if assay == 1.0 else f"{called} of {units.per_cent(assay, 3)} assay"
    return f"{millilitres} of {brine.salt} {strength}: weigh {_grams(sheet.salt_mass or 0.0)} of {what} into {water} of water"


def _top_up(question: ElectrolyteQuestion, brine: Solution, desk: Desk) -> ProcessAnswer:
    was = desk.above_zero(question.was, "kg", "was")
    now = desk.above_zero(question.now, "kg", "now")
    if was is None or now is None or now > was:
        raise RangeError(
            "a top-up needs what the liquid weighed at first and what it weighs now", where="was, now",
            allowed='as in --was "480 g" --now "441 g"', next_step="weigh it with the vessel's weight taken off",
        )  # fmt: skip
    kept, later = properties.evaporated(brine, was, was - now)
    water = properties.top_up(later, kept.mass, brine)
    sheet = _with_masses(_sheet(later, None), None, None, None)
    sheet = replace(sheet, top_up=water)
    return ProcessAnswer(
        headline=f"Add {_grams(water)} of plain water: it stands at {100 * later.mass_fraction:.3g} % now, made at {100 * brine.mass_fraction:.3g} %",
        process="electrolyte",
        about=(question.salt,),
        electrolyte=sheet,
        warnings=(
            "plain water only: topping up with brine makes the cell stronger every time",
            f"{'lye' if brine.salt in LYES else 'salt'} that crept out, and liquid that seeped, are not counted",
        ),
        assumed=tuple(desk.assumed),
        sources=_sources(brine, desk),
        understood=tuple(desk.understood),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class StrengthQuestion:
    """A conductivity reading, and the calibration of the probe, as typed."""

    salt: str
    reading: str
    temperature: str = ""
    calibration: str = ""
    calibration_molality: str = "0.1"
    calibration_temperature: str = ""


def read_probe(question: StrengthQuestion) -> ProcessAnswer:
    """The strength behind a conductivity reading, with the probe calibrated in potassium chloride.

    Parameters
    ----------
    question : StrengthQuestion
        As typed.

    Returns
    -------
    ProcessAnswer
        With `electrolyte` filled.

    Raises
    ------
    InputError
        Something typed cannot be taken, or the reading is not reached at any strength.

    Examples
    --------
    >>> read_probe(StrengthQuestion(salt="NaCl", reading="56.1 mS/cm", temperature="25 degC")).headline
    'sodium chloride 3.50 % by its conductivity, 0.62 mol/kg, 3.61 g in 100 mL of water'
    """
    desk = Desk()
    temperature = desk.above_zero(question.temperature, "K", "temperature")
    if temperature is None:
        temperature = 298.15
        desk.say("temperature of the sample", "25 degC", "--temperature")
    reading = desk.above_zero(question.reading, "S/m", "reading")
    if reading is None:
        raise RangeError("no reading", where="reading", allowed='as in --reading "52 mS/cm"')
    factor = _factor(question, temperature, desk)
    brine = properties.strength_from_conductivity(
        question.salt, reading, temperature, factor=factor
    )
    sheet = _sheet(brine, None)
    warnings = ["switch the meter's own temperature compensation off, or it is counted twice"]
    if reference.resolve(question.salt) in LYES:
        warnings.append("strong lye reads like weak lye: the weaker one is told")
    return ProcessAnswer(
        headline=f"{brine.salt} {100 * brine.mass_fraction:.2f} % by its conductivity, {brine.molality:.3g} mol/kg, {brine.grams_per_100_ml_water:.3g} g in 100 mL of water",
        process="strength",
        about=(question.salt,),
        electrolyte=sheet,
        warnings=(*warnings, *desk.warnings),
        assumed=tuple(desk.assumed),
        sources=_sources(brine, desk),
        understood=tuple(desk.understood),
    )


def _factor(question: StrengthQuestion, temperature: float, desk: Desk) -> float:
    """What the readings are multiplied by; 1 and said so where the probe was not calibrated."""
    shown = desk.above_zero(question.calibration, "S/m", "calibration reading")
    if shown is None:
        desk.say(
            "calibration of the probe", "none: its readings are taken as they are", "--calibration"
        )
        return 1.0
    at = desk.above_zero(question.calibration_temperature, "K", "calibration temperature")
    molality = desk.above_zero(
        question.calibration_molality, "mol/kg", "calibration molality", ("mol/kg",)
    )
    return properties.calibration_factor(shown, molality or 0.1, at or temperature)
