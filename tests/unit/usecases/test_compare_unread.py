"""A comparison that cannot read some electrodes names each with its reason, and the next step follows from them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from aerode.measure.comparison.unread import TooFewReadError, Why
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Condition, Entry, Known
from aerode.records.places import Claim
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.compare import compare
from aerode.usecases.run_cells import on_file_of_run
from aerode.usecases.what_next import Step, what_next

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

GULL = ((100.0, 1.10), (33.0, 1.02), (10.0, 0.90), (3.3, 0.70))
EEL = ((100.0, 0.95), (33.0, 0.80), (10.0, 0.60), (3.3, 0.40))


def _run(name: str, pairs: tuple[tuple[float, float], ...] = GULL, **more: object) -> Run:
    readings = tuple(Reading(load=f"{r:g} ohm", resistance=r, voltage=v) for r, v in pairs)
    return replace(
        Run(name=f"{name} loads", electrode=name, readings=readings, finished=True), **more
    )  # type: ignore[arg-type]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """Two electrodes without a run."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as made:
        for name in ("gull", "eel"):
            made.put(Electrode(name=name, recipe=name, wetted_area=Entry(value=1e-3)))
        yield made


def _refused(bench: BenchFile, **point: float) -> TooFewReadError:
    with pytest.raises(TooFewReadError) as told:
        compare(bench, try_changes=False, **point)  # type: ignore[arg-type]
    return told.value


def test_a_run_with_too_few_usable_loads_is_named_with_the_load_to_read_again(bench: BenchFile) -> None:  # fmt: skip
    """Nobody chose a point, so nobody is told to choose another: the load that did not settle is."""
    unsettled = Reading(
        load="100 ohm", resistance=100.0, voltage=0.9, doubt="not settled: watched for 20 s only"
    )
    short = _run("eel", EEL[1:3])
    bench.put_all([_run("gull"), replace(short, readings=(unsettled, *short.readings))])

    told = _refused(bench)

    assert told.head == "1 of 2 electrodes could be read"
    assert [(one.electrode, one.why) for one in told.unread] == [("eel", Why.FEW_LOADS)]
    assert "eel loads has 2 usable loads, a curve needs 3; 100 ohm: not settled" in told.what
    assert told.next_step == "read 100 ohm again in eel loads"


def test_before_the_runs_are_finished_the_next_step_is_to_finish_them(bench: BenchFile) -> None:
    """What is still to read is counted, and no point is spoken of."""
    plan = {"planned_loads": tuple(f"{r:g} ohm" for r, _ in GULL), "finished": False}
    bench.put_all([_run("gull", GULL[:1], **plan), _run("eel", EEL[:2], **plan)])

    told = _refused(bench, at_voltage=0.5)

    assert told.next_step == "finish the runs gull loads and eel loads"
    assert "gull: its run gull loads is not finished: 3 of 4 loads are still to read" in told.what


def test_only_where_the_point_is_the_reason_another_is_asked_for_with_what_suits_all(bench: BenchFile) -> None:  # fmt: skip
    """The range lies inside what both were measured over: 0.70 to 1.10 V and 0.40 to 0.95 V."""
    bench.put_all([_run("gull"), _run("eel", EEL)])

    told = _refused(bench, at_voltage=1.4)

    assert [one.reason for one in told.unread] == ["measured 0.70 to 1.10 V", "measured 0.40 to 0.95 V"]  # fmt: skip
    assert told.next_step.startswith("choose a voltage from 0.70 to 0.95 V")


def test_the_first_page_sends_to_the_run_that_makes_no_curve(bench: BenchFile) -> None:
    """The same words as the comparison, and the act is about the run."""
    low = Reading(load="100 ohm", resistance=100.0, voltage=0.9, doubt="not settled")
    short = _run("eel", EEL[1:3])
    meter = Instrument(name="meter", sort=Sort.MULTIMETER)
    part = Instrument(name="10 ohm", sort=Sort.RESISTOR, nominal_resistance=10.0)
    bench.put_all([meter, part, _run("gull"), replace(short, readings=(low, *short.readings))])

    now = what_next(bench)

    assert (now.step, now.about) == (Step.READ_AGAIN, "eel loads")
    assert now.act == "read 100 ohm again in eel loads"


def test_what_the_cell_holds_outranks_the_mere_word_same(bench: BenchFile) -> None:
    """A gap of 4 mm and a lot in the cells' records stand in the conditions; the word does not hide them."""
    same = Condition(known=Known.SAME, text="same")
    cells = [Cell(name=f"cell {n}", electrode=n, gap=Entry(value=0.004), aluminium="sheet") for n in ("gull", "eel")]  # fmt: skip
    runs = [_run("gull", gap=same, aluminium=same), _run("eel", EEL, gap=same, aluminium=same)]
    bench.put_all([*cells, *runs])

    lines = {line.key: line for line in compare(bench, try_changes=False).conditions}

    assert lines["gap"].detail == "4 mm, from the cell's record"
    assert not lines["gap"].on_word
    assert lines["aluminium"].detail == "all cells name the lot sheet"
    told = on_file_of_run(bench, runs[0])
    assert told["gap"].words.startswith("4 mm")
    assert told["aluminium"].words.startswith("lot sheet")


def test_no_claim_is_said_only_where_there_is_none(bench: BenchFile) -> None:
    """With a claim on file that is about another question, the comparison says that it is not that one."""
    bench.put_all([_run("gull"), _run("eel", EEL)])
    same = ("rest", "area")
    bare = compare(bench, try_changes=False, same=same).assumptions
    bench.put(Claim(name="thin", question="Is thin better?", factor="thickness"))
    beside = compare(bench, try_changes=False, same=same).assumptions

    assert any(line.startswith("no claim was written down beforehand") for line in bare)
    assert any(line.startswith("this comparison is not that of a claim on file (“thin”)") for line in beside)  # fmt: skip
