"""What differs between two states of a record, field by field, in the words and units of a bench."""

from __future__ import annotations

import dataclasses
import re
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Any, cast

from aerode.records.bench_answers import ShownState
from aerode.records.bench_packages import FieldChange
from aerode.records.marks import Condition, Entry, Share
from aerode.records.materials import Price
from aerode.records.mixes import Portion
from aerode.usecases.bench_fields import field_hints, peeled, unit_of_field
from aerode.usecases.bench_words import written_field, written_value

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from aerode.store.revisions import Revision

__all__ = ["NOTHING", "change_lines", "changes_between", "field_words", "shown_state"]

NOTHING = "nothing"
"""What stands for an empty field."""
_SHORT = 80
_FEW = 3
"""As many parts that were added to a list are told one by one."""


def changes_between(before: object | None, after: object | None) -> tuple[FieldChange, ...]:
    """Every field that differs, with its path; parts of a list are counted from 1.

    Parameters
    ----------
    before, after : record, optional
        Two states of one record; None where it was not there or is off the lists.

    Returns
    -------
    tuple of FieldChange
        With "nothing" for what is not there: a part that was added or taken out.

    Examples
    --------
    >>> from aerode.records.electrodes import Electrode, Seal
    >>> old = Electrode(name="T1", seal=Seal(sealant="wax"))
    >>> changes_between(old, Electrode(name="T1", seal=Seal(sealant="epoxy"), note="x"))[0]
    FieldChange(field='seal.sealant', before='wax', after='epoxy')
    """
    return tuple(_of_record(before, after, ""))


def _of_record(before: Any, after: Any, path: str) -> Iterator[FieldChange]:
    """The changed fields of two records of one class, of which one may be missing."""
    cls = cast("type[Any]", type(after if after is not None else before))
    for name in field_hints(cls):
        old, new = (None if one is None else getattr(one, name) for one in (before, after))
        if old == new or (_is_empty(old) and _is_empty(new)):
            continue
        here = f"{path}.{name}" if path else name
        if isinstance(old, tuple) and isinstance(new, tuple):
            yield from _of_list(cls, name, before, after, here)
        elif isinstance(old, dict) and isinstance(new, dict):
            yield from _of_names(cast("dict[str, Any]", old), cast("dict[str, Any]", new), here)
        elif _same_sort(old, new):
            yield from _of_record(old, new, here)
        else:
            yield FieldChange(
                field=here, before=field_words(before, name), after=field_words(after, name)
            )


def _of_list(cls: type, name: str, before: Any, after: Any, path: str) -> Iterator[FieldChange]:
    """What was added to a list, taken out of it, or changed in one of its parts."""
    old, new = getattr(before, name), getattr(after, name)
    told = [[_part(cls, name, one, part) for part in parts] for one, parts in ((before, old), (after, new))]  # fmt: skip
    if not any(_is_part(part) for part in (*old, *new)):  # a few numbers: whole against whole
        first, second = ("; ".join(parts) or NOTHING for parts in told)
        yield FieldChange(field=path, before=_short(first), after=_short(second))
        return
    keys = [[repr(part) for part in parts] for parts in (old, new)]
    for act, a, b, c, d in SequenceMatcher(None, *keys, autojunk=False).get_opcodes():
        if act == "equal":
            continue
        for k in range(max(b - a, d - c)):
            was, now = a + k < b, c + k < d
            number = (c if now else a) + k + 1
            both = was and now and _same_sort(old[a + k], new[c + k])
            inner = [*_of_record(old[a + k], new[c + k], f"{path} {number}")] if both else []
            yield from inner or [
                FieldChange(
                    field=f"{path} {number}",
                    before=_short(told[0][a + k]) if was else NOTHING,
                    after=_short(told[1][c + k]) if now else NOTHING,
                )
            ]


def _of_names(old: dict[str, Any], new: dict[str, Any], path: str) -> Iterator[FieldChange]:
    for key in {**old, **new}:
        if old.get(key) != new.get(key):
            first, second = (NOTHING if one.get(key) is None else str(one[key]) for one in (old, new))  # fmt: skip
            yield FieldChange(field=f"{path}.{key}", before=first, after=second)


def _part(cls: type, name: str, record: Any, part: Any) -> str:
    """One part of a list, in words."""
    siblings = {other: getattr(record, other) for other in field_hints(cls)}
    base = peeled(field_hints(cls)[name])[0]
    inner = base.__args__[0] if getattr(base, "__args__", None) else Any
    return written_value(part, inner, unit_of_field(cls, name, siblings))


_WHOLE = (Entry, Condition, Share, Portion, Price)
"""Parts that are told whole, as they are written in one field."""


def _is_part(value: Any) -> bool:
    return dataclasses.is_dataclass(value) and not isinstance(value, type)


def _same_sort(old: Any, new: Any) -> bool:
    """Whether two parts can be compared field by field."""
    whole = isinstance(old, _WHOLE)
    return _is_part(old) and cast("type[Any]", type(old)) is type(new) and not whole


def _is_empty(value: Any) -> bool:
    return value is None or value in ((), "", {})


def _short(text: str) -> str:
    return text if len(text) <= _SHORT else f"{text[: _SHORT - 3]}..."


def field_words(record: object | None, name: str) -> str:
    """A field of a state in a few words; "nothing" where it is empty or there is no such state."""
    if record is None or _is_empty(getattr(record, name, None)):
        return NOTHING
    return _short(written_field(record, name))


def change_lines(changes: Sequence[FieldChange]) -> tuple[str, ...]:
    """Changes as lines to read: what was added, taken out, or became something else.

    >>> change_lines([FieldChange(field="note", before="nothing", after="thin"),
    ...               FieldChange(field="gap", before="4 mm", after="3 mm")])
    ('note added: thin', 'gap: 4 mm -> 3 mm')
    """
    lines: list[str] = []
    for stem, several in _together(changes):
        if len(several) > _FEW:
            first, last = several[0].after, several[-1].after
            lines.append(f"{stem}: {len(several)} added, from {first} to {last}")
        else:
            lines += [_line(one) for one in several]
    return tuple(lines)


_ONE_OF = re.compile(r"\b([a-z_]+?)(?:(?<=sh)es|(?<!s)s) (\d+)")
"""One of several is said in the singular: "reading 3", not "readings 3"."""


def _line(one: FieldChange) -> str:
    path = _ONE_OF.sub(r"\1 \2", one.field).replace(".", ", ")
    if one.before == NOTHING:
        return f"{path} added: {one.after}"
    if one.after == NOTHING:
        return f"{path} taken out: {one.before}"
    return f"{path}: {one.before} -> {one.after}"


def _together(changes: Sequence[FieldChange]) -> Iterator[tuple[str, list[FieldChange]]]:
    """Parts added to one list in one go stand together; all else by itself."""
    waiting: list[FieldChange] = []
    stem = ""
    for one in changes:
        head, _, number = one.field.rpartition(" ")
        here = head if number.isdigit() and one.before == NOTHING else ""
        if waiting and here != stem:
            yield stem, waiting
            waiting = []
        if here:
            waiting, stem = [*waiting, one], here
        else:
            yield one.field, [one]
    if waiting:
        yield stem, waiting


def shown_state(entry: Revision, changes: tuple[str, ...] = ()) -> ShownState:
    """A state as it is shown: when, who, why."""
    return ShownState(
        digest=entry.digest, at=entry.at, kind=entry.kind, name=entry.name, who=entry.who,
        why=entry.why, changes=changes,
    )  # fmt: skip
