"""What each material does on the bench: what it serves for, its home test, its look-alikes.

Most of this is common practice of the trade, without a source, and says so in its source key.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeVar

from aerode.errors import ReferenceDataError
from aerode.reference.loader import bibliography, parse_toml, read_text
from aerode.reference.rows import Status
from aerode.reference.substances import resolve, substances

if TYPE_CHECKING:
    from collections.abc import Collection

__all__ = [
    "BENCH_FUNCTIONS",
    "BenchUse",
    "WettedMetal",
    "bench_uses",
    "parse_materials",
    "wetted_metals",
]

BENCH_FUNCTIONS = (
    "conductor", "active carbon", "catalyst", "binder", "wet-proofer", "pore former", "collector",
    "separator", "sealant", "solvent", "electrolyte", "anode",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchUse:
    """One material in one bench function."""

    material: str
    function: str
    serves: str
    home_test: str
    mistaken_for: str
    must_not_replace: str
    source: str

    @property
    def status(self) -> Status:
        """Unverified for common practice, secondary where a page was read."""
        return _status(self.source)


@dataclass(frozen=True, slots=True, kw_only=True)
class WettedMetal:
    """What chloride or lye does to a metal, wet and unloaded, and under load."""

    metal: str
    electrolyte: str
    unloaded: str
    loaded: str
    effect: str
    source: str

    @property
    def status(self) -> Status:
        """Unverified for common practice, secondary where a page was read."""
        return _status(self.source)


_Entry = TypeVar("_Entry", BenchUse, WettedMetal)


def _status(source: str) -> Status:
    kind = bibliography()[source].kind
    return Status.UNVERIFIED if kind in ("practice", "memory") else Status.SECONDARY


def _refuse(where: str, what: str, allowed: str) -> ReferenceDataError:
    return ReferenceDataError(what, where=where, allowed=allowed, next_step="mend that entry")


def _entry(
    kind: type[_Entry], values: dict[str, Any], where: str, sources: Collection[str]
) -> _Entry:
    wanted = {field.name for field in fields(kind)}
    if set(values) != wanted or not all(str(v).strip() for v in values.values()):
        raise _refuse(where, "an entry with other or empty fields", ", ".join(sorted(wanted)))
    name = values["material"] if kind is BenchUse else values["metal"]
    if name not in substances():
        raise _refuse(where, f"unknown substance {name!r}", "a name of substances.toml")
    if values["source"] not in sources:
        raise _refuse(where, f"unknown source {values['source']!r}", "a key of bibliography.toml")
    if kind is BenchUse and values["function"] not in BENCH_FUNCTIONS:
        raise _refuse(where, f"unknown function {values['function']!r}", ", ".join(BENCH_FUNCTIONS))
    if kind is WettedMetal and values["electrolyte"] not in ("chloride", "lye"):
        raise _refuse(where, f"unknown electrolyte {values['electrolyte']!r}", "chloride or lye")
    return kind(**{str(key): str(value) for key, value in values.items()})


def parse_materials(
    text: str, file: str = "materials.toml", *, sources: Collection[str]
) -> tuple[tuple[BenchUse, ...], tuple[WettedMetal, ...]]:
    """The bench uses and the wetted metals of a TOML text.

    Parameters
    ----------
    text : str
        TOML with `[[use]]` and `[[wetted_metal]]` entries.
    file : str
        The name to show in a refusal.
    sources : collection of str
        Known source keys.

    Returns
    -------
    tuple
        `(uses, metals)` in the order of the file.

    Raises
    ------
    ReferenceDataError
        A bad field, an unknown substance, source or function; file and line are named.
    """
    data = parse_toml(text, file)
    places: dict[str, list[int]] = {"use": [], "wetted_metal": []}
    for number, line in enumerate(text.splitlines(), start=1):
        match = re.match(r"^\[\[(use|wetted_metal)\]\]", line)
        if match:
            places[match[1]].append(number)
    uses = tuple(
        _entry(BenchUse, values, f"{file}, line {line}", sources)
        for values, line in zip(data.get("use", ()), places["use"], strict=True)
    )
    metals = tuple(
        _entry(WettedMetal, values, f"{file}, line {line}", sources)
        for values, line in zip(data.get("wetted_metal", ()), places["wetted_metal"], strict=True)
    )
    return uses, metals


@lru_cache(maxsize=1)
def _materials() -> tuple[tuple[BenchUse, ...], tuple[WettedMetal, ...]]:
    return parse_materials(read_text("materials.toml"), sources=bibliography())


def bench_uses(material: str = "", *, function: str = "") -> tuple[BenchUse, ...]:
    """What serves for a bench function, or what a material serves for.

    Parameters
    ----------
    material : str
        Only this material (name, alias or CAS number).
    function : str
        Only this function, one of `BENCH_FUNCTIONS`.

    Returns
    -------
    tuple of BenchUse
        In the order of the table; empty where nothing is on file.

    Raises
    ------
    ReferenceDataError
        The material is not known.

    Examples
    --------
    >>> [use.function for use in bench_uses("lamp black")]
    ['conductor']
    """
    name = resolve(material) if material else ""
    return tuple(
        use
        for use in _materials()[0]
        if name in ("", use.material) and function in ("", use.function)
    )


def wetted_metals(metal: str = "", *, electrolyte: str = "") -> tuple[WettedMetal, ...]:
    """What chloride or lye does to a metal that it wets.

    Parameters
    ----------
    metal : str
        Only this metal (name or alias).
    electrolyte : str
        Only "chloride" or only "lye".

    Returns
    -------
    tuple of WettedMetal
        In the order of the table.

    Raises
    ------
    ReferenceDataError
        The metal is not known.

    Examples
    --------
    >>> wetted_metals("copper", electrolyte="chloride")[0].source
    'corrosion_doctors'
    """
    name = resolve(metal) if metal else ""
    return tuple(
        entry
        for entry in _materials()[1]
        if name in ("", entry.metal) and electrolyte in ("", entry.electrolyte)
    )
