"""Made the frozen benches, each once: a bench of its layout with every kind of record in it.

    python tests/store/frozen/make.py NEW_FILE

`schema-1.aerode` was made by the version that wrote layout 1 (without attachment, log and kept
answer), `schema-2.aerode` by the one that wrote layout 2. A file is never made again for its layout:
later versions must open the committed bytes.
"""

from __future__ import annotations

import hashlib
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import count

from aerode.records.attachments import Attachment
from aerode.records.cautions import Acknowledgement, CautionLevel
from aerode.records.electrodes import Electrode
from aerode.records.places import Bench, RunOrder
from aerode.records.runs import Unsorted
from aerode.records.symptoms import Symptom
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_results import compute_and_keep
from aerode.virtual.tern_sound import draw


def main() -> None:
    """Write the bench, edit one electrode twice, and undo once, so that there is a history."""
    steps, numbers = count(), count(1)
    with BenchFile.create(
        sys.argv[1],
        title="frozen, invented",
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
        _later_things(bench)


def _later_things(bench: BenchFile) -> None:
    """What came after layout 1: a file that belongs to a piece, a long log, a kept answer."""
    content = b"time,volts\n0,0.742\n"
    digest = bench.keep(content, media="text/csv")
    bench.put(
        Attachment(
            name="raw log of T6", to_kind="electrode", to="T6", file="t6.csv", media="text/csv",
            digest=digest, sha256=hashlib.sha256(content).hexdigest(), length=len(content),
        ),
        why="kept beside the run",
    )  # fmt: skip
    bench.append("T6 run-down", {"s": [0.0, 60.0, 120.0], "V": [0.742, None, 0.731]})
    compute_and_keep(bench, "fit", "T6 loads", moment=lambda: datetime(2026, 5, 9, tzinfo=UTC))


if __name__ == "__main__":
    main()
