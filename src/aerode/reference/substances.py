"""Substances by name, alias or CAS number; a name that could mean two things is refused.

The CAS registry number decides, since names do mislead: one open library answers a common
spelling of 1-methyl-2-pyrrolidone with another compound altogether.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from aerode.errors import ReferenceDataError
from aerode.reference.everyday import near_names
from aerode.reference.loader import parse_toml, read_text, toml_lines

if TYPE_CHECKING:
    from collections.abc import Collection

__all__ = [
    "Substance",
    "cas_check_digit_holds",
    "molar_mass",
    "near_of_kind",
    "parse_substances",
    "resolve",
    "substance",
    "substances",
]

_FIELDS = ("cas", "kind", "formula", "molar_mass", "aliases")
_KINDS = {
    "solvent", "polymer", "wax", "carbon", "catalyst", "mesh", "aluminium", "salt", "separator",
    "gas", "ion", "solid", "electrolyte", "dust", "constant", "reference electrode", "household",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Substance:
    """One substance: its name here, CAS numbers (none for mixtures of trade), and other names.

    `molar_mass` is in [kg/mol], None where the thing has no fixed one.
    """

    name: str
    cas: tuple[str, ...]
    kind: str
    formula: str
    molar_mass: float | None
    aliases: tuple[str, ...]


def cas_check_digit_holds(number: str) -> bool:
    """True if the last digit of a CAS registry number fits the others.

    The check digit is the sum of the other digits, each times its place from the right, modulo 10
    (CAS registry number format).

    >>> cas_check_digit_holds("872-50-4"), cas_check_digit_holds("872-50-5")
    (True, False)
    """
    if not re.fullmatch(r"\d{2,7}-\d{2}-\d", number):
        return False
    digits = [int(c) for c in number if c.isdigit()]
    body = digits[:-1][::-1]
    return sum(place * digit for place, digit in enumerate(body, start=1)) % 10 == digits[-1]


def _refuse(where: str, what: str, allowed: str) -> ReferenceDataError:
    return ReferenceDataError(what, where=where, allowed=allowed, next_step="mend that entry")


def _folded(name: str) -> str:
    return re.sub(r"[\s_]+", " ", name.strip().casefold())


def _entry(name: str, fields: dict[str, Any], where: str) -> Substance:
    if not set(fields) <= set(_FIELDS) or "kind" not in fields:
        raise _refuse(where, f"{name!r} has other fields", ", ".join(_FIELDS))
    if fields["kind"] not in _KINDS:
        raise _refuse(where, f"unknown kind {fields['kind']!r}", ", ".join(sorted(_KINDS)))
    cas = tuple(fields.get("cas", ()))
    for number in cas:
        if not cas_check_digit_holds(number):
            raise _refuse(where, f"{number!r} is no CAS number", "a number whose check digit fits")
    mass = fields.get("molar_mass")
    if mass is not None and not 0.5 <= mass <= 2000.0:
        raise _refuse(where, f"molar mass {mass} g/mol", "0.5 to 2000 g/mol")
    return Substance(
        name=name,
        cas=cas,
        kind=fields["kind"],
        formula=fields.get("formula", ""),
        molar_mass=None if mass is None else mass / 1000.0,
        aliases=tuple(fields.get("aliases", ())),
    )


def parse_substances(text: str, file: str = "substances.toml") -> dict[str, Substance]:
    """The substances of a TOML text by name.

    Raises
    ------
    ReferenceDataError
        A bad field, a CAS number whose check digit does not fit, or a name or CAS number that
        two substances share; the message names file and line.
    """
    lines = toml_lines(text)
    found: dict[str, Substance] = {}
    taken: dict[str, str] = {}
    for name, fields in parse_toml(text, file).items():
        where = f"{file}, line {lines.get(name, 1)}"
        entry = _entry(name, fields, where)
        for other in (name, *entry.aliases, *entry.cas):
            owner = taken.setdefault(_folded(other), name)
            if owner != name:
                raise _refuse(where, f"{other!r} already means {owner!r}", "each name once")
        found[name] = entry
    return found


@lru_cache(maxsize=1)
def substances() -> dict[str, Substance]:
    """Every substance on file by its name here, read on first use."""
    return parse_substances(read_text("substances.toml"))


@lru_cache(maxsize=1)
def _by_any_name() -> dict[str, str]:
    return {
        _folded(other): entry.name
        for entry in substances().values()
        for other in (entry.name, *entry.aliases, *entry.cas)
    }


def near_of_kind(name: str, kinds: Collection[str]) -> tuple[str, ...]:
    """The names on file of some kinds for which a typed one may stand.

    Examples
    --------
    >>> near_of_kind("spirit", {"solvent"}), near_of_kind("soot", {"salt"})
    (('ethanol',), ())
    """
    fitting = [one.name for one in substances().values() if one.kind in kinds]
    return near_names(name, _by_any_name(), among=fitting) if fitting else ()


def resolve(name: str) -> str:
    """The name on file for a name, alias or CAS number.

    Parameters
    ----------
    name : str
        "isopropanol", "IPA", "67-63-0".

    Returns
    -------
    str
        The name under which figures are on file.

    Raises
    ------
    ReferenceDataError
        Nothing is on file under that name; the nearest names are listed.

    Examples
    --------
    >>> resolve("67-63-0"), resolve("IPA")
    ('2-propanol', '2-propanol')
    """
    known = _by_any_name()
    found = known.get(_folded(name))
    if found is None:
        raise ReferenceDataError(
            f"no substance {name!r} on file",
            allowed=", ".join(near_names(name, known)) or "a name, alias or CAS number",
            next_step="give its CAS number, or enter the figures of its safety data sheet",
        )
    return found


def molar_mass(name: str) -> float:
    """The molar mass of a substance that must have one.

    Parameters
    ----------
    name : str

    Returns
    -------
    float [kg/mol]

    Raises
    ------
    LookupError
        None is on file: a slip in the tables of the package, not in what somebody typed.

    Examples
    --------
    >>> molar_mass("water")
    0.018015
    """
    mass = substance(name).molar_mass
    if mass is None:
        raise LookupError(f"no molar mass on file for {name}")
    return mass


def substance(name: str) -> Substance:
    """The substance behind a name, alias or CAS number.

    >>> substance("872-50-4").name
    '1-methyl-2-pyrrolidone'
    """
    return substances()[resolve(name)]
