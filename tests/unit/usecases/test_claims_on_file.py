"""Claims on file lead; a comparison without a claim that only says the same again is left out."""

from __future__ import annotations

import numpy as np
import pytest

from aerode.records.electrodes import Cell, Electrode
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.claims_on_file import claims_judged, same_question
from aerode.usecases.compare import compare
from aerode.usecases.compare_view import Asked, view
from aerode.usecases.what_next import what_next
from aerode.virtual.tern_sound import build

TWO = {"T3", "T7", "T4", "T8", "C0"}


def _of(record: object) -> str:
    if isinstance(record, Electrode):
        return record.name
    return record.electrode if isinstance(record, (Run, Cell)) else ""


@pytest.mark.parametrize("only_two", [True, False])
def test_two_recipes_of_a_claimed_factor_are_told_once(tmp_path, only_two: bool) -> None:
    """Two recipes: the effect of the factor is their ratio, told once; five recipes: who leads is told besides."""
    records = build(np.random.default_rng(1)).records
    kept = [r for r in records if not only_two or not (name := _of(r)) or name.split()[0] in TWO]
    with BenchFile.create(tmp_path / "own.aerode", title="own") as bench:
        bench.put_all(kept)
        claims = claims_judged(bench)
        open_ = compare(bench, try_changes=False)
        shown, now = view(bench, Asked()), what_next(bench)

    assert [one.factor for one in claims] == ["binder"]
    assert claims[0].verdict
    assert same_question(open_, claims) is only_two
    assert shown.open_too is not only_two
    assert bool(now.best) is not only_two
    assert now.claims
    assert not same_question(open_, ())


def test_the_doubts_of_two_recipes_are_those_of_the_claim(tmp_path) -> None:
    """One look under one headline: what would undo the open comparison is not told beside the claim's."""
    kept = [
        r
        for r in build(np.random.default_rng(1)).records
        if not (name := _of(r)) or name.split()[0] in TWO
    ]
    with BenchFile.create(tmp_path / "own.aerode", title="own") as bench:
        bench.put_all(kept)
        shown, now = view(bench, Asked()), what_next(bench)
    beside = " ".join(shown.beside)
    assert "Only just" not in beside + now.caveat
    assert "Fragile" not in beside + now.caveat
