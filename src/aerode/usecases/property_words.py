"""Quantities that are worked out for a state and not looked up: the words `property` takes beyond the tables."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from aerode import properties, reference
from aerode.errors import RangeError, ReferenceDataError
from aerode.physics import wetting
from aerode.physics.water import ZERO_CELSIUS
from aerode.properties.answers import PropertyAnswer, range_warnings
from aerode.properties.solution_water import water_vapour_pressure
from aerode.quantities import Basis, Quantity, Reason
from aerode.reference.process_figures import process_figure, process_rows, process_words

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from aerode.properties import Solution
    from aerode.reference import PublishedRow

__all__ = [
    "WORKED_OUT",
    "Asked",
    "cut",
    "known_words",
    "of_process_figure",
    "solution_asked",
    "surface_tension",
    "word_of",
    "worked_out",
]

_LYES = ("potassium hydroxide", "sodium hydroxide")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked, in SI: the substance, its state, and what stands beside it."""

    of: str
    temperature: float | None = None
    pressure: float | None = None
    strength: Mapping[str, float]
    product: str = ""
    solvents: Mapping[str, float]
    """Volume shares of the liquids of a solvent."""


def _warm(asked: Asked) -> float:
    if asked.temperature is None:
        raise RangeError(
            "this needs a temperature", where="temperature", allowed='as in --temperature "25 degC"'
        )
    return asked.temperature


def solution_asked(asked: Asked) -> Solution:
    """The salt solution that is asked about; pure water for no strength of a salt is refused.

    Parameters
    ----------
    asked : Asked
        Substance, temperature and one strength.

    Returns
    -------
    Solution

    Raises
    ------
    RangeError
        No temperature, or not exactly one strength.
    """
    return properties.solution(asked.of, _warm(asked), **dict(asked.strength))


def _oxygen(asked: Asked) -> PropertyAnswer:
    brine = solution_asked(asked)
    if asked.pressure is None:
        return properties.oxygen_solubility(brine)
    return properties.oxygen_solubility(brine, pressure=asked.pressure)


def _oxygen_pressure(asked: Asked) -> PropertyAnswer:
    said = {} if asked.pressure is None else {"pressure": asked.pressure}
    if asked.strength:
        brine = solution_asked(asked)
        found = properties.air_oxygen_pressure(
            brine.temperature, water_pressure=water_vapour_pressure(brine).value, **said
        )
    else:
        found = properties.air_oxygen_pressure(_warm(asked), **said)
    share = reference.published("oxygen", "oxygen_fraction_of_air")
    spread = found.value * (share.standard_uncertainty() or 0.0) / (share.value or 1.0)
    return replace(found, quantity=replace(found.quantity, standard_uncertainty=spread))


def _emf(asked: Asked) -> PropertyAnswer:
    brine = solution_asked(asked)
    usual = "aluminate" if brine.salt in _LYES else "amorphous"
    said = {} if asked.pressure is None else {"pressure": asked.pressure}
    return properties.cell_emf(brine, asked.product or usual, **said)


def _capacity(asked: Asked) -> PropertyAnswer:
    if reference.resolve(asked.of) != "aluminium":
        raise ReferenceDataError(
            f"no theoretical capacity of {asked.of}",
            allowed="aluminium",
            next_step="ask for aluminium",
        )
    return properties.theoretical_capacity()


def _couple(asked: Asked) -> PropertyAnswer:
    return properties.couple_potential(asked.of, asked.temperature or 298.15)


def _calibration(asked: Asked) -> PropertyAnswer:
    molality = asked.strength.get("molality")
    if molality is None:
        raise RangeError(
            "a calibration solution is known by its molality", where="molality",
            allowed="0.01, 0.1 or 1 mol/kg", next_step="add --molality 0.1",
        )  # fmt: skip
    return properties.calibration_conductivity(molality, _warm(asked))


def _rows_answer(
    value: float, unit: str, rows: list[PublishedRow], state: dict[str, float], *extra: str
) -> PropertyAnswer:
    """An answer from rows of the process table, whose units are SI already."""
    weakest = max(rows, key=lambda row: row.preference)
    spread = rows[0].standard_uncertainty(value)
    spans = tuple(span for row in rows for span in row.valid_range)
    mark = ("from memory or common practice, not found in a published source",)
    seen = ("read on a secondary page only",)
    status = weakest.status
    said = {2: mark, 1: seen, 0: ()}[weakest.preference]
    return PropertyAnswer(
        quantity=Quantity(
            value=value, unit=unit, standard_uncertainty=spread, basis=Basis.PUBLISHED,
            source=rows[0].source,
        ),
        valid_range=spans,
        status=status,
        warnings=(*range_warnings(spans, state), *extra, *said),
        place=rows[0].place,
        condition=rows[0].condition,
        note=rows[0].note,
    )  # fmt: skip


