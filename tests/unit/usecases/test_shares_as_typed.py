"""A factor typed in per cent is told in per cent; an older plain share is, where the mix has that share."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode, Layer
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Mix
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.compare import compare
from aerode.usecases.compare_study import study_of
from aerode.usecases.entering import enter

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """Two mixes that differ in their binder."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        made.put(PowderLot(name="char", substance="biochar", function=Function.ACTIVE_CARBON))
        made.put(Solution(name="jar", polymer="polystyrene", function=Function.BINDER))
        for name, share in (("A", 0.1), ("B", 0.2)):
            made.put(Mix(name=name, wanted=(Share(of="char", fraction=1 - share), Share(of="jar", fraction=share))))  # fmt: skip
        yield made


def _read(bench: BenchFile, pieces: list[Electrode]) -> None:
    volts = ((100.0, 1.0), (33.0, 0.9), (10.0, 0.7), (3.3, 0.5))
    for k, one in enumerate(pieces):
        bench.put(one)
        readings = tuple(Reading(load=f"{r:g} ohm", resistance=r, voltage=v - 0.01 * (k % 3)) for r, v in volts)  # fmt: skip
        bench.put(Run(name=f"{one.name} loads", electrode=one.name, session="May", order=k, readings=readings, finished=True))  # fmt: skip


def _told(bench: BenchFile) -> tuple[str, str]:
    found = compare(bench, by="binder", same=("rest", "area"), try_changes=False)
    (effect,) = found.effects
    return effect.low, effect.high


def test_a_per_cent_typed_on_a_form_stays_one(bench: BenchFile) -> None:
    """From the form to the words of the effect."""
    for name, typed in (("T1", "10 %"), ("T2", "20%"), ("T3", "20 percent")):
        enter(bench, "electrode", {"name": name, "factors.binder": typed})

    assert [bench.get(Electrode, f"T{k}").factors["binder"] for k in (1, 2, 3)] == ["10 %", "20 %", "20 %"]  # fmt: skip


@pytest.mark.parametrize("settings", [(0.1, 0.2), ("10 %", "20 %"), (0.1, "20 %")])
def test_the_effect_is_told_in_per_cent(
    bench: BenchFile, settings: tuple[float | str, float | str]
) -> None:
    """Old records, new ones, and both on one bench."""
    low, high = settings
    _read(bench, [
        Electrode(name=f"{mix}{k}", recipe=mix, factors={"binder": value}, wetted_area=Entry(value=1e-3), layers=(Layer(mix=mix),))
        for k in (1, 2) for mix, value in (("A", low), ("B", high))
    ])  # fmt: skip

    assert _told(bench) == ("10 %", "20 %")


def test_a_plain_number_that_is_no_share_of_the_mix_stays_plain(bench: BenchFile) -> None:
    """0.1 of a mix with 20 %, of a factor that no lot is called by, or of no named recipe."""
    for one in (
        Electrode(name="T1", recipe="r", factors={"binder": 0.1}, layers=(Layer(mix="B"),)),
        Electrode(name="T2", recipe="r", factors={"gap": 0.1}, layers=(Layer(mix="A"),)),
        Electrode(name="T3", factors={"binder": 0.1}, layers=(Layer(mix="A"),)),
    ):
        bench.put(one)

    told = study_of(bench, ("T1", "T2", "T3")).electrodes
    assert [list(one.factors.values()) for one in told] == [[0.1]] * 3
