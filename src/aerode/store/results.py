"""Answers that were computed, kept beside the bench with what they rest on; never a part of its history.

A row can be thrown away at any time: it holds nothing that was entered. Its key is the digest of
the question, of what was read, and of the code and the tables that computed it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from aerode.errors import DamagedError, NotFoundError
from aerode.store import digests
from aerode.store.layout import current, journal, result, series

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "Basis",
    "Read",
    "StoredResult",
    "faults_of",
    "fingerprint",
    "forget",
    "keep",
    "kept",
    "listed",
]

Read = tuple[str, ...]
"""One question that was put to the bench: ("one", kind, name), ("all", kind), ("all", kind, of),
("series", name), or ("journal",) for anything else."""


@dataclass(frozen=True, slots=True)
class Basis:
    """What an answer rests on: each question put to the bench with the digest of what stood there."""

    read: tuple[tuple[Read, str], ...]
    code: str
    tables: str

    def text(self) -> str:
        """The questions and digests as they are stored."""
        return json.dumps(sorted([list(r), d] for r, d in self.read), ensure_ascii=False, separators=(",", ":"))  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredResult:
    """One kept answer. `question` and `doc` are JSON texts."""

    schema: str
    about: str
    question: str
    basis: Basis
    at: str
    doc: str
    digest: str = ""

    @property
    def key(self) -> str:
        """The digest of question, readings, code and tables: the same for the same answer."""
        return digests.digest_of(
            [self.schema, self.about, self.question, self.basis.text(), self.basis.code, self.basis.tables]
        )  # fmt: skip

    def columns(self) -> dict[str, str]:
        """The row of the table `result`."""
        plain = {
            "key": self.key, "schema": self.schema, "about": self.about, "question": self.question,
            "rests_on": self.basis.text(), "code": self.basis.code, "tables": self.basis.tables,
            "at": self.at, "doc": self.doc,
        }  # fmt: skip
        return {**plain, "digest": digests.digest_of(list(plain.values()))}


def fingerprint(connection: sa.Connection, read: Read) -> str:
    """The digest of what stands on the bench for a question: it changes when the answer can change."""
    match read:
        case ("one", kind, name):
            bearers = sa.select(current.c.record).where(
                current.c.kind == kind, current.c.name == name
            )
            wanted = sa.select(current.c.head).where(current.c.record.in_(bearers))
        case ("all", kind, of):
            wanted = sa.select(current.c.head).where(current.c.kind == kind, current.c.parent == of)
        case ("all", kind):
            wanted = sa.select(current.c.head).where(current.c.kind == kind)
        case ("series", name):
            wanted = sa.select(series.c.digest).where(series.c.series == name)
        case _:
            wanted = sa.select(journal.c.chain).order_by(journal.c.seq.desc()).limit(1)
    return digests.digest_of(sorted(connection.execute(wanted).scalars()))


def _has_table(connection: sa.Connection) -> bool:
    return sa.inspect(connection).has_table(result.name)


def keep(connection: sa.Connection, one: StoredResult) -> bool:
    """Keep an answer; False where the same one is kept already."""
    there = connection.execute(sa.select(result.c.key).where(result.c.key == one.key)).scalar()
    if there is None:
        connection.execute(sa.insert(result), one.columns())
    return there is None


def _of_row(row: sa.RowMapping) -> StoredResult:
    read = tuple((tuple(r), str(d)) for r, d in json.loads(row["rests_on"]))
    return StoredResult(
        schema=row["schema"], about=row["about"], question=row["question"],
        basis=Basis(read, row["code"], row["tables"]), at=row["at"], doc=row["doc"],
        digest=row["digest"],
    )  # fmt: skip


def listed(connection: sa.Connection) -> list[StoredResult]:
    """Every kept answer, newest first; none on a bench of an earlier layout.

    Raises
    ------
    DamagedError
        One does not agree with its digest.
    """
    if not _has_table(connection):
        return []
    wanted = sa.select(result).order_by(result.c.at.desc(), result.c.key)
    return [_sound(row) for row in connection.execute(wanted).mappings()]


def _sound(row: sa.RowMapping) -> StoredResult:
    fault = _fault(row)
    if fault:
        raise DamagedError(fault, next_step=FORGET)
    return _of_row(row)


FORGET = "throw the kept answers away, nothing entered is lost: aerode bench keep --forget-all"


def _fault(row: sa.RowMapping) -> str:
    plain = [str(row[c.name]) for c in result.columns if c.name != "digest"]
    if digests.digest_of(plain) != row["digest"]:
        return f"the kept answer {row['schema']} on {row['about']!r} does not agree with its digest"
    return ""


def kept(connection: sa.Connection, key: str) -> StoredResult:
    """The kept answer whose key begins so.

    Raises
    ------
    NotFoundError
        None, or more than one.
    """
    found = [one for one in listed(connection) if one.key.startswith(key)]
    if len(found) != 1:
        raise NotFoundError(
            f"{'no' if not found else 'more than one'} kept answer has a key that begins with {key!r}",
            next_step="`aerode bench show results` lists them",
        )
    return found[0]


def forget(connection: sa.Connection, keys: Sequence[str] | None = None) -> int:
    """Throw kept answers away, all of them or those of some keys; the number that is gone."""
    if not _has_table(connection):
        return 0
    statement = sa.delete(result)
    if keys is not None:
        statement = statement.where(result.c.key.in_(keys))
    return int(connection.execute(statement).rowcount)


def faults_of(connection: sa.Connection) -> list[tuple[str, str]]:
    """What is wrong with the kept answers: which one, and what."""
    if not _has_table(connection):
        return []
    rows: Any = connection.execute(sa.select(result)).mappings()
    return [(str(row["about"]), fault) for row in rows if (fault := _fault(row))]
