"""A revision: one state of one record, who wrote it, when, why, and what it came from."""

from __future__ import annotations

import dataclasses
import json
from typing import TYPE_CHECKING, Any

from aerode.records.marks import record
from aerode.store import digests

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["WITHDRAWN", "Revision", "parents_first", "revision_of_row"]

WITHDRAWN = "withdrawn/1"
"""The schema of a revision that takes a record off the lists; its document keeps the name only."""


@record
class Revision:
    """One state of one record. `name` is the name it had in this state; `doc` is the stored text."""

    digest: str = ""
    record: str
    kind: str
    name: str
    schema: str
    at: str
    who: str = ""
    why: str = ""
    parents: tuple[str, ...] = ()
    doc: str

    @property
    def withdrawn(self) -> bool:
        """True if this revision takes the record off the lists."""
        return self.schema == WITHDRAWN

    def columns(self) -> dict[str, str]:
        """The row of the table `revision`."""
        return {
            "digest": self.digest,
            "record": self.record,
            "kind": self.kind,
            "schema": self.schema,
            "at": self.at,
            "who": self.who,
            "why": self.why,
            "doc": self.doc,
            "parents": digests.parents_text(self.parents),
        }

    def computed(self) -> str:
        """The digest that the other columns give; differs from `digest` in a damaged row."""
        row = self.columns()
        del row["digest"]
        return digests.of_revision(**row)

    def sealed(self) -> Revision:
        """The same revision with the digest that its columns give."""
        return dataclasses.replace(self, digest=self.computed())


def revision_of_row(row: Mapping[Any, Any]) -> Revision:
    """A row of the table `revision` as it stands, unverified."""
    texts = {key: _text(row[key]) for key in _COLUMNS}
    return Revision(
        digest=texts["digest"],
        record=texts["record"],
        kind=texts["kind"],
        name=_name_in(texts["kind"], texts["doc"]),
        schema=texts["schema"],
        at=texts["at"],
        who=texts["who"],
        why=texts["why"],
        parents=_parents_in(texts["parents"]),
        doc=texts["doc"],
    )


_COLUMNS = ("digest", "record", "kind", "schema", "at", "who", "why", "doc", "parents")


def _text(value: Any) -> str:
    """A column as text; a damaged row may hold something else, and its digest tells on it."""
    if isinstance(value, bytes):
        return value.decode("utf-8", "surrogateescape")
    return "" if value is None else str(value)


def _name_in(kind: str, doc: str) -> str:
    """The name in a document; a damaged one has none, and its digest tells on it."""
    default = "bench" if kind == "bench" else ""  # the one kind whose name has a default
    try:
        plain: Any = json.loads(doc)
        return str(plain.get("name", default)).encode("utf-8", "replace").decode("utf-8")
    except (ValueError, AttributeError, RecursionError):
        return ""


def _parents_in(text: str) -> tuple[str, ...]:
    """The parents in a row; a damaged text stays as it is, and its digest tells on it."""
    try:
        parents: Any = json.loads(text)
        listed = tuple(str(digest) for digest in parents)
    except (ValueError, TypeError, RecursionError):
        return (text,)
    return listed if digests.parents_text(listed) == text else (text,)


def parents_first(revisions: Iterable[Revision]) -> list[Revision]:
    """The same revisions with every parent before its children, otherwise in their order."""
    waiting = {entry.digest: entry for entry in revisions}
    ordered: list[Revision] = []
    stack = list(reversed(waiting.values()))
    seen: set[str] = set()
    while stack:
        entry = stack[-1]
        missing = [
            waiting[parent]
            for parent in entry.parents
            if parent in waiting and parent not in seen and parent != entry.digest
        ]
        if missing and entry.digest not in seen:
            stack.extend(missing)
            continue
        stack.pop()
        if entry.digest not in seen:
            seen.add(entry.digest)
            ordered.append(entry)
    return ordered