def surface_tension(of: str, temperature: float, mass_fraction: float = 0.0) -> PropertyAnswer:
    """The surface tension of water, sea water or a salt solution, or of a solvent on file.

    Parameters
    ----------
    of : str
        Name, alias or CAS number.
    temperature : float [K]
        Temperature.
    mass_fraction : float [1]
        Salt over solution.

    Returns
    -------
    PropertyAnswer [N/m]
        Salt solutions by the equation of sea water at the same salinity, with a warning for those
        it was not made for.

    Raises
    ------
    ReferenceDataError
        No figure on file.

    Examples
    --------
    >>> round(surface_tension("water", 298.15).value * 1e3, 2)
    71.97
    """
    name = reference.resolve(of)
    salted = name in properties.SALTS
    if not salted and name != "water":
        row = process_figure(name, "surface_tension")
        known = row.centre
        if known is None:
            raise ReferenceDataError(f"no surface tension of {of} on file", allowed="water, a salt")
        return _rows_answer(known, "N/m", [row], {"temperature": temperature})
    row = process_figure("water", "surface_tension")
    c = row.coefficient
    plain = wetting.water_surface_tension(
        temperature, c["scale"], c["slope"], c["power"], c["critical"]
    )
    state = {"temperature": temperature, "salinity": 1e3 * mass_fraction}
    if not salted or mass_fraction == 0.0:
        return _rows_answer(float(plain), "N/m", [row], state)
    salt = process_figure("sea water", "surface_tension_of_salt")
    value = wetting.salted_surface_tension(
        float(plain), 1e3 * mass_fraction, temperature - ZERO_CELSIUS,
        salt.coefficient["constant"], salt.coefficient["warm"],
    )  # fmt: skip
    stand_in = () if name in ("sea water", "sodium chloride") else (
        f"{name} taken as sea salt of the same mass fraction",
    )  # fmt: skip
    return _rows_answer(value, "N/m", [salt, row], state, *stand_in)


def _tension(asked: Asked) -> PropertyAnswer:
    share = solution_asked(asked).mass_fraction if asked.strength else 0.0
    return surface_tension(asked.of, _warm(asked), share)


def _distance(asked: Asked) -> PropertyAnswer:
    """The relative energy difference of a polymer and one solvent or a blend: a hint."""
    if not asked.solvents:
        raise RangeError(
            "which solvent?",
            where="in",
            allowed='one or more, as in --in ethanol or --in "toluene=0.6"',
        )
    blend = properties.solubility_hint(asked.solvents, asked.of)
    alone = (
        tuple(properties.solubility_hint(liquid, asked.of) for liquid in asked.solvents)
        if len(asked.solvents) > 1
        else ()
    )
    found = blend.relative_energy_differences
    # the sources stand in the order liquids, spheres of the polymer, remark
    spheres = [
        r for r in reference.select(asked.of, "hansen_parameters") if "radius" in r.coefficient
    ]
    quantity = Quantity(
        value=found[0] if found else None,
        unit="",
        interval_95=(min(found), max(found)) if len(found) > 1 else None,
        basis=Basis.PUBLISHED,
        source=spheres[0].source if spheres else blend.sources[0],
        reason=None if found else str(Reason.NO_SOURCE),
    )
    return PropertyAnswer(
        quantity=quantity,
        valid_range=(),
        status=blend.status,
        warnings=(
            f"{blend.solvent}{' alone' if not alone else ''}: {blend.hint.value}",
            *(f"{h.solvent} alone: {h.hint.value}" for h in alone),
            *blend.warnings,
        ),
        condition="relative energy difference; below 1 lies inside the sphere of what dissolves",
        note="; ".join(f"{x:.2f} by {r.condition} ({r.source})" for x, r in zip(found, spheres, strict=True)),
    )  # fmt: skip


