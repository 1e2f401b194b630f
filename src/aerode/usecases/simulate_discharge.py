"""A cell over hours and days from a table of numbers: what is used up, what is made, what ends it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any, cast

from aerode.errors import FieldFault
from aerode.measure.porous.assumed import (
    atomic_masses,
    ions_said,
    usual_ions,
    usual_volumes,
    volumes_said,
)
from aerode.measure.porous.cell_figures import discharge_figures
from aerode.physics.cathode.keyed import Key, take_keys, word_for
from aerode.physics.discharge import (
    Carbonation,
    ConstantCurrent,
    Contents,
    Discharge,
    DischargeParameters,
    Electrolyte,
    EndConditions,
    Evaporation,
    Heat,
    IonConductivities,
    LoadProfile,
    LoadStep,
    MolarVolumes,
    Precipitation,
    Resistor,
    Wetting,
    discharge,
)
from aerode.properties import lookup, thermoneutral
from aerode.records.simulations import DischargeSimulation
from aerode.usecases.simulate_cell import CELL_KEYS, CELL_TABLES, cell_of, made, number_key
from aerode.usecases.simulate_input import Table, listed, read_table, refuse, subtable

if TYPE_CHECKING:
    from aerode.physics.discharge import Load

__all__ = ["simulate_discharge"]

_MOST_TIMES = 1000
_TIMES = 49
"""Times looked at where only the duration was said."""


def _keys(**fields: tuple[str, str, bool]) -> dict[str, Key]:
    """Keys from field=(end of the key, unit, needed); all of them zero or more."""
    return {
        f"{field}{end}": number_key(field, unit, 0.0, needed=needed)
        for field, (end, unit, needed) in fields.items()
    }


_OWN = {
    "cathode_area_m2": number_key(
        "cathode_area", "m²", 0.0, needed=True, zero=False, greatest=100.0
    ),
    "electrons": number_key("electrons", "", 2.0, needed=True, greatest=4.0),
    "room_temperature_K": number_key("room_temperature", "K", 200.0, greatest=400.0),
    "start_temperature_K": number_key("start_temperature", "K", 200.0, greatest=400.0),
    "peroxide_decay_1_s": number_key("peroxide_decay", "1/s", 0.0),
    "oxygen_corrosion_share": number_key("oxygen_corrosion_share", "", 0.0, greatest=1.0),
    "refill_mol_s": number_key("refill", "mol/s", 0.0),
    "voltage_per_hydroxide_V": number_key("voltage_per_hydroxide", "V per e-fold"),
}
_TIME = number_key("time", "s", 0.0)
_OTHERS = ("electrolyte", "times_s", "duration_s", "contents", "load", "repeated", "ends", "volumes",
           "ions", "heat", "precipitation", "carbonation", "evaporation", "wetting")  # fmt: skip
_CONTENTS = _keys(
    aluminium=("_mol", "mol", True),
    water=("_mol", "mol", True),
    hydroxide=("_mol", "mol", False),
    chloride=("_mol", "mol", False),
    aluminate=("_mol", "mol", False),
    carbonate=("_mol", "mol", False),
)
_ENDS = _keys(
    least_water_share=("", "", True),
    greatest_solids_share=("", "", True),
    least_hydroxide_share=("", "", False),
    greatest_carbonate=("_mol_m3", "mol/m³", False),
    greatest_temperature=("_K", "K", False),
) | {"cutoff_voltage_V": number_key("cutoff_voltage", "V", -5.0, needed=True, greatest=5.0)}
_VOLUMES = _keys(
    water=("_m3_mol", "m³/mol", True),
    hydroxide=("_m3_mol", "m³/mol", True),
    chloride=("_m3_mol", "m³/mol", True),
    aluminate=("_m3_mol", "m³/mol", True),
    carbonate=("_m3_mol", "m³/mol", True),
    solid=("_m3_mol", "m³/mol", True),
    gel_over_solid=("", "", True),
)
_IONS = _keys(
    cation=("_S_m2_mol", "S m²/mol", True),
    hydroxide=("_S_m2_mol", "S m²/mol", True),
    chloride=("_S_m2_mol", "S m²/mol", True),
    aluminate=("_S_m2_mol", "S m²/mol", True),
    carbonate=("_S_m2_mol", "S m²/mol", True),
    peroxide=("_S_m2_mol", "S m²/mol", True),
    temperature_coefficient=("_1_K", "1/K", False),
)
_HEAT = _keys(
    thermoneutral=("_V", "V", True),
    corrosion_thermoneutral=("_V", "V", True),
    precipitation=("_J_mol", "J/mol", False),
    capacity=("_J_K", "J/K", False),
    loss=("_W_K", "W/K", False),
)
_PRECIPITATION = _keys(
    enthalpy=("_J_mol", "J/mol", True),
    reference_temperature=("_K", "K", True),
    activity_ratio=("", "", True),
    onset_ratio=("", "", True),
    growth_constant=("_m4_mol_s", "m⁴/(mol s)", True),
    growth_temperature=("_K", "K", True),
    seed_area=("_m2", "m²", True),
    area_per_solid=("_m2_mol", "m²/mol", False),
) | {"log_constant": number_key("log_constant", "", needed=True),
     "enthalpy_J_mol": number_key("enthalpy", "J/mol", needed=True)}  # fmt: skip
_CARBONATION = _keys(
    carbon_dioxide=("_mol_m3", "mol/m³", True),
    gas_transfer=("_m_s", "m/s", True),
    liquid_per_gas=("", "", True),
    rate_constant=("_m3_mol_s", "m³/(mol s)", True),
    diffusivity=("_m2_s", "m²/s", True),
    area=("_m2", "m²", True),
)
_EVAPORATION = _keys(
    transfer=("_m_s", "m/s", True),
    room_vapour=("_mol_m3", "mol/m³", True),
    area=("_m2", "m²", True),
    water_activity=("", "", True),
    enthalpy=("_J_mol", "J/mol", True),
)
_WETTING = _keys(start=("", "", True), end=("", "", True), time_constant=("_s", "s", True))
_LOAD = {
    "duration_s": number_key("duration", "s", 0.0, zero=False),
    "current_A": number_key("current", "A", 0.0),
    "resistance_ohm": number_key("resistance", "ohm", 0.0, zero=False),
}


def simulate_discharge(source: str | Table, *, name: str = "input") -> DischargeSimulation:
    """The answer on a discharge from a table of numbers.

    Parameters
    ----------
    source : str or mapping
        TOML text or the table: the keys and tables of a cell (see `simulate_cell`), and
        `cathode_area_m2`, `electrolyte` ("lye" or "brine"), `electrons` (2 to 4: run both ends),
        `duration_s` or a list `times_s`, [contents], [load] (or several [[load]], each with
        `duration_s`), [ends], and where wanted [volumes], [ions], [heat], [precipitation],
        [carbonation], [evaporation], [wetting].
    name : str
        What to call the table in a refusal.

    Returns
    -------
    DischargeSimulation

    Raises
    ------
    InputError
        The text is no table.
    RecordError
        With every key that is missing, unknown or out of range.
    CannotTellError
        The integration does not go through.
    """
    table = read_table(source, name=name)
    faults: list[FieldFault] = []
    cell = cell_of(table, faults, others=(*_OWN, *_OTHERS))
    known = (*CELL_KEYS, *CELL_TABLES, *_OTHERS)
    own, wrong = take_keys(table, _OWN, others=known)
    faults.extend(fault for fault in wrong if not fault.what.startswith("no such key"))
    electrolyte, wrong = word_for(Electrolyte, "electrolyte", table.get("electrolyte", "missing"))
    faults.extend(wrong)
    times = _times(table, faults)
    contents = _part(Contents, _CONTENTS, table, "contents", faults, needed=True)
    ends = _part(EndConditions, _ENDS, table, "ends", faults, needed=True)
    load = _load(table, faults)
    slow, said = _slow(table, faults, cast("Electrolyte", electrolyte or Electrolyte.LYE))
    refuse(faults, name)
    rest: dict[str, Any] = {**slow, **own, "cell": cell, "electrolyte": electrolyte}
    rest.setdefault("room_temperature", 298.15)  # by definition: 25 °C
    rest.setdefault("start_temperature", rest["room_temperature"])
    parameters = made(
        lambda: DischargeParameters(
            contents=contents, masses=atomic_masses(), **rest
        ),
        "discharge", faults,
    )  # fmt: skip
    refuse(faults, name)
    assert parameters is not None  # refused above otherwise
    run = discharge(parameters, cast("Load", load), times=times, ends=ends)
    return _answer(run, parameters, ends, said)


def _part(
    kind: Any, keys: Mapping[str, Key], table: Table, key: str, faults: list[FieldFault],
    *, needed: bool = False,
) -> Any:  # fmt: skip
    """One part of the parameters from its table, or None."""
    if not needed and key not in table:
        return None
    there = subtable(table, key, faults)
    if not there:
        return None
    numbers, wrong = take_keys(there, keys, where=f"{key}.")
    faults.extend(wrong)
    return None if wrong else made(lambda: kind(**numbers), key, faults)


def _times(table: Table, faults: list[FieldFault]) -> list[float]:
    if ("times_s" in table) == ("duration_s" in table):
        both = "times_s" in table
        faults.append(
            FieldFault("duration_s", "given together with times_s" if both else "missing",
                       "exactly one of duration_s and times_s, in s")
        )  # fmt: skip
        return []
    if "times_s" in table:
        times = list(listed(table, "times_s", _TIME, faults))
        if any(b <= a for a, b in pairwise(times)) or len(times) > _MOST_TIMES:
            faults.append(
                FieldFault("times_s", "not rising, or too many", f"rising, at most {_MOST_TIMES}")
            )
        return times
    end = listed(table, "duration_s", number_key("duration", "s", 0.0, zero=False), faults)
    return [end[0] * k / (_TIMES - 1) for k in range(_TIMES)] if end else []


def _load(table: Table, faults: list[FieldFault]) -> Load | None:
    given = table.get("load")
    if isinstance(given, Sequence) and not isinstance(given, str):
        steps: list[LoadStep] = []
        for place, one in enumerate(cast("Sequence[object]", given)):
            if not isinstance(one, Mapping):
                faults.append(FieldFault(f"load.{place}", "not a table", "[[load]]", repr(one)))
                continue
            found = _one_load(cast("Table", one), f"load.{place}.", faults)
            if found is not None and found[1] is None:
                faults.append(FieldFault(f"load.{place}.duration_s", "missing", "more than 0 s"))
            elif found is not None and found[1] is not None:
                steps.append(LoadStep(duration=found[1], load=found[0]))
        repeated = table.get("repeated", False)
        if not isinstance(repeated, bool):
            faults.append(FieldFault("repeated", "not yes or no", "true or false", repr(repeated)))
        if not steps:
            return None
        return LoadProfile(steps=tuple(steps), repeated=repeated is True)
    found = _one_load(subtable(table, "load", faults), "load.", faults)
    return None if found is None else found[0]


def _one_load(
    table: Table, where: str, faults: list[FieldFault]
) -> tuple[ConstantCurrent | Resistor, float | None] | None:
    if not table:
        return None
    numbers, wrong = take_keys(table, _LOAD, where=where)
    faults.extend(wrong)
    if wrong:
        return None
    if ("current" in numbers) == ("resistance" in numbers):
        faults.append(
            FieldFault(f"{where}current_A", "one load is wanted", "current_A or resistance_ohm")
        )
        return None
    load = (
        ConstantCurrent(current=numbers["current"])
        if "current" in numbers
        else Resistor(resistance=numbers["resistance"])
    )
    return load, numbers.get("duration")


def _slow(
    table: Table, faults: list[FieldFault], electrolyte: Electrolyte
) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Volumes, ions, heat and the slow processes, and what had to be assumed."""
    said: list[str] = []
    volumes = _part(MolarVolumes, _VOLUMES, table, "volumes", faults)
    if "volumes" not in table:
        volumes = usual_volumes()
        said.append(volumes_said)
    ions = _part(IonConductivities, _IONS, table, "ions", faults)
    if "ions" not in table:
        ions = usual_ions(electrolyte)
        said.append(ions_said)
    heat = _part(Heat, _HEAT, table, "heat", faults)
    if "heat" not in table:
        product = "aluminate" if electrolyte is Electrolyte.LYE else "gibbsite"
        heat = Heat(
            thermoneutral=thermoneutral(product).value,
            corrosion_thermoneutral=_corrosion_heat(),
        )
        said.append(
            "held at the room's temperature: enter [heat] with a capacity to let it warm up"
        )
    parts = {
        "volumes": volumes,
        "ions": ions,
        "heat": heat,
        "precipitation": _part(Precipitation, _PRECIPITATION, table, "precipitation", faults),
        "carbonation": _part(Carbonation, _CARBONATION, table, "carbonation", faults),
        "evaporation": _part(_drying, _EVAPORATION, table, "evaporation", faults),
        "wetting": _part(Wetting, _WETTING, table, "wetting", faults),
    }
    left_out = [key for key in ("precipitation", "carbonation", "evaporation", "wetting") if key not in table]  # fmt: skip
    if electrolyte is Electrolyte.BRINE:
        left_out = [key for key in left_out if key in ("evaporation", "wetting")]
    if left_out:
        said.append(f"left out, since no table says otherwise: {', '.join(left_out)}")
    return parts, tuple(said)


