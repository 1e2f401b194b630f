"""A bench as a package of an open standard: a Data Package with its history, tables and files."""

from __future__ import annotations

import csv
import json
import tempfile
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

import sqlalchemy as sa

from aerode.records import KINDS, adapter
from aerode.records.bench_packages import BenchExport
from aerode.records.places import Bench
from aerode.store import lookup, series_packing
from aerode.store.history_lines import FileLine, RevisionLine, chain_of, lines_of
from aerode.store.layout import revision
from aerode.store.package_in import HISTORY
from aerode.store.package_lines import Header, file_path, line_text, text_of
from aerode.store.parcels import sink_for, stream_sink
from aerode.store.series_tail import are_waiting
from aerode.usecases.bench_copies import pack_logs
from aerode.usecases.bench_tables import (
    STATE,
    WITHHELD,
    Column,
    Table,
    cell_of,
    guarded,
    rows_of,
    tables_of,
    value_at,
)
from aerode.usecases.bench_withhold import Withholding

if TYPE_CHECKING:
    import os
    from collections.abc import Generator, Iterable, Iterator

    from aerode.store.bench_file import BenchFile
    from aerode.store.parcels import Sink
    from aerode.store.revisions import Revision

__all__ = ["README", "export"]

README = """This folder is one bench: everything that was entered on it, and every change since.

datapackage.json   what lies here, after the open Data Package standard (datapackage.org)
history.jsonl      every state of every record in the order in which it was stored, one JSON object
                   per line; a bench is put back from this file
tables/            the newest states as tables for people: one per kind, one per list inside it;
                   numbers in SI, units in the headings
files/             photos and logs

In tables/, a text that begins with = + - @ or an apostrophe has one apostrophe before it, so that
no spreadsheet computes it. An edited table is taken in with `aerode bench import`.
"""


def export(
    bench: BenchFile,
    target: str | os.PathLike[str] | IO[bytes],
    *,
    withhold: Iterable[str] = (),
) -> BenchExport:
    """Write a whole bench as a Data Package; only a few rows are in memory at any moment.

    Parameters
    ----------
    bench : BenchFile
        Open.
    target : path or file
        A new `.zip`, a new folder (any other name), or a stream open for writing bytes, which
        gets the ZIP archive.
    withhold : iterable of str
        Names of fields to leave out: "who", "note", "price"; "files" for all photos and logs,
        "originals" for photos as they came from the camera.

    Returns
    -------
    BenchExport

    Raises
    ------
    StoreError
        Something is at the target already, or it cannot be written.
    DamagedError
        A row does not agree with its digest: nothing damaged goes out.
    InputError
        No field is called like one that is to be withheld.
    """
    withholding = Withholding.of(withhold)
    if bench.place.path is not None:
        pack_logs(bench.place.path)
    with ExitStack() as stack:
        connection = stack.enter_context(bench.reading())
        is_path = isinstance(target, str) or hasattr(target, "__fspath__")
        sink = stack.enter_context(
            sink_for(Path(target)) if is_path else stream_sink(target)  # type: ignore[arg-type]
        )
        written = _Package(bench, connection, sink, withholding)
        written.everything()
        label = str(target) if is_path else "a stream"
    return written.answer(label)


