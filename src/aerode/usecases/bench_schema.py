"""The JSON Schema of every answer and of every stored kind."""

from __future__ import annotations

import dataclasses
import difflib
import inspect
import pkgutil
from functools import lru_cache
from importlib import import_module
from typing import Any

import aerode.records
from aerode.errors import InputError
from aerode.records import KINDS, adapter
from aerode.records.bench_answers import SchemaNames
from aerode.store.upcasts import UPCASTS

__all__ = ["schema_names", "schema_of"]


@lru_cache(maxsize=1)
def _classes() -> dict[str, type]:
    """Schema name → record class: the stored kinds, then every record whose first field names it."""
    found: dict[str, type] = {UPCASTS.schema(kind): cls for kind, cls in KINDS.items()}
    modules = [
        import_module(f"aerode.records.{m.name}")
        for m in pkgutil.iter_modules(aerode.records.__path__)
    ]
    for module in modules:
        for _, cls in inspect.getmembers(module, inspect.isclass):
            fields = dataclasses.fields(cls) if dataclasses.is_dataclass(cls) else ()
            if fields and fields[0].name == "schema" and isinstance(fields[0].default, str):
                found[fields[0].default] = cls
    return found


def schema_names() -> SchemaNames:
    """Every name that `schema_of` takes: the answers first, then the stored kinds.

    >>> names = schema_names().names
    >>> "aerode.fit/1" in names, "electrode/3" in names
    (True, True)
    """
    names = tuple(sorted(_classes(), key=lambda name: (not name.startswith("aerode."), name)))
    answers_count = sum(name.startswith("aerode.") for name in names)
    return SchemaNames(
        headline=f"{answers_count} answers and {len(names) - answers_count} kinds of record",
        names=names,
    )


def schema_of(name: str) -> dict[str, Any]:
    """The JSON Schema of an answer ("aerode.fit/1" or "fit") or of a stored kind ("electrode").

    Units stand beside the numbers under `unit`.

    Raises
    ------
    InputError
        No such name; the near ones are named.

    Examples
    --------
    >>> schema_of("electrode")["$id"]
    'electrode/3'
    """
    classes = _classes()
    for full, cls in classes.items():
        if name in {full, full.removeprefix("aerode."), full.split("/")[0], _word(full)}:
            return {"$id": full, **adapter.schema(cls)}
    near = difflib.get_close_matches(name, [_word(full) for full in classes], n=3)
    raise InputError(
        f"no answer and no kind of record is called {name!r}",
        allowed=" or ".join(near) if near else ", ".join(schema_names().names),
        next_step="`aerode schema` lists all names",
    )


def _word(full: str) -> str:
    return full.removeprefix("aerode.").split("/")[0]
