"""The keyed form of a cathode: one key per number, the unit in the key, for files and forms.

The reader finds every fault at once: each names the key, what is wrong with it, what is allowed in
which unit, and for an unknown key the nearest ones.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum

from aerode.errors import FieldFault, RecordError
from aerode.physics.cathode.parameters import BOUNDS, MAY_BE_INFINITE, CathodeParameters
from aerode.physics.cathode.parameters import OxygenSupply as _Supply
from aerode.physics.effectiveness import Shape

__all__ = ["CATHODE_KEYS", "Key", "from_keys", "near_keys", "take_keys", "to_keys", "word_for"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One number of a keyed form.

    Parameters
    ----------
    field : str
        What it is called inside.
    unit : str
        Its unit, as people write it; "" for a plain number.
    least : float
        Least value.
    least_allowed : bool
        Whether the least value itself is allowed.
    greatest : float
        Greatest value, or infinity.
    infinite : bool
        Whether infinity itself is allowed.
    required : bool
        Whether it must be given.

    Examples
    --------
    >>> Key(field="thickness", unit="m", least=0.0, greatest=0.1).allowed
    'more than 0, at most 0.1 m'
    """

    field: str
    unit: str = ""
    least: float = -math.inf
    least_allowed: bool = False
    greatest: float = math.inf
    infinite: bool = False
    required: bool = True

    @property
    def allowed(self) -> str:
        """The allowed range with its unit, in words."""
        parts: list[str] = []
        if self.least > -math.inf:
            parts.append(f"{'at least' if self.least_allowed else 'more than'} {self.least:g}")
        if self.greatest < math.inf:
            parts.append(f"at most {self.greatest:g}")
        return f"{', '.join(parts) or 'a number'} {self.unit}".strip()

    def holds(self, value: float) -> bool:
        """True if a value is allowed."""
        low = value >= self.least if self.least_allowed else value > self.least
        finite = math.isfinite(value) or (self.infinite and value == math.inf)
        return finite and low and value <= self.greatest


# By definition: what the unit of a key looks like in its name, and how people write it.
_UNITS = (
    ("_V_per_e", "V per e-fold"),
    ("_S_m", "S/m"),
    ("_m2_s", "m²/s"),
    ("_mol_m3", "mol/m³"),
    ("_A_m3", "A/m³"),
    ("_1_s", "1/s"),
    ("_m", "m"),
)
_REQUIRED = (
    "thickness_m",
    "ionic_conductivity_S_m",
    "electronic_conductivity_S_m",
    "gas_diffusivity_m2_s",
    "oxygen_air_mol_m3",
    "air_film_m",
    "henry_liquid_per_gas",
    "agglomerate_radius_m",
    "agglomerate_diffusivity_m2_s",
    "agglomerate_fraction",
    "film_transfer_1_s",
    "exchange_current_A_m3",
    "reference_oxygen_mol_m3",
    "tafel_slope_V_per_e",
    "electrons",
)
_OPTIONAL = (
    "back_slope_V_per_e",
    "air_diffusivity_m2_s",
    "backing_thickness_m",
    "backing_diffusivity_m2_s",
    "collector_depth_m",
    "oxygen_electrolyte_mol_m3",
    "electrolyte_film_m",
    "dissolved_diffusivity_m2_s",
)
_WORD_KEYS: dict[str, type[StrEnum]] = {"agglomerate_shape": Shape, "oxygen_supply": _Supply}


def _key(name: str, required: bool) -> Key:
    field, unit = next(
        ((name.removesuffix(end), unit) for end, unit in _UNITS if name.endswith(end)), (name, "")
    )
    least, closed, greatest = BOUNDS[field]
    return Key(
        field=field,
        unit=unit,
        least=least,
        least_allowed=closed,
        greatest=greatest,
        infinite=field in MAY_BE_INFINITE,
        required=required,
    )


CATHODE_KEYS: dict[str, Key] = {
    **{name: _key(name, True) for name in _REQUIRED},
    **{name: _key(name, False) for name in _OPTIONAL},
}
"""Every number of a uniform cathode by its key."""


def near_keys(name: str, known: Sequence[str]) -> str:
    """Name the keys nearest to one that is not known.

    Parameters
    ----------
    name : str
        As given.
    known : sequence of str
        The keys there are.

    Returns
    -------
    str
        "no such key; did you mean thickness_m?", or "no such key" where nothing is near.

    Examples
    --------
    >>> near_keys("thicknes", ["thickness_m", "electrons"])
    'no such key; did you mean thickness_m?'
    """
    near = get_close_matches(name, known, n=2, cutoff=0.5)
    near += [key for key in known if key.startswith(name) and key not in near]
    return "no such key" + (f"; did you mean {' or '.join(near[:2])}?" if near else "")


