"""Digests against hashes computed here from the written description of the format."""

from __future__ import annotations

import hashlib

from aerode.records.materials import SolventLot
from aerode.store import digests
from aerode.store.bench_file import BenchFile


def test_a_revision_is_hashed_as_described(bench: BenchFile) -> None:
    """SHA-256 (FIPS 180-4, by the standard library) of the JSON array typed out by hand."""
    bench.put(SolventLot(name="Ölflasche", substance="ethanol"), why='the "good" one')
    entry = bench.history(SolventLot)[0]

    by_hand = (
        f'["{entry.record}","solvent","solvent/2","2025-05-03T09:01:00.000Z","Ida",'
        r'"the \"good\" one","{\"name\":\"Ölflasche\",\"substance\":\"ethanol\"}","[]"]'
    )
    assert hashlib.sha256(by_hand.encode("utf-8")).hexdigest() == entry.digest


def test_columns_cannot_slide_into_each_other() -> None:
    """Moving a letter from one column to the next changes the digest."""
    assert digests.digest_of(["ab", "c"]) != digests.digest_of(["a", "bc"])
    assert digests.digest_of(['a","b']) != digests.digest_of(["a", "b"])


def test_parents_have_one_order() -> None:
    """The same parents in another order are the same text."""
    assert digests.parents_text(["b", "a"]) == digests.parents_text(["a", "b"]) == '["a","b"]'


def test_the_chain_depends_on_everything_before() -> None:
    """Another bench, another place or another entry gives another chain value."""
    start = digests.chain_start("bench")
    values = {
        digests.chain_next(start, 1, "d"),
        digests.chain_next(start, 2, "d"),
        digests.chain_next(start, 1, "e"),
        digests.chain_next(digests.chain_start("other"), 1, "d"),
    }
    assert len(values) == 4
