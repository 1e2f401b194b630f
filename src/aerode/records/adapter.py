"""The only reader and writer of records: plain mappings and JSON on one side, frozen records on the other."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from aerode.errors import FieldFault, RecordError
from aerode.records import KINDS

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["canonical", "read", "read_json", "schema", "schema_name", "write", "write_whole"]

T = TypeVar("T")


@lru_cache(maxsize=256)
def _adapter(cls: Any) -> TypeAdapter[Any]:
    return TypeAdapter(cls)


def read(cls: type[T], data: Mapping[str, Any], *, where: str = "") -> T:
    """A mapping as a record, or every fault in it at once.

    Parameters
    ----------
    cls : type
        The record class.
    data : mapping
        Field names to plain values (SI).
    where : str
        What to call the place in the refusal.

    Raises
    ------
    RecordError
        With one `FieldFault` for each bad field; the raw text is kept in it.
    """
    try:
        return _adapter(cls).validate_python(data)
    except ValidationError as problem:
        raise _refusal(cls, problem, where) from problem


def read_json(cls: type[T], text: str | bytes, *, where: str = "") -> T:
    """The same from JSON text."""
    try:
        return _adapter(cls).validate_json(text)
    except ValidationError as problem:
        raise _refusal(cls, problem, where) from problem


def write(record: object) -> dict[str, Any]:
    """A record as plain values that JSON can hold; fields that keep their default are left out."""
    return _adapter(type(record)).dump_python(
        record, mode="json", exclude_defaults=True, warnings=False
    )


def write_whole(record: object) -> dict[str, Any]:
    """A record as plain values with every field, in the order of its definition (`schema` first)."""
    return _adapter(type(record)).dump_python(record, mode="json", warnings=False)


def canonical(record: object) -> str:
    """The one text of a record: sorted keys, no spaces, UTF-8. Equal records have equal texts."""
    plain = write(record)
    return json.dumps(
        plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )


def schema_name(cls: type) -> str:
    """The word under which a record class is stored ("electrode").

    Raises
    ------
    KeyError
        For a class that is not stored.
    """
    return next(kind for kind, known in KINDS.items() if known is cls)


def schema(cls: type) -> dict[str, Any]:
    """The JSON Schema of a record class, with the unit of each field under `unit`."""
    return _adapter(cls).json_schema()


def _refusal(cls: type, problem: ValidationError, where: str) -> RecordError:
    faults = tuple(
        FieldFault(
            field=".".join(str(part) for part in error["loc"]) or "(whole record)",
            what=_NEEDED if error["type"] == "missing" else _plain_words(error["msg"]),
            allowed=_allowed(error),
            raw="" if error["type"] == "missing" else repr(error["input"])[:200],
        )
        for error in problem.errors(include_url=False)
    )
    count = "one field" if len(faults) == 1 else f"{len(faults)} fields"
    return RecordError(
        f"{count} of this {cls.__name__} cannot be taken",
        faults,
        where=where,
        next_step="mend the named fields and hand it in again; nothing was stored",
    )


_NEEDED = "this is needed"


def _plain_words(message: str) -> str:
    return message.removeprefix("Value error, ").removeprefix("Assertion failed, ")


def _allowed(error: Any) -> str:
    bounds = error.get("ctx", {})
    words = {
        "ge": "at least",
        "gt": "more than",
        "le": "at most",
        "lt": "less than",
        "expected": "one of",
    }
    return ", ".join(f"{words[key]} {value}" for key, value in bounds.items() if key in words)
