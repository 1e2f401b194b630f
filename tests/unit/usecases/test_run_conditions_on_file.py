"""What the page of a run says of its conditions is what a comparison takes of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode
from aerode.records.marks import Condition, Entry, Known
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.compare import compare
from aerode.usecases.run_cells import on_file_of_run
from aerode.usecases.run_page import condition_rows

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


def _run(name: str, on: str, session: str, **more: object) -> Run:
    volts = ((100.0, 1.0), (33.0, 0.9), (10.0, 0.7), (3.3, 0.5))
    readings = tuple(Reading(load=f"{r:g} ohm", resistance=r, voltage=v) for r, v in volts)
    return Run(name=name, electrode=on, session=session, readings=readings, finished=True, **more)  # type: ignore[arg-type]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """Two pieces, each with a first day and one with a second."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        made.put_all([Electrode(name=n, recipe=n, wetted_area=Entry(value=1e-3)) for n in ("gull", "eel")])  # fmt: skip
        made.put_all([_run("gull 1", "gull", "May"), _run("eel 1", "eel", "May")])
        yield made


def _rows(bench: BenchFile, run: str) -> dict[str, Known]:
    found = bench.get(Run, run)
    return {row.field: row.known for row in condition_rows(found, on_file_of_run(bench, found))}


def test_the_first_session_of_a_piece_settles_its_charge_on_the_page_and_in_the_comparison(
    bench: BenchFile,
) -> None:
    """One judgement: fresh that day, so hours wet and charge before are the same for all."""
    told = {line.key: line.known for line in compare(bench, try_changes=False).conditions}

    for key in ("hours_wet", "charge_before"):
        assert told[key] is Known.SAME
        assert _rows(bench, "gull 1")[key] is Known.SAME
    assert _rows(bench, "gull 1")["gap"] is Known.MAY_DIFFER
    row = next(r for r in condition_rows(bench.get(Run, "eel 1"), on_file_of_run(bench, bench.get(Run, "eel 1"))) if r.field == "charge_before")  # fmt: skip
    assert row.words == "the first session of this piece on this bench"


def test_a_later_session_may_differ_and_what_was_typed_goes_first(bench: BenchFile) -> None:
    """The second day of a piece is not fresh, whatever its name is by then; a value stays a value."""
    bench.put(Electrode(name="gull washed", build="gull", recipe="gull"))
    typed = Condition(known=Known.MEASURED, value=36.0, text="10 mAh")
    bench.put_all(
        [
            _run("gull 2", "gull", "June"),
            _run("washed 1", "gull washed", "July"),
            _run("eel 2", "eel", "May", charge_before=typed),
        ]
    )

    assert _rows(bench, "gull 2")["charge_before"] is Known.MAY_DIFFER
    assert _rows(bench, "washed 1")["charge_before"] is Known.MAY_DIFFER
    assert _rows(bench, "eel 2")["charge_before"] is Known.MEASURED
