"""A board that posts one reading a second for a day: every row, in a small file, over a new start of the program."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.unit.web.test_long_logs import expected, logged_for

from aerode.records.electrodes import Electrode
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

DAY = 86_400


def test_one_reading_a_second_for_a_day(tmp_path: Path) -> None:
    """86,400 rows come back as they were sent; the bench grows by less than 20 bytes a row."""
    place = tmp_path / "shed.aerode"
    with BenchFile.create(place, title="x") as bench:
        bench.put(Electrode(name="T6"))
    told = logged_for(DAY, place)

    with BenchFile.open(place) as bench:
        series = bench.series(told["run"])
        assert bench.check().whole
    assert told["said"] == "T6 run-down: 86,400 readings over 24.0 h."
    assert (series["time"], series["voltage"]) == expected(DAY)
    assert told["grown"] < 20 * DAY
    assert list(tmp_path.glob("shed.logs/*")) == []
