"""Made `schema-1.aerode`, once: a bench of the first released layout with every kind of record in it.

    python tests/store/frozen/make.py NEW_FILE

The file is never made again for this layout: later versions must open the committed bytes.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import count

from aerode.records.cautions import Acknowledgement, CautionLevel
from aerode.records.electrodes import Electrode
from aerode.records.places import Bench, RunOrder
from aerode.records.runs import Unsorted
from aerode.records.symptoms import Symptom
from aerode.store.bench_file import BenchFile
from aerode.virtual.tern_sound import draw


def main() -> None:
    """Write the bench, edit one electrode twice, and undo once, so that there is a history."""
    steps, numbers = count(), count(1)
    with BenchFile.create(
        sys.argv[1],
        title="first layout, invented",
        clock=lambda: datetime(2026, 5, 9, tzinfo=UTC) + timedelta(seconds=next(steps)),
        who="maker",
        identities=lambda: f"{next(numbers):032x}",
    ) as bench:
        bench.put_all([r for r in draw(1).records if not isinstance(r, Bench)], why="first")
        bench.put_all(
            [
                RunOrder(
                    name="day 1",
                    session="2026-05-09",
                    electrodes=("T4", "T2"),
                    control="C0",
                    seed=7,
                ),
                Symptom(
                    name="T1 wet",
                    electrode="T1",
                    symptom="wet-air-face",
                    seen="wet at 09:00",
                    settled=False,
                ),
                Unsorted(
                    name="reading 1", text="742", voltage=0.742, at="2026-05-09T10:00:00+00:00"
                ),
                Acknowledgement(
                    name="T3: dry",
                    caution="dry",
                    about=("T3",),
                    reason="weighed twice",
                    level=CautionLevel.FIRST,
                ),
            ],
            why="the other kinds",
        )
        t6 = bench.get(Electrode, "T6")
        bench.put(replace(t6, note="cut with the wide gasket; edge rough"), why="looked again")
        bench.put(replace(t6, note="slip"), why="slip")
        bench.undo(Electrode, "T6", why="that was a slip")


if __name__ == "__main__":
    main()
