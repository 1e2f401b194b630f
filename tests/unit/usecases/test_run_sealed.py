"""What a taped piece is held against: its own last reading with air at that load, never the taped run itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from aerode.records.logs import LogStep
from aerode.records.runs import Reading, Run, RunSort
from aerode.store.bench_file import BenchFile
from aerode.usecases.run_sealed import voltage_with_air, without_air_words
from aerode.virtual.tern_sound import build


def test_the_taped_run_is_held_against_the_readings_with_air(tmp_path) -> None:
    """However low the taped run reads, what air gave at a load stays what was read with air; unread: nothing."""
    with BenchFile.create(tmp_path / "own.aerode", title="own") as bench:
        bench.put_all(build(np.random.default_rng(1)).records)
        fair = next(r for r in bench.all(Run) if r.electrode == "T1" and r.sort is RunSort.LOADS)
        read = next(r for r in fair.readings if r.load != "open" and r.voltage)
        taped = Run(
            name="T1 sealed", electrode="T1", sort=RunSort.SEALED_FACE,
            readings=(Reading(load=read.load, voltage=0.05),),
        )  # fmt: skip
        bench.put(taped)
        step = LogStep(load=read.load, resistance=10.0, number=2, of=3, expected_voltage=0.05)
        said = without_air_words(bench, taped, step)
        gave = voltage_with_air(bench, "T1", read.load)
        assert gave == [r.voltage for r in fair.readings if r.load == read.load][-1]
        assert said == f"less than the {gave:.3f} V that it gave with air, if air feeds it"
        assert without_air_words(bench, taped, replace(step, load="never read")) == ""
        assert without_air_words(bench, taped, None) == ""
