"""The whole job on an invented bench, scored against its hidden truth."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode import units
from aerode.devices.files import make_folder
from aerode.errors import InputError, StoreError
from aerode.measure import telling
from aerode.records.cautions import CautionLevel
from aerode.records.demos import DemoAnswer
from aerode.records.places import Bench
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.cautions import CautionQuestion, what_can_hurt
from aerode.usecases.compare import compare
from aerode.usecases.fit import FitQuestion, fit_bench_run
from aerode.usecases.next_asked import NextQuestion
from aerode.usecases.next_batch import next_batch
from aerode.usecases.report import report
from aerode.usecases.size import size_battery
from aerode.usecases.size_load import SizeQuestion
from aerode.virtual.scoring import score
from aerode.virtual.tern_sound import REFERENCE_VOLTAGE, draw

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

    from aerode.records.cautions import Caution, CautionSheet
    from aerode.records.next_batches import NextBatch
    from aerode.records.reports import Report
    from aerode.records.sizes import BatterySize

__all__ = ["Demo", "run_demo"]

FILE = "tern-sound.aerode"
REPORT = "tern-sound.html"
BEACON = SizeQuestion(
    recipe="b10 m16 70C", power="18 mW", load_voltage="3 V", on="12 h", days="14", converter="75 %",
    least_input="0.9 V",
)  # fmt: skip
"""The load of the story: a beacon of 18 mW for 14 nights behind a converter; invented."""


@dataclass(frozen=True)
class Demo:
    """What the demo made: the answer, and the report to be laid out."""

    answer: DemoAnswer
    report: Report
    report_file: Path


def run_demo(
    out: str, *, seed: int, clock: Callable[[], datetime], step: Callable[[str, float], None]
) -> Demo:
    """Draw a bench, keep it in a file, run the loop on the file alone, then look at the truth.

    Parameters
    ----------
    out : str
        Folder for the bench file; an earlier demo bench there is replaced, nothing else is.
    seed : int
        Which invented bench.
    clock : callable
        Now.
    step : callable
        Told what is being done and which share of the whole is done.

    Raises
    ------
    InputError
        The place is taken by a bench that is not a demo.
    """
    step("drawing an invented bench", 0.02)
    invented = draw(seed)
    own = next(r for r in invented.records if isinstance(r, Bench))
    folder = make_folder(out)
    place = folder / FILE
    _clear(place, own.title)
    with BenchFile.create(place, title=own.title, clock=clock, who="demo") as bench:
        bench.put_all([r for r in invented.records if not isinstance(r, Bench)], why="demo")
        step("comparing eight electrodes", 0.15)
        comparison = compare(bench, at_voltage=REFERENCE_VOLTAGE, by="binder")
        step("fitting the curves", 0.60)
        names = {name for piece in comparison.pieces for name in piece.runs if not piece.control}
        fits = [
            fit_bench_run(bench, run.name, FitQuestion())
            for run in bench.all(Run)
            if run.name in names
        ]
        step("looking for what can hurt", 0.85)
        shed = CautionQuestion(room="net shed")
        sheets = [what_can_hurt(bench, item, shed) for item in ("b10 m16 70C", "T3", "cell T1")]
        step("choosing what to build next", 0.90)
        chosen = next_batch(bench, NextQuestion(at=f"{REFERENCE_VOLTAGE} V", room="net shed"))
        battery = size_battery(bench, BEACON)
        step("writing the report", 0.95)
        page = report(bench, comparison, fits, sheets, moment=clock(), invented=True)
    fair = {
        p.electrode: p.fair.value
        for p in comparison.pieces
        if p.fair.value is not None and not p.control
    }
    loud = {
        p.electrode: p.ammeter_mA
        for p in comparison.pieces
        if p.ammeter_mA is not None and not p.control
    }
    found = score(invented.truth.current_density, fair, loud)
    fall = telling.biggest_fall(comparison)
    answer = DemoAnswer(
        headline=comparison.headline,
        seed=seed,
        bench_file=str(place),
        report_file=str(folder / REPORT),
        comparison=comparison,
        fall=fall.sentence() if fall else "",
        next_batch=_next_words(chosen),
        battery=_battery_words(battery),
        caution=_hardest(sheets),
        rms_log_error=found.rms_log_error,
        rank_agreement=found.rank_agreement,
        ammeter_rank_agreement=found.ammeter_rank_agreement,
        pairs_right=found.pairs_right,
        pairs=found.pairs,
    )
    return Demo(answer=answer, report=page, report_file=folder / REPORT)


def _next_words(found: NextBatch) -> str:
    """What the next batch is worth, in a few words."""
    total = sum(one.builds for one in found.builds)
    return f"{total} builds worth {units.plain(100.0 * found.worth)} %"


def _battery_words(found: BatterySize) -> str:
    """How many cells its beacon takes."""
    return f"{found.chosen.in_series} cells"


def _clear(place: Path, title: str) -> None:
    """Take away an earlier demo bench; refuse to touch any other."""
    if not place.exists():
        return
    try:
        with BenchFile.open(place, read_only=True) as there:
            titles = [b.title for b in there.all(Bench)]
    except StoreError:
        titles = []
    if titles != [title]:
        raise InputError(
            f"{place} is there already and is not a demo bench",
            where=str(place),
            allowed="an empty folder, or one with an earlier demo",
            next_step="name another folder with --out",
        )
    for file in (place, *place.parent.glob(f"{place.name}-*")):
        file.unlink()


def _hardest(sheets: list[CautionSheet]) -> Caution | None:
    ranked = [
        c for level in CautionLevel for sheet in sheets for c in sheet.cautions if c.level is level
    ]
    return ranked[0] if ranked else None
