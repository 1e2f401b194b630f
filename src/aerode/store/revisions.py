"""A revision: one state of one record, who wrote it, when, why, and what it came from."""

from __future__ import annotations

import dataclasses
from typing import Any

from aerode.records.marks import record
from aerode.store import digests

__all__ = ["WITHDRAWN", "Head", "Revision"]

WITHDRAWN = "withdrawn/1"
"""The schema of a revision that takes a record off the lists; its document keeps the name only."""


@record
class Revision:
    """One state of one record. `name` is the name it had in this state; `doc` is the stored text."""

    digest: str
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

    def columns(self) -> dict[str, Any]:
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

    def sealed(self) -> Revision:
        """The same revision with the digest that its columns give."""
        return dataclasses.replace(self, digest=self.computed())

    def computed(self) -> str:
        """The digest that the other columns give; differs from `digest` in a damaged row."""
        row = self.columns()
        del row["digest"]
        return digests.of_revision(**row)


@record
class Head:
    """The newest state of a record. Two of them for one record are a conflict."""

    record: str
    head: str
    kind: str
    name: str
    parent: str
    made: int
    """Place in the journal of the first revision of the record: the order of first storing."""