def _corrosion_heat() -> float:
    """Heat of corrosion by water over the charge of the metal [V]."""
    per_mole = lookup("aluminium", "enthalpy_of_reaction").value
    return -per_mole / (3.0 * 96485.33212)  # codata_2018


def _drying(*, water_activity: float, **numbers: float) -> Evaporation:
    from aerode.properties.pure import water_saturation

    return Evaporation(
        saturation_pressure=lambda kelvin: water_saturation(kelvin).value,
        molality=(0.0,),
        activity=(water_activity,),
        **numbers,
    )


def _answer(
    run: Discharge, p: DischargeParameters, ends: EndConditions, said: tuple[str, ...]
) -> DischargeSimulation:
    def of(name: str) -> tuple[float, ...]:
        return tuple(float(v) for v in getattr(run, name))

    hours = float(run.time[-1]) / 3600.0
    shares = {
        "aluminium left": [v / p.contents.aluminium for v in of("aluminium")],
        "water left": [v / p.contents.water for v in of("water")],
        "gel in the volume": list(of("solids_share")),
    }
    if p.contents.hydroxide > 0.0:
        shares["hydroxide left"] = [v / p.contents.hydroxide for v in of("hydroxide")]
    amounts = ("aluminium", "water", "hydroxide", "aluminate", "carbonate", "peroxide", "solid",
               "oxygen_taken", "hydrogen_made", "water_evaporated")  # fmt: skip
    made_or_left: dict[str, Any] = {f"{name}_mol": of(name) for name in amounts}
    return DischargeSimulation(
        headline=f"Predicted: {float(run.charge[-1]) / 3600.0:.3g} Ah in {hours:.3g} h, then {run.end}",
        end=str(run.end),
        time_s=of("time"),
        current_A=of("current"),
        voltage_V=of("voltage"),
        corrosion_A=of("corrosion"),
        temperature_K=of("temperature"),
        conductivity_S_m=of("conductivity"),
        volume_m3=of("volume"),
        solids_share=of("solids_share"),
        charge_C=of("charge"),
        energy_J=of("energy"),
        heat_J=of("heat"),
        mass_change_kg=of("mass_change"),
        faradaic_efficiency=float(run.faradaic_efficiency),
        aluminium_used=float(run.aluminium_used),
        worst_balance=run.balances.worst if math.isfinite(run.balances.worst) else 0.0,
        figures=discharge_figures(
            of("time"), of("voltage"), cast("Any", shares), ends.cutoff_voltage
        ),
        warnings=(
            "the cell makes hydrogen whenever it is wet: vent it, keep it from flames, never seal it",
            "one set of numbers is one assumption: run both ends of electrons and corrosion",
        ),
        assumptions=said,
        **made_or_left,
    )
