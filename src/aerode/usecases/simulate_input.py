"""What stands in an input file of `simulate`: read as a table, with every fault of it named at once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, cast

from aerode.errors import FieldFault, InputError, RecordError

if TYPE_CHECKING:
    from aerode.physics.cathode.keyed import Key

__all__ = ["Table", "listed", "read_table", "refuse", "subtable"]

Table = Mapping[str, object]


def read_table(source: str | Table, *, name: str = "input") -> Table:
    """The table of an input file.

    Parameters
    ----------
    source : str or mapping
        TOML text, or the table itself.
    name : str
        What to call it in a refusal.

    Returns
    -------
    mapping

    Raises
    ------
    InputError
        The text is not TOML; line and column are named.

    Examples
    --------
    >>> read_table("thickness_m = 4e-4")
    {'thickness_m': 0.0004}
    """
    if not isinstance(source, str):
        return source
    try:
        return tomllib.loads(source)
    except tomllib.TOMLDecodeError as problem:
        raise InputError(
            f"this is not a table of keys: {problem}",
            where=name,
            allowed="TOML: one key a line, as in thickness_m = 4e-4",
            next_step="mend the named line; text stands in quotes, lists in [ ]",
        ) from problem


def subtable(table: Table, key: str, faults: list[FieldFault]) -> Table:
    """A table inside the table; empty where it is missing, with the fault noted.

    Parameters
    ----------
    table : mapping
    key : str
    faults : list of FieldFault
        A fault is added to it.

    Returns
    -------
    mapping
    """
    found = table.get(key)
    if isinstance(found, Mapping):
        return cast("Table", found)
    what = "missing" if found is None else "not a table"
    faults.append(FieldFault(key, what, f"a table [{key}]", "" if found is None else repr(found)))
    return {}


def listed(table: Table, name: str, key: Key, faults: list[FieldFault]) -> tuple[float, ...]:
    """One number or a list of them.

    Parameters
    ----------
    table : mapping
    name : str
        The key as it stands in the file.
    key : Key
        What is allowed.
    faults : list of FieldFault
        A fault is added for each number that is not allowed.

    Returns
    -------
    tuple of float
        Empty where the key is not there.

    Examples
    --------
    >>> from aerode.physics.cathode.keyed import Key
    >>> faults = []
    >>> listed({"current_A": [1, -2]}, "current_A", Key(field="current", unit="A", least=0.0), faults)
    (1.0,)
    >>> faults[0].field
    'current_A.1'
    """
    from aerode.physics.cathode.keyed import take_keys

    given = table.get(name)
    if given is None:
        return ()
    if isinstance(given, str) or not isinstance(given, Sequence):
        taken, wrong = take_keys({name: given}, {name: key})
        faults.extend(wrong)
        return tuple(taken.values())
    numbers: list[float] = []
    if not given:
        faults.append(FieldFault(name, "empty", f"one number or more, each {key.allowed}", "[]"))
    for place, value in enumerate(cast("Sequence[object]", given)):
        taken, wrong = take_keys({f"{name}.{place}": value}, {f"{name}.{place}": key})
        faults.extend(wrong)
        numbers.extend(taken.values())
    return tuple(numbers)


def refuse(faults: Sequence[FieldFault], name: str) -> None:
    """Stop if there is any fault, with all of them.

    Parameters
    ----------
    faults : sequence of FieldFault
    name : str
        What the file is called.

    Raises
    ------
    RecordError
        With every fault.
    """
    if faults:
        count = "one key" if len(faults) == 1 else f"{len(faults)} keys"
        raise RecordError(
            f"{count} cannot be taken",
            tuple(faults),
            where=name,
            next_step="mend the named keys; nothing was computed",
        )
