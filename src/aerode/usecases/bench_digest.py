"""One checksum over claim, plan and raw data: published today, it proves tomorrow what was there."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from aerode.errors import InputError, StoreError
from aerode.records.bench_digests import BenchDigest
from aerode.store.history_lines import ChunkLine, RevisionLine, chain_of, lines_of

if TYPE_CHECKING:
    import os

    from aerode.store.bench_file import BenchFile
    from aerode.store.history_lines import Line

__all__ = ["COUNTED", "digest", "sql_of"]

COUNTED = ("claim", "order", "electrode", "cell", "instrument", "run", "unsorted")
"""The kinds on which a verdict rests: what was claimed, the plan, the pieces, and what was read."""


def sql_of(line: int) -> str:
    """The question that gives the digests, sorted, up to a line of the journal.

    >>> sql_of(7)[:47]
    'SELECT journal.digest FROM journal LEFT JOIN re'
    """
    kinds = ", ".join(f"'{kind}'" for kind in COUNTED)
    return (
        "SELECT journal.digest FROM journal LEFT JOIN revision ON revision.digest = journal.digest "
        f"WHERE journal.seq <= {line} AND (revision.kind IN ({kinds}) OR revision.kind IS NULL) "
        "ORDER BY journal.digest"
    )


@dataclass(slots=True)
class _Counted:
    digests: list[str] = field(default_factory=list[str])
    counts: dict[str, int] = field(default_factory=dict[str, int])
    newest: str = ""

    def add(self, line: Line) -> None:
        word = "files"
        if isinstance(line, RevisionLine):
            word = line.entry.kind
            self.newest = max(self.newest, line.entry.at) if word in COUNTED else self.newest
        elif isinstance(line, ChunkLine):
            word = "series chunks"
        if not isinstance(line, RevisionLine) or word in COUNTED:
            self.digests.append(line.digest)
            self.counts[word] = self.counts.get(word, 0) + 1

    def text(self) -> str:
        return "".join(f"{digest}\n" for digest in sorted(self.digests))


def digest(
    bench: BenchFile,
    *,
    line: int | None = None,
    list_to: str | os.PathLike[str] = "",
    against: str | os.PathLike[str] = "",
) -> BenchDigest:
    """The checksum of a bench now, or up to an earlier line of its journal; every row is verified.

    Counted are all states of claims, orders of measuring, electrodes, cells, instruments, runs and
    unsorted readings, all chunks of series and all files. The names, recipes and numbers cannot be
    told from it.

    Parameters
    ----------
    bench : BenchFile
        Open.
    line : int, optional
        A line of the journal: what came after it does not count.
    list_to : path
        A new file for the list of digests; its own SHA-256 is the checksum.
    against : path or str
        Such a list, or a checksum, from an earlier day: is all of it here?

    Returns
    -------
    BenchDigest

    Raises
    ------
    DamagedError
        A row does not agree with its digest.
    InputError
        No such line; a list that is none.
    StoreError
        The list is there already.
    """
    counted = _Counted()
    with bench.reading() as connection:
        last = chain_of(connection)[1]
        upto = last if line is None else line
        if not 1 <= upto <= last:
            raise InputError(
                f"the journal has no line {upto}", where=bench.label, allowed=f"1 to {last}"
            )
        for number, entry in enumerate(lines_of(connection, bench.label), 1):
            if number > upto:
                break
            counted.add(entry)
    text = counted.text()
    checksum = hashlib.sha256(text.encode()).hexdigest()
    if str(list_to):
        _write(Path(list_to), text)
    missing, agrees = _compare(str(against), checksum, set(counted.digests))
    return BenchDigest(
        headline=_headline(checksum, len(counted.digests), missing, agrees),
        checksum=checksum,
        entries=len(counted.digests),
        counts=dict(sorted(counted.counts.items())),
        line=upto,
        newest=counted.newest,
        sql=sql_of(upto),
        missing=missing,
        agrees=agrees,
    )


def _headline(checksum: str, entries: int, missing: tuple[str, ...], agrees: bool | None) -> str:
    if agrees:
        return "It agrees: everything that was counted then is on this bench, unchanged"
    if missing:
        return f"DIFFERS: {len(missing)} digests of the list are not on this bench"
    if agrees is False:
        return "DIFFERS: this checksum is not the one of the bench at this line of its journal"
    return f"{checksum} ({entries} entries)"


def _write(path: Path, text: str) -> None:
    try:
        with path.open("x", encoding="ascii", newline="\n") as file:
            file.write(text)
    except FileExistsError as problem:
        raise StoreError(
            "something is there already, and it is not overwritten", where=str(path),
            next_step="choose another name",
        ) from problem  # fmt: skip
    except OSError as problem:
        raise StoreError(
            f"the list cannot be written: {problem.strerror}", where=str(path)
        ) from problem


def _compare(against: str, checksum: str, here: set[str]) -> tuple[tuple[str, ...], bool | None]:
    if not against:
        return (), None
    if re.fullmatch(r"[0-9a-fA-F]{64}", against):
        return (), against.lower() == checksum
    try:
        listed = Path(against).read_text("ascii").split()
    except (OSError, UnicodeDecodeError) as problem:
        raise InputError(
            "this list cannot be read", where=against,
            allowed="a file that `aerode bench digest --list` wrote, or a checksum",
        ) from problem  # fmt: skip
    if not listed or not all(re.fullmatch(r"[0-9a-f]{64}", word) for word in listed):
        raise InputError("this is no list of digests", where=against, allowed="64 letters a line")
    missing = tuple(word for word in listed if word not in here)
    return missing, not missing
