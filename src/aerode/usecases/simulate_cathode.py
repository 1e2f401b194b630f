"""A porous cathode from a table of numbers: curve, parts of the loss, profiles, bands."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, cast

from aerode.errors import FieldFault, RecordError
from aerode.measure.porous.bands import Band, Form
from aerode.measure.porous.curves import Asked, simulated_cathode
from aerode.measure.porous.streaming import Columns, Draw, Generator, from_bands, no_steps
from aerode.physics.cathode.keyed import CATHODE_KEYS, Key, from_keys
from aerode.quantities import Basis
from aerode.usecases.simulate_input import Table, listed, read_table, refuse

if TYPE_CHECKING:
    from aerode.physics.cathode import CathodeParameters
    from aerode.records.simulations import CathodeSimulation

__all__ = ["ASKED_KEYS", "DRAWS", "Recipe", "cathode_of", "named_item", "simulate_cathode"]

DRAWS = 2000
"""Curves drawn where bands were entered and nothing else was said."""
_WIDE = 3.0
"""A band whose ends differ by more than this factor is filled evenly in the logarithm."""

ASKED_KEYS = {
    "current_density_A_m2": Key(field="current", unit="A/m²", least=0.0, required=False),
    "overpotential_V": Key(field="overpotential", unit="V", least=-10.0, greatest=10.0, required=False),
    "cathode_loss_V": Key(field="loss", unit="V", least=-10.0, greatest=10.0, required=False),
}  # fmt: skip
_SWITCHES = ("profile",)
_ITEMS = ("electrode", "mix")

Recipe = tuple["CathodeParameters", Draw, tuple[str, ...]]
"""Middle, draw and sentences of an item of the bench."""


def named_item(source: str | Table, *, name: str = "input") -> str:
    """The item of the bench that a table names for the keys it leaves out.

    Parameters
    ----------
    source : str or mapping
        TOML text or the table.
    name : str
        What to call it in a refusal.

    Returns
    -------
    str
        "" where it names none.

    Raises
    ------
    InputError
        The text is no table.
    RecordError
        It names two, or what is no name.

    Examples
    --------
    >>> named_item("electrode = 'T1'")
    'T1'
    """
    table = read_table(source, name=name)
    there = [key for key in _ITEMS if key in table]
    if not there:
        return ""
    item = table[there[0]]
    if len(there) > 1 or not isinstance(item, str) or not item:
        allowed = "the name of one electrode or of one mix"
        refuse([FieldFault(there[0], "not one name", allowed, repr(item))], name)
    return str(item)


def simulate_cathode(
    source: str | Table,
    *,
    with_profiles: bool = False,
    draws: int | None = None,
    seed: int = 1,
    workers: int = 1,
    name: str = "input",
    step: Callable[[str, float], None] = no_steps,
    recipe: Recipe | None = None,
) -> CathodeSimulation:
    """The answer on one cathode from a table of numbers.

    Parameters
    ----------
    source : str or mapping
        TOML text or the table: the keys of the cathode, each with its unit, and a list
        `current_density_A_m2`, `overpotential_V` (of the electrolyte face) or `cathode_loss_V`.
        Two numbers in a list for a key are a band: between the two everything may be.
    with_profiles : bool
        The inside at each current too; `profile = true` in the table says the same.
    draws : int, optional
        Curves drawn from the bands; 2,000 if left out, none without bands.
    seed : int
        Of the dice.
    workers : int
        Threads; the answer does not depend on them.
    name : str
        What to call the table in a refusal.
    step : callable
        Told what is being done and which share is done.
    recipe : tuple, optional
        Middle, draw and sentences of an item of the bench, for the keys that are left out.

    Returns
    -------
    CathodeSimulation

    Raises
    ------
    InputError
        The text is no table.
    RecordError
        With every key that is missing, unknown or out of range.

    Examples
    --------
    >>> answer = simulate_cathode('''
    ... thickness_m = 4e-4
    ... ionic_conductivity_S_m = 2.0
    ... electronic_conductivity_S_m = 50.0
    ... gas_diffusivity_m2_s = 2e-6
    ... oxygen_air_mol_m3 = 8.56
    ... air_film_m = 0.0
    ... henry_liquid_per_gas = 0.0265
    ... agglomerate_radius_m = 2e-6
    ... agglomerate_diffusivity_m2_s = 5e-10
    ... agglomerate_fraction = 0.4
    ... film_transfer_1_s = 50.0
    ... exchange_current_A_m3 = 50.0
    ... reference_oxygen_mol_m3 = 0.22684
    ... tafel_slope_V_per_e = 0.05138558
    ... electrons = 4.0
    ... overpotential_V = [0.5]
    ... ''')
    >>> round(answer.current_density_A_m2[0] or 0.0, 2)
    222.15
    """
    table = read_table(source, name=name)
    faults: list[FieldFault] = []
    asked = _asked(table, faults)
    item = named_item(table, name=name)
    if item and recipe is None:
        faults.append(FieldFault("electrode, mix", "no bench to look it up on", "a bench file"))
    profile = table.get("profile", False)
    if not isinstance(profile, bool):
        faults.append(FieldFault("profile", "not yes or no", "true or false", repr(profile)))
    cathode, bands = _cathode(table, faults, recipe[0] if recipe else None)
    refuse(faults, name)
    assert cathode is not None  # refused above otherwise
    entered = {key.field for name_, key in CATHODE_KEYS.items() if name_ in table}
    draw, said = _draw_of(bands, recipe, entered)
    found = simulated_cathode(
        cathode,
        asked,
        with_profiles=with_profiles or profile is True,
        draw=draw,
        draws=DRAWS if draws is None else draws,
        seed=seed,
        workers=workers,
        step=step,
    )
    return replace(found, assumptions=(*found.assumptions, *said))


def _draw_of(
    bands: dict[str, Band], recipe: Recipe | None, entered: set[str]
) -> tuple[Draw | None, tuple[str, ...]]:
    said = tuple(
        f"{name}: anywhere from {band.low:g} to {band.high:g} {band.unit}".rstrip()
        + (", evenly in the logarithm" if band.form is Form.EVEN_IN_LOG else ", evenly")
        for name, band in bands.items()
    )
    own = from_bands(bands) if bands else None
    if recipe is None:
        return own, said
    whole = recipe[1]

    def draw(dice: Generator, size: int) -> Columns:
        drawn = {name: v for name, v in whole(dice, size).items() if name not in entered}
        return drawn if own is None else drawn | own(dice, size)

    return draw, (*said, *recipe[2])


def _asked(table: Table, faults: list[FieldFault]) -> Asked:
    there = [key for key in ASKED_KEYS if key in table]
    if len(there) != 1:
        what = "missing" if not there else f"given together with {', '.join(there[1:])}"
        faults.append(
            FieldFault(there[0] if there else next(iter(ASKED_KEYS)), what,
                       f"exactly one of the lists {', '.join(ASKED_KEYS)}")
        )  # fmt: skip
    found = {key: listed(table, key, ASKED_KEYS[key], faults) for key in there[:1]}
    return Asked(
        currents=found.get("current_density_A_m2", ()),
        overpotentials=found.get("overpotential_V", ()),
        losses=found.get("cathode_loss_V", ()),
    )


def cathode_of(table: Table, *, where: str, faults: list[FieldFault]) -> CathodeParameters | None:
    """The cathode of a table of keys, its faults added to a list.

    Parameters
    ----------
    table : mapping
    where : str
        Put before each key, as in "cathode.".
    faults : list of FieldFault

    Returns
    -------
    CathodeParameters or None
        None where there was a fault.
    """
    try:
        return from_keys(table, where=where)
    except RecordError as refusal:
        faults.extend(refusal.faults)
        return None


def _cathode(
    table: Table, faults: list[FieldFault], base: CathodeParameters | None
) -> tuple[CathodeParameters | None, dict[str, Band]]:
    """The cathode at the middle of its bands, and the bands by field."""
    plain: dict[str, object] = {}
    bands: dict[str, Band] = {}
    unread: dict[str, FieldFault] = {}
    if base is not None:
        from aerode.physics.cathode import to_keys

        plain.update(to_keys(base))
    for name, value in table.items():
        if name in ASKED_KEYS or name in _SWITCHES or name in _ITEMS:
            continue
        if isinstance(value, Sequence) and not isinstance(value, str) and name in CATHODE_KEYS:
            ends = cast("Sequence[object]", value)
            band = _band(name, ends)
            if band is None:
                what = f"two rising numbers for a band, each {CATHODE_KEYS[name].allowed}"
                unread[name] = FieldFault(name, "not a band", what, repr(ends))
                continue
            bands[CATHODE_KEYS[name].field] = band
            plain[name] = band.middle
            continue
        plain[name] = value
    found: list[FieldFault] = []
    cathode = cathode_of(plain, where="", faults=found)
    faults.extend(fault for fault in found if fault.field not in unread)
    faults.extend(unread.values())
    return cathode, bands


def _band(name: str, ends: Sequence[object]) -> Band | None:
    key = CATHODE_KEYS[name]
    wrong: list[FieldFault] = []
    numbers = listed({name: ends}, name, key, wrong)
    if wrong or len(numbers) != 2 or not numbers[0] < numbers[1]:
        return None
    low, high = numbers
    form = Form.EVEN_IN_LOG if low > 0.0 and high > _WIDE * low else Form.EVEN
    return Band(low=low, high=high, form=form, unit=key.unit, basis=Basis.ASSUMED, source="entered")
