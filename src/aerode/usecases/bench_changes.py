"""What differs between two plain records, field by field and at any depth."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, cast

from aerode.records.bench_answers import ShownState
from aerode.records.bench_packages import FieldChange

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from aerode.store.revisions import Revision

__all__ = ["changes_between", "shown_state", "written"]

_SHORT = 60


def changes_between(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[FieldChange, ...]:
    """Every field that differs, with its path; parts of a list are counted from 1.

    >>> changes_between({"seal": {"sealant": "wax"}}, {"seal": {"sealant": "epoxy"}, "note": "x"})[1]
    FieldChange(field='note', before='nothing', after='x')
    """
    return tuple(
        FieldChange(field=path, before=written(old), after=written(new))
        for path, old, new in _walk(before, after, "")
    )


def _walk(before: Any, after: Any, path: str) -> Iterator[tuple[str, Any, Any]]:
    if before == after:
        return
    if isinstance(before, dict) and isinstance(after, dict):
        old, new = cast("dict[str, Any]", before), cast("dict[str, Any]", after)
        for key in {**old, **new}:
            yield from _walk(old.get(key), new.get(key), f"{path}.{key}" if path else key)
    elif isinstance(before, list) and isinstance(after, list):
        first, second = cast("list[Any]", before), cast("list[Any]", after)
        for place in range(max(len(first), len(second))):
            old = first[place] if place < len(first) else None
            new = second[place] if place < len(second) else None
            yield from _walk(old, new, f"{path} {place + 1}")
    else:
        yield path, before, after


def written(value: Any) -> str:
    """A plain value in a few letters."""
    if value is None:
        return "nothing"
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= _SHORT else f"{text[: _SHORT - 3]}..."


def shown_state(entry: Revision, changes: tuple[str, ...] = ()) -> ShownState:
    """A state as it is shown: when, who, why."""
    return ShownState(
        digest=entry.digest, at=entry.at, kind=entry.kind, name=entry.name, who=entry.who,
        why=entry.why, changes=changes,
    )  # fmt: skip
