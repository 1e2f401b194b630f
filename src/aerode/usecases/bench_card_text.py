"""A recipe card as text, and back: TOML that a person can read, write and print."""

from __future__ import annotations

import dataclasses
import json
import tomllib
from enum import Enum
from typing import TYPE_CHECKING, Any, cast, get_args

from aerode.errors import FieldFault, InputError, RecordError, TableError
from aerode.records import adapter
from aerode.records.marks import Entry
from aerode.records.recipes import RecipeCard
from aerode.usecases.bench_fields import field_hints, peeled, plain_record
from aerode.usecases.bench_words import written_value

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["card_of", "card_text", "read_card"]

_MOST = 1_000_000
"""The longest card that is read [bytes]."""
_HEAD = """# A recipe card. Plain TOML: read it, print it, change it with any editor.
# Shares are of the DRY mass. What stands behind a plus-minus sign is one standard uncertainty.
# To dose it to your own scale, stock and area: aerode bench recipe THIS_FILE --area ... --loading ...
"""


def card_text(card: RecipeCard) -> str:
    """A card as TOML; `card_of` reads it back.

    >>> print(card_text(RecipeCard(name="M1", of="mix")).splitlines()[4])
    name = "M1"
    """
    return "\n".join([_HEAD + f'schema = "{card.schema}"', *_lines(card, "")]) + "\n"


def _lines(record: object, path: str) -> Iterator[str]:
    """The plain fields first, then each list as tables of its own."""
    later: list[tuple[str, tuple[Any, ...]]] = []
    cls: type[Any] = type(record)
    defaults = {f.name: f.default for f in dataclasses.fields(cls)}
    for name, hint in field_hints(cls).items():
        value = getattr(record, name)
        if value is None or value == defaults[name]:
            continue
        base, unit = peeled(hint)
        if isinstance(value, tuple) and dataclasses.is_dataclass(peeled(get_args(base)[0])[0]):
            later.append((f"{path}.{name}".lstrip("."), cast("tuple[Any, ...]", value)))
        else:
            yield f"{name} = {_value(value, hint, unit)}"
    for name, parts in later:
        for part in parts:
            yield ""
            yield f"[[{name}]]"
            yield from _lines(part, name)


def _value(value: Any, hint: Any, unit: str | None) -> str:
    if isinstance(value, Entry) or (isinstance(value, float) and unit):
        return _quoted(written_value(value, hint))
    if isinstance(value, Enum):
        return _quoted(str(value.value))
    if isinstance(value, str):
        return _quoted(value)
    return str(value)


def _quoted(text: str) -> str:
    """A basic string of TOML: the escapes of JSON, and DEL which TOML wants escaped too."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def read_card(path: Path) -> RecipeCard:
    """The card in a file.

    Raises
    ------
    TableError
        It cannot be read, or is not TOML.
    InputError, RecordError
        It is no card; every bad field is named.
    """
    try:
        with path.open("rb") as file:
            raw = file.read(_MOST + 1)
    except OSError as problem:
        raise TableError(f"it cannot be read: {problem.strerror}", where=str(path)) from problem
    return card_of(raw, str(path))


def card_of(raw: bytes, where: str) -> RecipeCard:
    """The card in a text, as it came from somebody else.

    Parameters
    ----------
    raw : bytes
        TOML in UTF-8.
    where : str
        What to call it in a refusal.

    Raises
    ------
    TableError
        Too long, or not TOML.
    InputError, RecordError
        It is no card; every bad field is named.
    """
    if len(raw) > _MOST:
        raise TableError("it is too long for a recipe card", where=where, allowed="up to 1 MB")
    try:
        plain = tomllib.loads(raw.decode("utf-8-sig"))
    except (ValueError, RecursionError) as problem:
        raise TableError(
            f"this is not TOML: {problem}"[:200], where=where,
            allowed="a card that `aerode bench recipe` wrote",
        ) from problem  # fmt: skip
    schema = plain.pop("schema", "")
    if schema != "aerode.recipe-card/1":
        raise InputError(
            f"this is no recipe card (schema {schema!r})"[:120], where=where,
            allowed='a card with schema = "aerode.recipe-card/1"',
        )  # fmt: skip
    values, faults = plain_record(RecipeCard, plain)
    if faults:
        raise RecordError(
            "this card cannot be taken", tuple(_placed(path, fault) for path, fault in faults),
            where=where, next_step="mend the named fields",
        )  # fmt: skip
    card = adapter.read(RecipeCard, values, where=where)
    _refuse_odd(card, where)
    return card


def _placed(path: tuple[str | int, ...], fault: FieldFault) -> FieldFault:
    named = " ".join(str(part + 1) if isinstance(part, int) else part for part in path)
    return dataclasses.replace(fault, field=named or fault.field)


def _refuse_odd(card: RecipeCard, where: str) -> None:
    """Shares that are none, or that do not make a whole."""
    for mix in card.mixes:
        total = sum(part.share.value for part in mix.dry)
        if not mix.dry or any(not 0 < part.share.value <= 1 for part in mix.dry):
            raise InputError(f"mix {mix.name!r} has a share that is none", where=where, allowed="above 0, up to 100 %")  # fmt: skip
        if abs(total - 1.0) > 0.02:
            raise InputError(
                f"the dry shares of {mix.name!r} add up to {100 * total:.1f} %", where=where,
                allowed="100 %, within what rounding does",
            )  # fmt: skip
    names = [mix.name for mix in card.mixes]
    if len(set(names)) != len(names):
        raise InputError("two mixes of this card have one name", where=where)
