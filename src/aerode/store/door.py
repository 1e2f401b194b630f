"""The door of the bench: a record is looked over here before it is written."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from aerode.errors import FieldFault, InputError, RecordError
from aerode.records import KINDS, adapter

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["Ready", "document", "kind_of", "not_finite", "storable"]


@dataclass(frozen=True, slots=True)
class Ready:
    """A record that has passed the door: its kind, its name, and the text to be stored."""

    kind: str
    name: str
    doc: str

    @classmethod
    def of(cls, record: object) -> Ready:
        """Look a record over.

        Raises
        ------
        InputError, RecordError
            It is not of a stored kind, or a field cannot be stored.
        """
        kind = kind_of(type(record))
        return cls(kind, str(getattr(record, "name", "")), document(record))


def storable(text: str, field: str) -> str:
    """Text that both databases can keep.

    Raises
    ------
    InputError
        A NUL, or half of a surrogate pair.
    """
    if "\x00" in text or any(0xD800 <= ord(letter) < 0xE000 for letter in text):
        raise InputError("this text holds characters that cannot be stored", where=field)
    return text


def kind_of(cls: type) -> str:
    """The word under which a class is stored.

    Raises
    ------
    InputError
        For a class that is not kept on a bench.
    """
    try:
        return adapter.schema_name(cls)
    except (KeyError, StopIteration) as problem:
        raise InputError(
            f"{cls.__name__} is not kept on a bench", allowed=", ".join(KINDS)
        ) from problem


def document(record: object) -> str:
    """The text under which a record is stored; what cannot come back unchanged is refused.

    A record made in a program has not met its bounds yet: it is read back here before it is
    written, so that what is on the bench can always be read.

    Raises
    ------
    RecordError
        Not a finite number, out of bounds, a wrong type, or text that is not UTF-8.
    """
    cls = type(record)
    where = f"{kind_of(cls)} {getattr(record, 'name', '')}".strip()
    faults = tuple(
        FieldFault(field=path, what="not a finite number", allowed="a finite number, or nothing",
                   raw=str(value))
        for path, value in not_finite(record)
    )  # fmt: skip
    if faults:
        raise RecordError(
            "a number of this record is not finite", faults, where=where, next_step=_NEXT
        )
    try:
        text = adapter.canonical(record)
        text.encode("utf-8")
    except (ValueError, TypeError) as problem:
        fault = FieldFault(field="(whole record)", what=f"cannot be written: {problem}")
        raise RecordError("this record cannot be written", (fault,), where=where, next_step=_NEXT) from problem  # fmt: skip
    again = adapter.read_json(cls, text, where=where)
    if again != record:
        raise RecordError(
            "this record would not come back as it is", _changed(record, again), where=where, next_step=_NEXT
        )  # fmt: skip
    return adapter.canonical(again)  # of what will be read: 1 and 1.0 are one text


_NEXT = "mend the named fields and store it again; nothing was stored"


def not_finite(value: Any, path: str = "") -> Iterator[tuple[str, float]]:
    """Every NaN and infinity in a record, with the path of its field."""
    if isinstance(value, float):
        if not math.isfinite(value):
            yield path, value
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            yield from not_finite(getattr(value, field.name), _join(path, field.name))
    elif isinstance(value, (tuple, list)):
        for index, part in enumerate(cast("list[Any]", value)):
            yield from not_finite(part, _join(path, str(index)))
    elif isinstance(value, dict):
        for key, part in cast("dict[str, Any]", value).items():
            yield from not_finite(part, _join(path, key))


def _join(path: str, part: str) -> str:
    return f"{path}.{part}" if path else part


def _changed(record: Any, again: Any) -> tuple[FieldFault, ...]:
    return tuple(
        FieldFault(
            field=field.name,
            what=f"would come back as {getattr(again, field.name)!r}"[:200],
            raw=repr(getattr(record, field.name))[:200],
        )
        for field in dataclasses.fields(record)
        if getattr(record, field.name) != getattr(again, field.name)
    )