class _Package:
    """One export: what was written so far, and its description."""

    def __init__(
        self, bench: BenchFile, connection: sa.Connection, sink: Sink, withholding: Withholding
    ) -> None:
        self._bench = bench
        self._connection = connection
        self._sink = sink
        self._withholding = withholding
        self._resources: list[dict[str, Any]] = []
        self._tables: dict[str, int] = {}
        self._counts = {"states": 0, "series": 0, "files": 0, "originals": 0}
        self._originals = _originals(connection)

    def everything(self) -> None:
        """Files first, then the history that names them, then the tables and the description."""
        sizes = self._files()
        self._history(sizes)
        with tempfile.TemporaryDirectory() as folder:
            for kind in KINDS:
                self._kind(kind, Path(folder))
        self._resource("readme", "README.txt", "text/plain", README.splitlines())
        self._describe()

    # -- history and files ----------------------------------------------------------------------

    def _files(self) -> dict[str, tuple[str, int]]:
        """The content of every file, and its SHA-256 and length by digest."""
        sizes: dict[str, tuple[str, int]] = {}
        for line in lines_of(self._connection, self._bench.label):
            if not isinstance(line, FileLine):
                continue
            self._counts["files"] += 1
            original = line.digest in self._originals
            if line.media != series_packing.MEDIA and self._withholding.files(original=original):
                word = "files" if "files" in self._withholding.words else "originals"
                self._withholding.count(word)
                continue
            self._counts["originals"] += original
            with self._sink.entry(file_path(line)) as entry:
                entry.write(line.data())
            sizes[line.digest] = (entry.sha256, entry.length)
            self._note(
                f"file-{line.digest}", file_path(line), line.media, entry.sha256, entry.length
            )
        return sizes

    def _history(self, sizes: dict[str, tuple[str, int]]) -> None:
        identity, count, chain = chain_of(self._connection)
        with self._sink.entry(HISTORY) as entry:
            entry.line(Header(identity, self._withholding.words).text())
            for number, line in enumerate(lines_of(self._connection, self._bench.label), 1):
                if isinstance(line, RevisionLine):
                    self._counts["states"] += 1
                    entry.line(self._state(number, line))
                elif isinstance(line, FileLine) and line.digest not in sizes:
                    entry.line(text_of({"what": "file", "line": number, "digest": line.digest,
                                        "media": line.media, "withheld": True}))  # fmt: skip
                else:
                    self._counts["series"] += not isinstance(line, FileLine)
                    entry.line(line_text(number, line, sizes.get(line.digest)))
            entry.line(text_of({"what": "end", "lines": count, "chain": chain}))
        self._note("history", HISTORY, "application/jsonl", entry.sha256, entry.length)
        self._resources[-1]["format"] = "text"  # read as lines: its objects are of several sorts

    def _state(self, number: int, line: RevisionLine) -> str:
        """The line of a state; where something is withheld it says so, beside the digest it had."""
        if not self._withholding.words:
            return line_text(number, line)
        row = line.entry.columns()
        doc = json.loads(row["doc"])
        shown = {
            **row,
            "who": self._withholding.text("who", row["who"]),
            "why": self._withholding.text("why", row["why"]),
            "doc": text_of(self._withholding.plain(doc)),
        }
        changed = [key for key in row if shown[key] != row[key]]
        mark = {"withheld": changed} if changed else {}
        self._withholding.states += bool(changed)
        return text_of({"what": "revision", "line": number, **shown, **mark})

    # -- tables ---------------------------------------------------------------------------------

    def _newest(self, kind: str) -> Iterator[tuple[Revision, dict[str, Any]]]:
        for entry in lookup.newest_of(self._connection, kind, self._bench.label):
            plain = adapter.write_whole(self._bench.read(entry))
            yield entry, self._withholding.plain(plain, counted=False)

    def _kind(self, kind: str, folder: Path) -> None:
        """All tables of a kind: once through for the columns that are filled, once for the rows."""
        tables = tables_of(kind)
        filled: dict[str, set[str]] = {table.name: set() for table in tables}
        for _, plain in self._newest(kind):
            for table in tables:
                for _, row in rows_of(plain, table.lists):
                    filled[table.name].update(_filled(table, row))
        shapes = {table.name: _shape(table, filled[table.name]) for table in tables}
        with ExitStack() as stack:
            files = {
                table.name: stack.enter_context(_rows_into(folder / f"{table.name}.csv"))
                for table in tables
            }
            for table in tables:
                files[table.name].writerow(_headings(table, shapes[table.name]))
            for entry, plain in self._newest(kind):
                for table in tables:
                    for counters, row in rows_of(plain, table.lists):
                        self._tables[table.name] = self._tables.get(table.name, 0) + 1
                        cells = [cell_of(value_at(row, c.path), c) for c in shapes[table.name]]
                        owner = [guarded(entry.name), *map(str, counters)] if table.lists else []
                        files[table.name].writerow([*owner, *cells, entry.digest])
        for table in tables:
            path = folder / f"{table.name}.csv"
            if table.name in self._tables:
                self._table(table, shapes[table.name], path)
            path.unlink()

    def _table(self, table: Table, columns: list[Column], path: Path) -> None:
        name = f"tables/{path.name}"
        with path.open("rb") as file, self._sink.entry(name) as entry:
            while data := file.read(2**20):
                entry.write(data)
        self._note(table.name, name, "text/csv", entry.sha256, entry.length)
        self._resources[-1] |= {
            "profile": "tabular-data-resource",
            "format": "csv",
            "encoding": "utf-8",
            "schema": _schema(table, columns),
        }

    # -- description ----------------------------------------------------------------------------

    def _resource(self, name: str, path: str, media: str, text: Iterable[str]) -> None:
        with self._sink.entry(path) as entry:
            for line in text:
                entry.line(line)
        self._note(name, path, media, entry.sha256, entry.length)

    def _note(self, name: str, path: str, media: str, sha256: str, length: int) -> None:
        self._resources.append(
            {"name": name, "path": path, "mediatype": media, "bytes": length, "hash": f"sha256:{sha256}"}
        )  # fmt: skip

    def _describe(self) -> None:
        identity, _, chain = chain_of(self._connection)
        titles = [self._bench.read(e) for e in lookup.newest_of(self._connection, "bench", "")]
        title = next((t.title for t in titles if isinstance(t, Bench)), "")
        title = WITHHELD if "title" in self._withholding.words else title
        plain: dict[str, Any] = {
            "profile": "data-package",
            "name": f"bench-{identity[:12]}",
            "title": title,
            "description": "A bench of home-made air cathodes: history, tables and files. See README.txt.",
            "bench": {"identity": identity, "chain": chain, "whole": not self._withholding.words},
            "resources": sorted(self._resources, key=lambda r: r["name"]),
        }
        if self._withholding.words:
            plain["bench"]["withheld"] = self._withholding.counts
            plain["bench"]["withheld_states"] = self._withholding.states
        with self._sink.entry("datapackage.json") as entry:
            entry.line(json.dumps(plain, ensure_ascii=False, indent=1, allow_nan=False))

    def answer(self, path: str) -> BenchExport:
        """What went out."""
        counts, withholding = self._counts, self._withholding
        out = sum(withholding.counts.values())
        headline = f"Exported {counts['states']} states to {path}"
        if withholding.words:
            headline += f"; {out} values withheld, so it cannot be put back as a bench"
        if are_waiting(self._bench.place):
            headline += (
                "; rows of logs that wait beside the bench could not be taken into it and are not "
                "among them: take them along in the folder that ends in .logs"
            )
        return BenchExport(
            headline=headline, path=path, whole=not withholding.words, states=counts["states"],
            series_chunks=counts["series"], files=counts["files"], tables=self._tables,
            withheld=withholding.counts, withheld_states=withholding.states,
            originals=counts["originals"],
        )  # fmt: skip


