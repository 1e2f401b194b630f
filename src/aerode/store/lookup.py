"""Finding states on an open bench: by kind and name, by digest, all of a kind, the near misses."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from aerode.errors import ConflictError, DamagedError, NotFoundError
from aerode.store.copying import streamed
from aerode.store.heads import Head
from aerode.store.layout import current, journal, revision
from aerode.store.ledger import chunks
from aerode.store.revisions import WITHDRAWN, Revision, revision_of_row

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

__all__ = [
    "Standing",
    "around",
    "by_digest",
    "conflict",
    "conflicts",
    "families",
    "heads_of",
    "listed",
    "many_headed",
    "nearest",
    "newest",
    "newest_of",
    "not_found",
    "one",
    "only",
    "refuse_conflicts",
    "sound",
    "stored_order",
    "taken",
    "withdrawn",
]


@dataclass(frozen=True, slots=True)
class Standing:
    """A head with the revision it points at."""

    head: Head
    revision: Revision


_COLUMNS = ("record", "head", "kind", "name", "parent", "made")
_JOINED = sa.select(revision, *(current.c[name].label(f"head_{name}") for name in _COLUMNS)).join(
    current, revision.c.digest == current.c.head
)


def _standing(row: Any, where: str) -> Standing:
    head = Head(**{name: row[f"head_{name}"] for name in _COLUMNS})
    entry = sound(revision_of_row(row), where)
    if (entry.record, entry.kind, entry.name) != (head.record, head.kind, head.name):
        raise _damaged(f"the list of records says {head.kind} {head.name!r} where", entry, where)
    return Standing(head, entry)


def sound(entry: Revision, where: str) -> Revision:
    """The revision, if it agrees with its digest.

    Raises
    ------
    DamagedError
        It does not; the record is named.
    """
    if entry.computed() == entry.digest:
        return entry
    raise _damaged("", entry, where)


def _damaged(what: str, entry: Revision, where: str) -> DamagedError:
    return DamagedError(
        f"{what} the stored {entry.kind} {entry.name!r} does not agree with its digest".strip()
        if not what
        else f"{what} {entry.kind} {entry.name!r} is stored",
        where=where,
        next_step="run `aerode bench check`, and keep the file as it is",
    )


def _run(connection: sa.Connection, wanted: sa.Select[Any], where: str) -> list[Standing]:
    rows = connection.execute(wanted.order_by(current.c.made, current.c.head)).mappings()
    return [_standing(row, where) for row in rows]


def families(
    connection: sa.Connection, kind: str, names: Iterable[str], where: str
) -> dict[str, list[Standing]]:
    """For each name the states of every record that stands under it: one, or a conflict.

    A name that is free, or whose record is withdrawn, is not in the answer.
    """
    answer: dict[str, list[Standing]] = {}
    for some in chunks(names):
        bearers = sa.select(current.c.record).where(
            current.c.kind == kind, current.c.name.in_(some)
        )
        standing = _single(_run(connection, _JOINED.where(current.c.record.in_(bearers)), where))
        for name in some:
            records = {
                s.head.record
                for s in standing
                if s.head.name == name and s.head.kind == kind and not s.revision.withdrawn
            }
            if records:
                answer[name] = [s for s in standing if s.head.record in records]
    return answer


def one(connection: sa.Connection, kind: str, name: str, where: str, record: str = "") -> Revision:
    """The one state under a kind and name; `record` tells two of the same name apart.

    Raises
    ------
    NotFoundError, ConflictError
        None, or several; the near misses or all of them are listed.
    """
    found = families(connection, kind, [name], where).get(name, [])
    found = [s for s in found if not record or s.head.record == record]
    if not found:
        raise not_found(connection, kind, name, where)
    return only(found, where).revision


def heads_of(connection: sa.Connection, record: str, where: str) -> list[Revision]:
    """The newest states of a record by its identity."""
    return [s.revision for s in _run(connection, _JOINED.where(current.c.record == record), where)]


def many_headed(connection: sa.Connection, records: Iterable[str]) -> set[str]:
    """Those of some records that have more than one newest state."""
    found: set[str] = set()
    for some in chunks(records):
        wanted = sa.select(current.c.record).where(current.c.record.in_(some))
        found.update(connection.execute(wanted.group_by(current.c.record).having(sa.func.count() > 1)).scalars())  # fmt: skip
    return found


def withdrawn(connection: sa.Connection, kind: str, name: str, where: str) -> Revision | None:
    """The withdrawal that took this name off the list last, if it still stands."""
    wanted = (
        sa.select(revision)
        .join(current, revision.c.digest == current.c.head)
        .join(journal, revision.c.digest == journal.c.digest)
        .where(current.c.kind == kind, current.c.name == name, revision.c.schema == WITHDRAWN)
        .order_by(journal.c.seq.desc())
    )
    row = connection.execute(wanted.limit(1)).mappings().first()
    return sound(revision_of_row(row), where) if row else None


def listed(
    connection: sa.Connection, kind: str, where: str, of: str | None = None
) -> list[Standing]:
    """The states of a kind that stand on the list, in the order of first storing."""
    wanted = _JOINED.where(current.c.kind == kind)
    if of is not None:
        wanted = wanted.where(current.c.parent == of)
    return [s for s in _single(_run(connection, wanted, where)) if not s.revision.withdrawn]


def around(
    connection: sa.Connection,
    kind: str,
    where: str,
    of: Sequence[str],
    owners: Sequence[str],
    field: str,
) -> list[Standing]:
    """The states of a kind that belong to any of some things, name one in a field, or belong to nothing.

    In the order of first storing. `owners` are the kinds that such a thing may be of.
    """
    there = sa.select(current.c.name).where(current.c.kind.in_(owners))
    if connection.dialect.name == "sqlite":
        sound = sa.func.json_valid(revision.c.doc) == 1  # a damaged one is named by its digest
        said = sa.case((sound, sa.func.json_extract(revision.c.doc, f"$.{field}")), else_="")
    else:
        said = sa.cast(revision.c.doc, sa.JSON)[field].as_string()
    wanted = _JOINED.where(
        current.c.kind == kind,
        sa.or_(current.c.parent.in_(of), current.c.parent.not_in(there), said.in_(of)),
    )
    return [s for s in _single(_run(connection, wanted, where)) if not s.revision.withdrawn]


def newest_of(connection: sa.Connection, kind: str, where: str) -> Iterator[Revision]:
    """The states of a kind that stand on the list, one by one, in the order of first storing.

    Of a conflict all newest states come.
    """
    wanted = _JOINED.where(current.c.kind == kind).order_by(current.c.made, current.c.head)
    own = ""
    before: Standing | None = None
    for row in streamed(connection, wanted):
        s = _standing(row, where)
        own = own or s.head.record
        twin = before is not None and _are_twins((before, s))
        before = s
        if not s.revision.withdrawn and not twin and (kind != "bench" or s.head.record == own):
            yield s.revision


def _own(standing: list[Standing]) -> list[Standing]:
    """Without the titles of other benches that were taken in: the first one stored is of this bench."""
    titles = [s.head.made for s in standing if s.head.kind == "bench"]
    return [s for s in standing if s.head.kind != "bench" or s.head.made == min(titles)]


def _are_twins(states: Sequence[Standing]) -> bool:
    """True for newest states of one record that say the same: nothing is to be settled there."""
    return len({(s.head.record, s.revision.schema, s.revision.doc) for s in states}) == 1


def _single(standing: list[Standing]) -> list[Standing]:
    """Of twins the one with the least digest, which is the same on every copy of the bench."""
    by_record: dict[str, list[Standing]] = {}
    for s in _own(standing):
        by_record.setdefault(s.head.record, []).append(s)
    groups = by_record.values()
    return [s for group in groups for s in (group[:1] if _are_twins(group) else group)]


def by_digest(connection: sa.Connection, digest: str, where: str) -> Revision:
    """The revision whose digest begins so.

    Raises
    ------
    NotFoundError
        None, or more than one.
    """
    wanted = sa.select(revision).where(revision.c.digest.startswith(digest, autoescape=True))
    rows = connection.execute(wanted.limit(2)).mappings().all()
    if len(rows) != 1:
        few = "no revision" if not rows else "more than one revision"
        raise NotFoundError(
            f"{few} has a digest that begins with {digest!r}",
            where=where,
            next_step="`aerode bench history` lists them",
        )
    return sound(revision_of_row(rows[0]), where)


def stored_order(
    connection: sa.Connection, kind: str | None, where: str, *, most: int | None = None
) -> list[Revision]:
    """All revisions, or those of a kind, in the order in which they came into this file; or the newest few."""
    wanted = sa.select(revision).join(journal, journal.c.digest == revision.c.digest)
    if kind is not None:
        wanted = wanted.where(revision.c.kind == kind)
    newest_first = wanted.order_by(journal.c.seq.desc()).limit(most)
    rows = connection.execute(newest_first).mappings().all()
    return [sound(revision_of_row(row), where) for row in reversed(rows)]


def only(standing: Sequence[Standing], where: str) -> Standing:
    """The one state among these.

    Raises
    ------
    ConflictError
        More than one; all are listed.
    """
    if len(standing) > 1:
        raise conflict(standing, where)
    return standing[0]


def conflict(standing: Sequence[Standing], where: str) -> ConflictError:
    """The refusal that lists the states that stand against each other."""
    states = [s.revision for s in standing]
    lines = "; ".join(
        f"{s.digest[:12]} {s.name!r} at {s.at} by {s.who or 'nobody named'}"
        + (f" ({s.why})" if s.why else "")
        for s in states
    )
    if len({s.record for s in states}) == 1:
        return ConflictError(
            f"the {states[0].kind} {states[0].name!r} has {len(states)} newest states",
            where=where,
            allowed=lines,
            next_step=f"settle it: aerode bench settle {states[0].kind} {states[0].name!r}",
        )
    return ConflictError(
        f"more than one {states[0].kind} bears the name {states[0].name!r}",
        where=where,
        allowed=lines,
        next_step=f"rename one of them: aerode bench settle {states[0].kind} {states[0].name!r}",
    )


def taken(standing: Sequence[Standing], where: str) -> ConflictError:
    """The refusal of a name that another record bears."""
    entry = standing[0].revision
    return ConflictError(
        f"the name {entry.name!r} belongs to another {entry.kind}",
        where=where,
        allowed="a name that no other record of the kind bears",
        next_step="choose another name, or rename the other one first",
    )


def _groups(standing: Iterable[Standing]) -> list[list[Standing]]:
    """States that stand against each other: of one record, or of one kind and name."""
    by_record: dict[str, list[Standing]] = {}
    by_name: dict[tuple[str, str], list[Standing]] = {}
    for s in standing:
        by_record.setdefault(s.head.record, []).append(s)
        by_name.setdefault((s.head.kind, s.head.name), []).append(s)
    groups = [group for group in by_record.values() if not _are_twins(group)]
    namesakes = (
        [s for s in group if not s.revision.withdrawn]
        for group in by_name.values()
        if len({s.head.record for s in group}) > 1
    )
    return groups + [group for group in namesakes if len({s.head.record for s in group}) > 1]


def refuse_conflicts(standing: Sequence[Standing], where: str) -> None:
    """Refuse a list in which states stand against each other."""
    for group in _groups(standing):
        raise conflict(group, where)


def conflicts(connection: sa.Connection, where: str) -> list[list[Standing]]:
    """Every group of states on the bench that stand against each other."""
    of_record = sa.select(current.c.record).group_by(current.c.record).having(sa.func.count() > 1)
    name = (current.c.kind, current.c.name)
    named = sa.select(*name).group_by(*name).having(sa.func.count() > 1).subquery()
    bearers = sa.select(current.c.record).join(
        named, sa.and_(current.c.kind == named.c.kind, current.c.name == named.c.name)
    )
    wanted = _JOINED.where(sa.or_(current.c.record.in_(of_record), current.c.record.in_(bearers)))
    return _groups(_single(_run(connection, wanted, where)))


def not_found(connection: sa.Connection, kind: str | None, name: str, where: str) -> NotFoundError:
    """The refusal that names the near misses, of a kind or of all kinds."""
    wanted = sa.select(current.c.name).distinct()
    if kind is not None:
        wanted = wanted.where(current.c.kind == kind)
    names = [str(row.name) for row in connection.execute(wanted)]
    near = nearest(name, names)
    of = f" {kind}" if kind else ""
    return NotFoundError(
        f"no {kind or 'record'} is called {name!r}",
        where=where,
        allowed=", ".join(near) if near else "nothing of that kind is on this bench yet",
        next_step=f"check the name; `aerode bench show{of}` lists what is there",
    )


def nearest(name: str, names: Sequence[str]) -> list[str]:
    """The names that look most like the one asked for; the first few if none does.

    >>> nearest("t6", ["T5", "T6", "T60"])[0]
    'T6'
    """
    folded = {known.casefold(): known for known in names}
    near = difflib.get_close_matches(name.casefold(), folded, n=5, cutoff=0.5)
    return [folded[one] for one in near] or sorted(names)[:8]


def newest(connection: sa.Connection) -> str:
    """The chain value of the newest line of the journal; "" before the first."""
    line = connection.execute(
        sa.select(journal.c.chain).order_by(journal.c.seq.desc()).limit(1)
    ).scalar()
    return "" if line is None else str(line)
