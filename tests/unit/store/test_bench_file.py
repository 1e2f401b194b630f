"""The bench file: what is put in comes back, and nothing is ever overwritten."""

from __future__ import annotations

from pathlib import Path

from aerode.records.materials import SolventLot
from aerode.records.places import Bench
from aerode.store.bench_file import BenchFile


def test_put_and_get(tmp_path: Path) -> None:
    """A stored record comes back equal, also after closing and opening again."""
    bottle = SolventLot(name="bottle 1", substance="ethanol")
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as bench:
        bench.put(bottle)

    with BenchFile.open(tmp_path / "shed.aerode") as bench:
        assert bottle == bench.get(SolventLot, "bottle 1")
        assert [bottle] == bench.all(SolventLot)
        assert bench.all(Bench)[0].title == "Net shed"
