"""A whole cell from a table of numbers: voltage, its parts, power."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

from aerode.errors import AerodeError, CannotTellError, FieldFault, InputError
from aerode.measure.porous.cell_figures import cell_figure
from aerode.physics.anode import (
    AnodeParameters,
    CorrosionWithCurrent,
    CorrosionWithPotential,
    corrosion_current,
)
from aerode.physics.cathode.keyed import CATHODE_KEYS, Key, take_keys
from aerode.physics.cell import (
    CellParameters,
    current_at_load,
    current_at_voltage,
    greatest_power,
    voltage_parts,
)
from aerode.physics.cell_cathode import lumped_cathode, solved_cathode, tabulated_cathode
from aerode.records.simulations import CellSimulation
from aerode.usecases.simulate_cathode import cathode_of
from aerode.usecases.simulate_input import Table, listed, read_table, refuse, subtable

if TYPE_CHECKING:
    from aerode.physics.cell_cathode import CathodeCurve

T = TypeVar("T")

__all__ = ["CELL_KEYS", "CELL_TABLES", "cell_of", "made", "number_key", "simulate_cell"]


def number_key(field: str, unit: str = "", least: float = -math.inf, *, needed: bool = False,
               zero: bool = True, greatest: float = math.inf) -> Key:  # fmt: skip
    """A key of a table: its field, unit and range; `zero` says whether its least value is allowed."""
    return Key(field=field, unit=unit, least=least, least_allowed=zero, greatest=greatest,
               required=needed)  # fmt: skip


CELL_KEYS = {
    "gap_m": number_key("gap", "m", 0.0, needed=True, greatest=1.0),
    "conductivity_S_m": number_key("conductivity", "S/m", 0.0, needed=True, zero=False),
    "contact_resistance_ohm_m2": number_key("contact_resistance", "ohm m²", 0.0),
    "product_resistance_ohm_m2": number_key("product_resistance", "ohm m²", 0.0),
    "bubble_share": number_key("bubble_share", "", 0.0, greatest=0.999),
    "solids_share": number_key("solids_share", "", 0.0, greatest=0.999),
    "anode_per_cathode_area": number_key("anode_per_cathode_area", "", 0.0, zero=False),
}
CELL_TABLES = ("cathode", "anode")
_ANODE_KEYS = {
    "rest_potential_V": number_key("rest_potential", "V", needed=True),
    "resistance_ohm_m2": number_key("resistance", "ohm m²", 0.0, needed=True),
    "corrosion_at_rest_A_m2": number_key("corrosion_at_rest", "A/m²", 0.0, needed=True),
    "corrosion_per_current": number_key("change_per_current", "", -1.0, zero=False, greatest=10.0),
    "hydrogen_slope_V": number_key("hydrogen_slope", "V", 0.0, zero=False),
    "tafel_slope_V_per_e": number_key("tafel_slope", "V per e-fold", 0.0, zero=False),
    "exchange_current_A_m2": number_key("exchange_current", "A/m²", 0.0, zero=False),
    "hydroxide_order": number_key("hydroxide_order", "", 0.0),
    "reference_hydroxide_mol_m3": number_key("reference_hydroxide", "mol/m³", 0.0, zero=False),
    "activation_energy_J_mol": number_key("activation_energy", "J/mol", 0.0),
    "reference_temperature_K": number_key("reference_temperature", "K", 0.0, zero=False),
}
_LUMPED_KEYS = {
    "open_circuit_V": number_key("open_circuit", "V", needed=True),
    "tafel_slope_V_per_e": number_key("tafel_slope", "V per e-fold", 0.0, needed=True, zero=False),
    "mixed_current_A_m2": number_key("mixed_current", "A/m²", 0.0, needed=True, zero=False),
    "resistance_ohm_m2": number_key("resistance", "ohm m²", 0.0, needed=True),
    "limit_A_m2": number_key("limit", "A/m²", 0.0, zero=False),
}
_POROUS_KEYS = {
    "equilibrium_V": number_key("equilibrium", "V", needed=True),
    "open_circuit_V": number_key("open_circuit", "V", needed=True),
    "greatest_A_m2": number_key("greatest", "A/m²", 0.0, needed=True, zero=False),
}
_ASKED = {
    "current_density_A_m2": number_key("current", "A/m²", 0.0),
    "voltage_V": number_key("voltage", "V", -10.0, greatest=10.0),
    "load_ohm_m2": number_key("load", "ohm m²", 0.0),
}
_ANY = number_key("value")


def simulate_cell(source: str | Table, *, name: str = "input") -> CellSimulation:
    """The answer on one cell from a table of numbers.

    Parameters
    ----------
    source : str or mapping
        TOML text or the table: keys of the cell, a table [anode], a table [cathode] (few numbers,
        a porous cathode, or a list of readings), and a list `current_density_A_m2`, `voltage_V` or
        `load_ohm_m2`. Potentials of both electrodes against one reference.
    name : str
        What to call the table in a refusal.

    Returns
    -------
    CellSimulation

    Raises
    ------
    InputError
        The text is no table, or numbers that do not go together.
    RecordError
        With every key that is missing, unknown or out of range.

    Examples
    --------
    >>> answer = simulate_cell('''
    ... gap_m = 3e-3
    ... conductivity_S_m = 57.0
    ... current_density_A_m2 = [0, 100, 300]
    ... [cathode]
    ... open_circuit_V = 0.05
    ... tafel_slope_V_per_e = 0.04
    ... mixed_current_A_m2 = 0.5
    ... resistance_ohm_m2 = 3e-4
    ... [anode]
    ... rest_potential_V = -1.45
    ... resistance_ohm_m2 = 1e-4
    ... corrosion_at_rest_A_m2 = 50.0
    ... corrosion_per_current = 0.0
    ... ''')
    >>> answer.voltage_V[0]
    1.5
    """
    table = read_table(source, name=name)
    faults: list[FieldFault] = []
    there = [key for key in _ASKED if key in table]
    if len(there) != 1:
        faults.append(
            FieldFault("current_density_A_m2", "missing" if not there else f"not together with {', '.join(there[1:])}",
                       f"exactly one of the lists {', '.join(_ASKED)}")
        )  # fmt: skip
    wanted = listed(table, there[0], _ASKED[there[0]], faults) if there else ()
    cell = cell_of(table, faults, others=tuple(_ASKED))
    refuse(faults, name)
    assert cell is not None  # refused above otherwise
    return _answer(cell, there[0], wanted)


def cell_of(
    table: Table, faults: list[FieldFault], *, others: tuple[str, ...] = ()
) -> CellParameters | None:
    """The cell of a table, its faults added to a list.

    Parameters
    ----------
    table : mapping
    faults : list of FieldFault
    others : tuple of str
        Keys of the table that are read elsewhere.

    Returns
    -------
    CellParameters or None
        None where there was a fault.
    """
    before = len(faults)
    numbers, wrong = take_keys(table, CELL_KEYS, others=(*CELL_TABLES, *others))
    faults.extend(wrong)
    cathode = _curve(subtable(table, "cathode", faults), faults)
    anode = _anode(subtable(table, "anode", faults), faults)
    if cathode is None or anode is None or len(faults) > before:
        return None
    return CellParameters(cathode=cathode, anode=anode, **numbers)


def _anode(table: Table, faults: list[FieldFault]) -> AnodeParameters | None:
    if not table:
        return None
    numbers, wrong = take_keys(table, _ANODE_KEYS, where="anode.")
    laws = [key for key in ("corrosion_per_current", "hydrogen_slope_V") if key in table]
    if len(laws) != 1:
        wrong.append(
            FieldFault("anode.corrosion_per_current", "missing" if not laws else "given twice",
                       "exactly one of corrosion_per_current (below 0 where load protects) and "
                       "hydrogen_slope_V; the sign is not assumed")
        )  # fmt: skip
    faults.extend(wrong)
    if wrong:
        return None
    change, slope = numbers.pop("change_per_current", None), numbers.pop("hydrogen_slope", None)
    under_load = (
        CorrosionWithCurrent(change_per_current=change)
        if change is not None
        else CorrosionWithPotential(hydrogen_slope=slope or 1.0)
    )
    return made(
        lambda: AnodeParameters(under_load=under_load, **numbers),  # pyright: ignore[reportArgumentType]
        "anode",
        faults,
    )


def made(make: Callable[[], T], where: str, faults: list[FieldFault]) -> T | None:
    """What a constructor makes, or None with its refusal as one more fault."""
    try:
        return make()
    except AerodeError as refusal:
        at = f"{where}: {refusal.where}" if refusal.where else where
        faults.append(FieldFault(at, refusal.what, refusal.allowed))
        return None


def _curve(table: Table, faults: list[FieldFault]) -> CathodeCurve | None:
    if not table:
        return None
    if "potential_V" in table:
        return _tabulated(table, faults)
    if any(key in CATHODE_KEYS and key != "tafel_slope_V_per_e" for key in table):
        return _porous(table, faults)
    numbers, wrong = take_keys(table, _LUMPED_KEYS, where="cathode.")
    faults.extend(wrong)
    return None if wrong else lumped_cathode(**numbers)


def _tabulated(table: Table, faults: list[FieldFault]) -> CathodeCurve | None:
    before = len(faults)
    known = ("current_density_A_m2", "potential_V")
    current, potential = (listed(table, key, _ANY, faults) for key in known)
    faults.extend(take_keys(table, {}, others=known, where="cathode.")[1])
    if len(faults) > before:
        return None
    return made(lambda: tabulated_cathode(current, potential), "cathode", faults)


def _porous(table: Table, faults: list[FieldFault]) -> CathodeCurve | None:
    own = {key: table[key] for key in table if key in _POROUS_KEYS}
    numbers, wrong = take_keys(own, _POROUS_KEYS, where="cathode.")
    faults.extend(wrong)
    rest = {key: value for key, value in table.items() if key not in _POROUS_KEYS}
    cathode = cathode_of(rest, where="cathode.", faults=faults)
    if cathode is None or wrong:
        return None
    return made(lambda: solved_cathode(cathode, **numbers), "cathode", faults)  # pyright: ignore[reportArgumentType]


def _answer(cell: CellParameters, asked: str, wanted: tuple[float, ...]) -> CellSimulation:
    currents: list[float | None] = []
    reasons: list[str | None] = []
    for value in wanted:
        current, reason = _current(cell, asked, value)
        currents.append(current)
        reasons.append(reason)
    parts = [
        None if r is not None or i is None else voltage_parts(cell, i)
        for i, r in zip(currents, reasons, strict=True)
    ]

    def of(name: str) -> tuple[float | None, ...]:
        return tuple(None if p is None else float(getattr(p, name)) for p in parts)

    voltage = of("voltage")
    power = tuple(
        None if v is None or i is None else v * i for v, i in zip(voltage, currents, strict=True)
    )
    corrosion = tuple(
        None if p is None or i is None
        else float(corrosion_current(_at_reference(cell.anode), i / cell.anode_per_cathode_area))
        for p, i in zip(parts, currents, strict=True)
    )  # fmt: skip
    best, warnings = _best(cell)
    return CellSimulation(
        headline=_headline(best),
        current_density_A_m2=tuple(currents),
        voltage_V=voltage,
        power_density_W_m2=power,
        cathode_potential_V=of("cathode"),
        anode_potential_V=of("anode"),
        gap_V=of("gap"),
        contacts_V=of("contacts"),
        product_V=of("product"),
        corrosion_A_m2=corrosion,
        reasons=tuple(reasons),
        greatest_power_W_m2=None if best is None else best[0],
        greatest_power_at_A_m2=None if best is None else best[1],
        greatest_power_at_V=None if best is None else best[2],
        figures=(cell_figure(currents, voltage, power),),
        warnings=(*warnings, *_missing(reasons)),
        assumptions=("one-dimensional and steady: no edges, no current that spreads, no ageing",),
    )


def _at_reference(anode: AnodeParameters) -> AnodeParameters:
    """The anode in the state its corrosion was entered for."""
    return replace(anode, hydroxide_order=0.0, activation_energy=0.0)


def _current(cell: CellParameters, asked: str, value: float) -> tuple[float | None, str | None]:
    try:
        if asked == "voltage_V":
            return current_at_voltage(cell, value), None
        if asked == "load_ohm_m2":
            return current_at_load(cell, value), None
        if value >= cell.cathode.limit:
            return (
                value,
                "beyond the limiting current of this electrode: no steady state exists there",
            )
    except CannotTellError as refusal:
        return None, refusal.what
    return value, None


def _best(cell: CellParameters) -> tuple[tuple[float, float, float] | None, tuple[str, ...]]:
    try:
        point = greatest_power(cell)
    except (CannotTellError, InputError) as refusal:
        return None, (f"greatest power: {refusal.what}",)
    said = ("the cathode's curve ends before the power falls: the greatest power is a lower bound",)
    found = (point.power_density, point.current_density, point.voltage)
    return found, said if point.at_the_end else ()


def _headline(best: tuple[float, float, float] | None) -> str:
    if best is None:
        return "Predicted: this cell gives no power"
    power, current, voltage = best
    return (
        f"Predicted: at most {0.1 * power:.3g} mW/cm², at {0.1 * current:.3g} mA/cm² and "
        f"{voltage:.3f} V"
    )


def _missing(reasons: list[str | None]) -> tuple[str, ...]:
    count = sum(reason is not None for reason in reasons)
    if not count:
        return ()
    first = next(reason for reason in reasons if reason)
    return (f"{count} of {len(reasons)} points: {first}",)
