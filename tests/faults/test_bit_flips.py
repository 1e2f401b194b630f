"""One flipped bit anywhere: refused, or reported with the record's name, or nothing is changed by it."""

from __future__ import annotations

import json
import random
import shutil
import sqlite3
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from aerode.errors import AerodeError
from aerode.records import KINDS
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.materials import SolventLot
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.store.series import put_logged
from aerode.store.series_spool import SeriesSpool

PAGES = {2: "index interior", 5: "table interior", 10: "index leaf", 13: "table leaf"}


class Copies:
    """A bench in one file, and the same bench half in its write-ahead log."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.whole = folder / "whole.aerode"
        self.logged = folder / "logged.aerode"
        with BenchFile.create(self.whole, title="Net shed") as bench:
            bench.put_all(
                [Electrode(name=f"T{n}", note="dried by the window " * 9) for n in range(30)]
            )
            bench.put_all([Cell(name=f"cell T{n}", electrode=f"T{n}") for n in range(30)])
            bench.put(Instrument(name="R15", sort=Sort.RESISTOR, nominal_resistance=15.0))
            for n in range(12):
                readings = tuple(Reading(load="R15", voltage=0.7 - k / 100) for k in range(n + 1))
                bench.put(Run(name="r", electrode="T1", readings=readings), why=f"reading {n}")
            bench.keep(bytes(range(256)) * 40, media="image/jpeg")
            with SeriesSpool(500) as spool:
                times = [n / 10 for n in range(1500)]
                spool.add({"time": times, "voltage": [0.7 + n % 7 / 1000 for n in range(1500)]})
                put_logged(bench, [Run(name="day")], {"day": spool.chunks()})
        with sqlite3.connect(self.whole) as connection:  # pages that are free again
            connection.execute("CREATE TABLE away (text TEXT)")
            connection.executemany("INSERT INTO away VALUES (?)", [("x" * 3000,)] * 12)
            connection.execute("DROP TABLE away")
        connection.close()
        shutil.copy(self.whole, self.logged)
        with BenchFile.open(self.logged) as bench:
            bench.put_all(
                [Electrode(name=f"T{n}", note="on the sill") for n in range(0, 30, 3)], why="looked"
            )
            bench.withdraw(Electrode, "T29")
            for n in range(4):
                bench.put(SolventLot(name=f"b{n}", substance="ethanol"))
            shutil.copy(self.logged, folder / "kept")
            shutil.copy(f"{self.logged}-wal", folder / "kept-wal")
        shutil.move(folder / "kept", self.logged)
        shutil.move(folder / "kept-wal", f"{self.logged}-wal")
        self.content = {
            "whole": self.whole.read_bytes(),
            "logged": self.logged.read_bytes(),
            "log": Path(f"{self.logged}-wal").read_bytes(),
        }
        self.expected = {
            "whole": seen(self.whole),
            "log": seen(self.lay_out("log", self.content["log"])),
        }
        self.rows = rows(self.whole)
        self.chunk_of = {
            json.loads(row[4])["packed"]["blob"]: f"{row[1].decode()}, chunk {row[2]}"
            for row in self.rows["series"].values()
        }
        """Digest of a blob → the chunk of the series whose bytes it holds."""

    def lay_out(self, part: str, content: bytes) -> Path:
        """The bench with one of its files spoilt, as a fresh copy."""
        place = self.folder / "spoilt.aerode"
        for leftover in self.folder.glob("spoilt.aerode*"):
            leftover.unlink()
        if part == "whole":
            place.write_bytes(content)
        else:
            place.write_bytes(self.content["logged"])
            Path(f"{place}-wal").write_bytes(content)
        return place


@pytest.fixture(scope="module")
def copies(tmp_path_factory: pytest.TempPathFactory) -> Copies:
    """Made once."""
    return Copies(tmp_path_factory.mktemp("flips"))


def seen(path: Path) -> Any:
    """Everything that can be asked of a bench."""
    with BenchFile.open(path, read_only=True) as bench:
        series = {name: bench.series(name) for name in ("day",)}
        records = {kind: bench.all(cls) for kind, cls in KINDS.items()}
        names = {kind: bench.names(cls) for kind, cls in KINDS.items()}
        return bench.history(), records, names, series, bench.conflicts()


def rows(path: Path) -> dict[str, dict[str, tuple[Any, ...]]]:
    """Every row of the file as it stands, by its digest, without any verifying."""
    connection = sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)
    connection.text_factory = bytes
    try:
        return {
            table: {
                str(row[key]): row
                for row in connection.execute(f"SELECT * FROM {table} NOT INDEXED")
            }
            for table, key in (
                ("revision", 0),
                ("current", 1),
                ("series", 0),
                ("blob", 0),
                ("journal", 1),
            )
        }
    finally:
        connection.close()


def kinds_of_pages(content: bytes) -> dict[int, str]:
    """Page (from 0) → what it is (sqlite.org/fileformat2.html, 1.5 and 1.6)."""
    size = int.from_bytes(content[16:18], "big")
    pages = len(content) // size
    found = {
        n: PAGES.get(content[n * size + (100 if n == 0 else 0)], "overflow") for n in range(pages)
    }
    trunk = int.from_bytes(content[32:36], "big")
    while trunk:
        start = (trunk - 1) * size
        found[trunk - 1] = "free"
        count = int.from_bytes(content[start + 4 : start + 8], "big")
        for n in range(count):
            leaf = int.from_bytes(content[start + 8 + 4 * n : start + 12 + 4 * n], "big")
            found[leaf - 1] = "free"
        trunk = int.from_bytes(content[start : start + 4], "big")
    return found


def places(copies: Copies, count: int, dice: random.Random) -> list[tuple[str, str, int]]:
    """Part, kind of place, and byte: as many of each kind."""
    content = copies.content["whole"]
    size = int.from_bytes(content[16:18], "big")
    by_kind: dict[str, list[tuple[str, int]]] = {"header": [("whole", n) for n in range(100)]}
    for page, kind in kinds_of_pages(content).items():
        by_kind.setdefault(kind, []).append(("whole", page * size))
    each = count // (len(by_kind) + 1)
    chosen = [("log", "log", dice.randrange(len(copies.content["log"]))) for _ in range(each)]
    for kind, where in by_kind.items():
        for _ in range(each):
            part, start = dice.choice(where)
            within = 0 if kind == "header" else dice.randrange(size)
            if start == 0 and kind != "header":
                within = max(within, 100)
            chosen.append((part, kind, start + within))
    return chosen


def flip(copies: Copies, part: str, place: int, bit: int) -> str:
    """ "refused", "reported" or "harmless"; fails where a change is none of them."""
    spoilt = bytearray(copies.content[part])
    spoilt[place] ^= 1 << bit
    path = copies.lay_out(part, bytes(spoilt))
    try:
        with BenchFile.open(path, read_only=True) as bench:
            answer = bench.check()
    except AerodeError:
        return "refused"
    if answer.whole:
        assert seen(path) == copies.expected[part], f"{part}, byte {place}, bit {bit}: unnoticed"
        return "harmless"
    reported = {fault.name for fault in answer.faults}
    whole_file = any("cannot be read to its end" in fault.what for fault in answer.faults)
    if part == "whole" and not whole_file:
        missing = _changed(copies, path) - reported
        assert not missing, f"byte {place}, bit {bit}: {missing} is not named among {reported}"
    return "reported"


def _changed(copies: Copies, path: Path) -> set[str]:
    """The names of the records of which a state, a place on the list, or a chunk is not as it was."""
    try:
        found = rows(path)
    except sqlite3.DatabaseError:
        return set()
    names: set[str] = set()
    heads = {row[1]: row[3].decode() for row in copies.rows["current"].values()}
    by_record = {row[0]: row[3].decode() for row in copies.rows["current"].values()}
    for digest, row in copies.rows["revision"].items():
        if found["revision"].get(digest) != row:
            names.add(heads.get(row[0]) or by_record[row[1]])
    for digest, row in copies.rows["current"].items():
        if found["current"].get(digest) != row:
            names.add(row[3].decode())
    for digest, row in copies.rows["series"].items():
        if found["series"].get(digest) != row:
            names.add(f"{row[1].decode()}, chunk {row[2]}")
    for digest, row in copies.rows["blob"].items():
        if found["blob"].get(digest) != row:
            names.add(copies.chunk_of.get(row[0].decode(), row[0].decode()[:12]))
    return names


def _flips(copies: Copies, count: int, seed: int) -> Counter[tuple[str, str]]:
    dice = random.Random(seed)
    outcome: Counter[tuple[str, str]] = Counter()
    for part, kind, place in places(copies, count, dice):
        outcome[kind, flip(copies, part, place, dice.randrange(8))] += 1
    return outcome


def _is_thorough(outcome: Counter[tuple[str, str]]) -> None:
    kinds = {kind for kind, _ in outcome}
    assert {
        "header",
        "log",
        "free",
        "index leaf",
        "table leaf",
        "table interior",
        "overflow",
    } <= kinds
    assert outcome["log", "harmless"] == 0, "a flip of the log was not seen"
    assert outcome["free", "harmless"] > 0
    assert outcome["table leaf", "reported"] > 0


def test_bits_flipped_anywhere(copies: Copies) -> None:
    """A few of every kind of page, and of the write-ahead log."""
    _is_thorough(_flips(copies, 120, 20250503))


@pytest.mark.slow
def test_thousands_of_bits_flipped(copies: Copies) -> None:
    """2,400 flips, as many in each kind of page and in the log."""
    outcome = _flips(copies, 2500, 4)
    _is_thorough(outcome)
    assert sum(outcome.values()) >= 2400
    print(sorted(outcome.items()))
