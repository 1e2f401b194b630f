"""How much of a material a dry coat usually holds: the range on file beside what a mix holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.marks import Share
from aerode.records.materials import Function, PowderLot
from aerode.records.mixes import Mix
from aerode.store.bench_file import BenchFile
from aerode.usecases.mix import MixQuestion, what_it_dries_to
from aerode.usecases.usual_shares import lacks_active_carbon, past_usual_share

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A bench with two lots of a black, and a catalyst."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        for name in ("soot A", "soot B"):
            made.put(PowderLot(name=name, substance="carbon black", function=Function.CONDUCTOR))
        made.put(PowderLot(name="ore", substance="manganese dioxide", function=Function.CATALYST))
        yield made


def _told(bench: BenchFile, **shares: float) -> tuple[str, ...]:
    names = {"a": "soot A", "b": "soot B", "ore": "ore"}
    wanted = tuple(Share(of=names[key], fraction=share) for key, share in shares.items())
    bench.put(Mix(name="M", wanted=wanted))
    return past_usual_share(what_it_dries_to(bench, "M", MixQuestion()))


def test_far_more_than_usual_is_told_with_its_range_and_source(bench: BenchFile) -> None:
    """60 % of a material of which 10 to 25 % are on file: range, source, and what it must not replace."""
    (line,) = _told(bench, a=0.6, ore=0.4)

    assert line == (
        "soot A (carbon black) is 60 % of the dry coat; usual as conductor is 10 to 25 % of the dry layer "
        "(common practice, no source). It must not replace activated carbon as the active carbon: too little surface."
    )


def test_lots_of_one_material_count_together(bench: BenchFile) -> None:
    """Twice 30 % is 60 %; once 30 %, a little past the range, is not told."""
    assert "soot A and soot B (carbon black) is 60 %" in _told(bench, a=0.3, b=0.3, ore=0.4)[0]
    assert _told(bench, a=0.3, ore=0.7) == ()


def test_an_active_carbon_lacks_beside_a_black_alone(bench: BenchFile) -> None:
    """A black has little surface; biochar on the shelf is one with surface, whatever it was entered as."""
    assert lacks_active_carbon(bench)
    bench.put(PowderLot(name="char", substance="biochar", function=Function.CONDUCTOR))
    assert not lacks_active_carbon(bench)
