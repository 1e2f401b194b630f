"""Names in a refusal: all of a few; of many, how many more there are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.errors import AerodeError, NotFoundError, some_of
from aerode.measure.mix.lots import Shelf
from aerode.records.electrodes import Electrode
from aerode.records.materials import PowderLot
from aerode.store.bench_file import BenchFile
from aerode.usecases.cautions import CautionQuestion, what_can_hurt
from aerode.usecases.entering import enter
from aerode.usecases.symptom import what_it_may_be

if TYPE_CHECKING:
    from pathlib import Path


def test_all_of_a_few_and_how_many_more_of_many() -> None:
    """Nothing is cut in silence; exactly as many as fit are all there."""
    names = [f"R{k}" for k in range(1, 6)]
    assert some_of([]) == ""
    assert some_of(names, 5) == "R1, R2, R3, R4, R5"
    assert some_of(names, 2) == "R1, R2 and 3 more"


def test_refusals_say_how_many_more_there_are(tmp_path: Path) -> None:
    """Twenty pieces and nine powders: a caution, a symptom, a mix and a form name some, and count the rest."""
    with BenchFile.create(tmp_path / "b.aerode", title="b") as bench:
        bench.put_all(Electrode(name=f"T{k:02}") for k in range(20))
        with pytest.raises(NotFoundError) as cautions:
            what_can_hurt(bench, "soup", CautionQuestion())
        with pytest.raises(NotFoundError) as symptom:
            what_it_may_be("it leaks", bench, "soup")
        powders = [PowderLot(name=f"char {k}", substance="biochar", function="conductor") for k in range(9)]  # fmt: skip  # pyright: ignore[reportArgumentType]
        with pytest.raises(AerodeError) as mix:
            Shelf.of(powders).powder("soup")
        faults = enter(bench, "cell", {"name": "C1", "electrode": "soup"}, picks={"electrode": "electrode"}).faults  # fmt: skip
    assert cautions.value.allowed.endswith("T11 and 8 more")
    assert symptom.value.allowed.endswith("T11 and 8 more")
    assert mix.value.allowed.endswith("'char 5' and 3 more")
    assert [fault.allowed for fault in faults] == ["T19, T18, T17, T16, T15, T14 and 14 more"]