def of_process_figure(asked: Asked, quantity: str) -> PropertyAnswer:
    """A figure of the process table as an answer: its value, or its range with the middle.

    Parameters
    ----------
    asked : Asked
        What it is of.
    quantity : str
        A word of that table.

    Returns
    -------
    PropertyAnswer

    Raises
    ------
    ReferenceDataError
        Nothing on file.
    """
    row = process_figure(asked.of, quantity)
    state = {} if asked.temperature is None else {"temperature": asked.temperature}
    if row.centre is None:
        answer = _rows_answer(0.0, row.unit, [row], state)
        return replace(
            answer,
            quantity=Quantity(
                value=None, unit=row.unit, basis=Basis.PUBLISHED, source=row.source,
                reason=f"the source gives {row.shown}",
            ),
        )  # fmt: skip
    unit = "" if row.unit == "1" else row.unit
    answer = _rows_answer(row.centre, unit, [row], state)
    ends = (row.low, row.high) if row.low is not None and row.high is not None else None
    spread = row.standard_uncertainty()
    return replace(
        answer, quantity=replace(answer.quantity, interval_95=ends, standard_uncertainty=spread)
    )


# Word → (meaning, how it is worked out, what it is of).
WORKED_OUT: dict[str, tuple[str, Callable[[Asked], PropertyAnswer], str]] = {
    "oxygen_solubility": ("dissolved oxygen at equilibrium with air", _oxygen, "a salt with a strength"),
    "oxygen_pressure": ("oxygen partial pressure of moist air", _oxygen_pressure, "air, or a salt"),
    "emf": ("equilibrium voltage of aluminium against air", _emf, "a salt with a strength"),
    "thermoneutral_voltage": (
        "voltage at which the cell gives off no heat",
        lambda asked: properties.thermoneutral(asked.of), "gibbsite or aluminate",
    ),
    "theoretical_capacity": ("charge in a mass, three electrons an atom", _capacity, "aluminium"),
    "couple_potential": ("standard potential from formation properties", _couple, "a couple, as O2/OH-"),
    "calibration_conductivity": ("conductivity of a calibration solution", _calibration, "KCl, by molality"),
    "surface_tension": ("surface tension against air", _tension, "water, a salt, a solvent on file"),
    "solubility": ("whether a solvent dissolves a polymer: a hint", _distance, "a polymer, with --in"),
}  # fmt: skip


def worked_out(asked: Asked, quantity: str) -> PropertyAnswer | None:
    """A quantity by its own working, None where the tables are to be asked.

    Parameters
    ----------
    asked : Asked
        Substance and state.
    quantity : str
        The word.

    Returns
    -------
    PropertyAnswer or None

    Raises
    ------
    RangeError, ReferenceDataError
        What is missing, or not on file.
    """
    if quantity == "oxygen_solubility" and not asked.strength:
        return None
    if quantity in WORKED_OUT:
        return WORKED_OUT[quantity][1](asked)
    known = {row.substance for row in process_rows() if row.quantity == quantity}
    return of_process_figure(asked, quantity) if quantity in process_words() and known else None


def known_words() -> dict[str, str]:
    """Every word that can be asked for, with its meaning: the tables' and those worked out.

    Returns
    -------
    dict

    Examples
    --------
    >>> known_words()["flash_point"]
    'lowest liquid temperature whose vapour a flame can light'
    """
    words = {word: str(entry["means"]) for word, entry in reference.quantity_words().items()}
    words |= process_words()
    words |= {word: means for word, (means, _, _) in WORKED_OUT.items() if word not in words}
    return dict(sorted(words.items()))


def word_of(text: str) -> str:
    """The word of the vocabulary behind what was typed; spaces and hyphens do not matter."""
    word = text.strip().casefold().replace(" ", "_").replace("-", "_")
    known = known_words()
    if word in known:
        return word
    near = (
        difflib.get_close_matches(word, known, n=5, cutoff=0.5)
        or [one for one in known if word and word in one][:5]
    )
    raise ReferenceDataError(
        f"no quantity {text!r}",
        where="QUANTITY",
        allowed=", ".join(near) or "`aerode property` lists them",
        next_step="ask for one of those",
    )


def cut(text: str, most: int = 100) -> str:
    """A line of at most so many characters, the last one an ellipsis where something was cut off.

    >>> cut("abcdef", 4)
    'abc…'
    """
    return text if len(text) <= most else text[: most - 1] + "…"