def _originals(connection: sa.Connection) -> frozenset[str]:
    """Digests of the photos that were kept as they came from the camera, in any state."""
    wanted = sa.select(revision.c.doc).where(revision.c.kind == "attachment")
    plains = (json.loads(doc) for doc in connection.execute(wanted).scalars())
    return frozenset(str(plain["original"]) for plain in plains if plain.get("original"))


def _filled(table: Table, row: Any) -> Iterator[str]:
    for column in table.columns:
        if value_at(row, column.path) not in (None, "", [], {}, False):
            yield column.heading


def _shape(table: Table, filled: set[str]) -> list[Column]:
    """The columns that hold something; the name stands in any case."""
    return [
        c for c in table.columns if c.heading in filled or (not table.lists and c.path == ("name",))
    ]


def _headings(table: Table, columns: list[Column]) -> list[str]:
    owner = [table.kind, *table.counters] if table.lists else []
    return [*owner, *(column.heading for column in columns), STATE]


@contextmanager
def _rows_into(path: Path) -> Generator[Any, None, None]:
    with path.open("w", encoding="utf-8", newline="") as file:
        yield csv.writer(file, lineterminator="\r\n")


def _schema(table: Table, columns: list[Column]) -> dict[str, Any]:
    """The Table Schema: types, units and words of each column."""
    fields: list[dict[str, Any]] = []
    if table.lists:
        fields.append({"name": table.kind, "type": "string", "description": "whose part this is"})
        fields += [{"name": counter, "type": "integer"} for counter in table.counters]
    fields += [_field(column) for column in columns]
    fields.append(
        {"name": STATE, "type": "string", "description": "digest of the state in the history"}
    )
    schema: dict[str, Any] = {"fields": fields, "missingValues": ["", WITHHELD]}
    if table.lists:
        schema["primaryKey"] = [STATE, *table.counters]
        parent = {"resource": tables_of(table.kind)[0].name, "fields": STATE}
        schema["foreignKeys"] = [{"fields": STATE, "reference": parent}]
    else:
        schema["primaryKey"] = STATE
    return schema


def _field(column: Column) -> dict[str, Any]:
    field: dict[str, Any] = {"name": column.heading, "type": column.type}
    if column.unit:
        field["unit"] = column.unit
    if column.words:
        field["constraints"] = {"enum": list(column.words)}
    return field
