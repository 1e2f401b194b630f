"""Which run of a piece a prediction is fitted to, and what is said where none will do."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from aerode.errors import CannotTellError
from aerode.measure.porous.fitting import FEWEST_LOADS, PorousModel
from aerode.records.places import Bench
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.run_usable import usable_loads
from aerode.usecases.simulate_bench import item_of
from aerode.usecases.simulate_fit import run_for_fit
from aerode.virtual.tern_sound import draw

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """The invented bench."""
    moment = datetime(2026, 5, 9, tzinfo=UTC)
    with BenchFile.create(tmp_path / "t.aerode", title="Tern", clock=lambda: moment) as made:
        made.put_all([r for r in draw(1).records if not isinstance(r, Bench)])
        yield made


def _cut(bench: BenchFile, name: str, count: int) -> Run:
    """The run of T1 with its first loads alone, stored under a name."""
    whole = bench.get(Run, "T1 loads")
    loads = [r for r in whole.readings if r.load != "open" and r.voltage and r.voltage / float(r.load.split()[0]) > 1e-3]  # fmt: skip
    run = replace(whole, name=name, readings=tuple(loads[:count]), finished=False)
    bench.put(run)
    return run


def test_a_run_that_was_just_opened_does_not_hide_the_one_before(bench: BenchFile) -> None:
    """The newest run has two loads: the fit takes the one before it, which has enough."""
    _cut(bench, "T1 loads 2", 2)
    run, _ = run_for_fit(bench, item_of(bench, "T1"), "")

    assert run.name == "T1 loads"


def test_as_many_loads_as_the_page_of_the_run_counts(bench: BenchFile) -> None:
    """Five usable loads on its page are five here, and enough."""
    run = _cut(bench, "T1 loads", 5)
    page = usable_loads(bench, run)
    _, found = run_for_fit(bench, item_of(bench, "T1"), "")

    assert page is not None
    assert page.count == 5 >= FEWEST_LOADS
    assert PorousModel(found).seen.size == 5


def test_too_few_loads_are_told_with_both_numbers(bench: BenchFile) -> None:
    """Three loads: how many there are, where, and how many the model needs."""
    _cut(bench, "T1 loads", 3)
    _, found = run_for_fit(bench, item_of(bench, "T1"), "")

    with pytest.raises(CannotTellError) as told:
        PorousModel(found)
    assert told.value.what == "3 usable loads in T1 loads, and the porous model needs at least 4 different ones"  # fmt: skip