def take_keys(
    values: Mapping[str, object],
    keys: Mapping[str, Key],
    *,
    others: Sequence[str] = (),
    where: str = "",
) -> tuple[dict[str, float], list[FieldFault]]:
    """Read the numbers of a keyed table, and list every fault in it.

    Parameters
    ----------
    values : mapping of str to object
        As they stand in the file.
    keys : mapping of str to Key
        The numbers there are.
    others : sequence of str
        Further keys of the table that are read elsewhere.
    where : str
        Put before each key in the faults, as in "anode.".

    Returns
    -------
    tuple of dict and list of FieldFault
        Numbers by field, and the faults.

    Examples
    --------
    >>> keys = {"gap_m": Key(field="gap", unit="m", least=0.0, least_allowed=True)}
    >>> taken, faults = take_keys({"gap_m": -1, "gapp_m": 2}, keys)
    >>> [f"{fault.field}: {fault.what}" for fault in faults]
    ['gap_m: not possible', 'gapp_m: no such key; did you mean gap_m?']
    """
    taken: dict[str, float] = {}
    faults = [
        FieldFault(f"{where}{name}", "missing", key.allowed)
        for name, key in keys.items()
        if key.required and name not in values
    ]
    for name, value in values.items():
        if name in keys:
            number = _number(value)
            if number is None:
                faults.append(
                    FieldFault(f"{where}{name}", "not a number", keys[name].allowed, repr(value))
                )
            elif not keys[name].holds(number):
                faults.append(
                    FieldFault(f"{where}{name}", "not possible", keys[name].allowed, repr(value))
                )
            else:
                taken[keys[name].field] = number
        elif name not in others:
            known = [*keys, *others]
            faults.append(FieldFault(f"{where}{name}", near_keys(name, known), ", ".join(known)))
    return taken, faults


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        number = float(value)
    except (ValueError, OverflowError):
        return None
    return None if math.isnan(number) else number


def word_for(
    kind: type[StrEnum], key: str, value: object
) -> tuple[StrEnum | None, list[FieldFault]]:
    """Read one of a few words.

    Parameters
    ----------
    kind : type
        The words there are.
    key : str
        For the fault.
    value : object
        As it stands in the file.

    Returns
    -------
    tuple of StrEnum or None, and list of FieldFault
        The word, or the fault.

    Examples
    --------
    >>> word_for(Shape, "agglomerate_shape", "ball")[1][0].allowed
    'sphere, cylinder, slab'
    """
    try:
        return kind(str(value)), []
    except ValueError:
        return None, [FieldFault(key, "no such word", ", ".join(kind), repr(value))]


def from_keys(values: Mapping[str, object], *, where: str = "") -> CathodeParameters:
    """Read a uniform cathode from its keyed form, where every key carries its unit.

    Parameters
    ----------
    values : mapping of str to float or str [SI, as each key says]
        All of `thickness_m`, `ionic_conductivity_S_m`, `electronic_conductivity_S_m`,
        `gas_diffusivity_m2_s`, `oxygen_air_mol_m3`, `air_film_m`, `henry_liquid_per_gas`,
        `agglomerate_radius_m`, `agglomerate_diffusivity_m2_s`, `agglomerate_fraction`,
        `film_transfer_1_s`, `exchange_current_A_m3`, `reference_oxygen_mol_m3`,
        `tafel_slope_V_per_e`, `electrons`, and where needed the optional ones.
    where : str
        Put before each key in the faults, as in "cathode.".

    Returns
    -------
    CathodeParameters
        The same cathode in plain SI.

    Raises
    ------
    RecordError
        If a key is missing, unknown, or its value not possible; every fault is listed.

    Examples
    --------
    >>> try:
    ...     from_keys({"thickness_m": 4e-4})
    ... except RecordError as error:
    ...     len(error.faults)
    14
    """
    numbers, faults = take_keys(values, CATHODE_KEYS, others=tuple(_WORD_KEYS), where=where)
    taken: dict[str, object] = dict(numbers)
    for key, kind in _WORD_KEYS.items():
        if key in values:
            taken[key], wrong = word_for(kind, f"{where}{key}", values[key])
            faults.extend(wrong)
    if faults:
        raise RecordError(_told(faults), tuple(faults))
    return CathodeParameters(**taken)  # pyright: ignore[reportArgumentType]


def _told(faults: Sequence[FieldFault]) -> str:
    count = "one key" if len(faults) == 1 else f"{len(faults)} keys"
    return f"{count} of this cathode cannot be taken"


def to_keys(parameters: CathodeParameters) -> dict[str, float | str]:
    """Write a uniform cathode in its keyed form, where every key carries its unit.

    Parameters
    ----------
    parameters : CathodeParameters
        A cathode without sublayers.

    Returns
    -------
    dict of str to float or str
        The form `from_keys` reads; a missing `back_slope` is left out.

    Raises
    ------
    RecordError
        If the cathode has sublayers, which the keyed form cannot hold.

    Examples
    --------
    >>> keys = {"thickness_m": 4e-4, "ionic_conductivity_S_m": 2.0,
    ...     "electronic_conductivity_S_m": 50.0, "gas_diffusivity_m2_s": 2e-6,
    ...     "oxygen_air_mol_m3": 8.56, "air_film_m": 5e-3, "henry_liquid_per_gas": 0.0265,
    ...     "agglomerate_radius_m": 2e-6, "agglomerate_diffusivity_m2_s": 5e-10,
    ...     "agglomerate_fraction": 0.4, "film_transfer_1_s": 50.0,
    ...     "exchange_current_A_m3": 50.0, "reference_oxygen_mol_m3": 0.22684,
    ...     "tafel_slope_V_per_e": 0.0514, "electrons": 4.0}
    >>> to_keys(from_keys(keys))["air_film_m"]
    0.005
    """
    if parameters.sublayers:
        fault = FieldFault("sublayers", "the keyed form holds a uniform layer only", "no sublayers")
        raise RecordError("this cathode has no keyed form", (fault,))
    written: dict[str, float | str] = {}
    for name, key in CATHODE_KEYS.items():
        value: float | None = getattr(parameters, key.field)
        if value is not None:
            written[name] = value
    for name in _WORD_KEYS:
        written[name] = str(getattr(parameters, name))
    return written
