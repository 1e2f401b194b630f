"""The one-page report of a comparison: first screen, why, curves, verdicts, leaks, cautions, conditions, data."""

from __future__ import annotations

import hashlib
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from aerode import units
from aerode.measure import picturing, telling
from aerode.records.adapter import canonical
from aerode.records.cautions import CautionLevel
from aerode.records.comparisons import Comparison
from aerode.records.electrodes import Cell, Electrode
from aerode.records.mixes import Batch, Mix, Portion
from aerode.records.places import Bench
from aerode.records.reports import Report, SourceLine
from aerode.records.runs import Run
from aerode.usecases.cautions import CautionQuestion, what_can_hurt
from aerode.usecases.compare import compare
from aerode.usecases.fit import FitQuestion, fit_bench_run
from aerode.usecases.report_sections import sections, sentence_of
from aerode.version import VERSION

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

    from aerode.records.cautions import Caution, CautionSheet
    from aerode.records.fits import Fit
    from aerode.store.bench_file import BenchFile

__all__ = ["compare_and_report", "data_digest", "report"]


def report(
    bench: BenchFile,
    comparison: Comparison,
    fits: Sequence[Fit],
    sheets: Sequence[CautionSheet],
    *,
    moment: datetime,
    invented: bool = False,
) -> Report:
    """Put a comparison, its curves and its cautions on one page.

    Parameters
    ----------
    bench : BenchFile
        For the conditions and the readings themselves.
    comparison : Comparison
        The answer that is reported.
    fits : sequence of Fit
        The curves behind it.
    sheets : sequence of CautionSheet
        Of the mixes, electrodes and cells in it.
    moment : datetime
        When it is made.
    invented : bool
        True for the demo: the page says that its data are invented.
    """
    own = next(iter(bench.all(Bench)), None)
    runs = [run for run in bench.all(Run) if any(run.name in p.runs for p in comparison.pieces)]
    return Report(
        title=f"{own.title if own else 'bench'}: {comparison.question}",
        bench=own.title if own else "bench",
        sentence=telling.plain_verdict(comparison),
        lead_figure=picturing.ammeter_beside_fair(comparison),
        lead_lines=_lead_lines(comparison, sheets),
        sections=tuple(sections(bench, comparison, fits)),
        cautions=_once(sheets),
        comparison=comparison,
        sources=_sources(sheets),
        invented=invented,
        made=moment.date().isoformat(),
        version=VERSION,
        data_digest=data_digest(comparison, runs),
    )


def _lead_lines(comparison: Comparison, sheets: Sequence[CautionSheet]) -> tuple[str, ...]:
    """What stands below the first figure: what can hurt, who leads, who fell, what is next."""
    hardest = [
        c for level in CautionLevel for sheet in sheets for c in sheet.cautions if c.level is level
    ]
    said = [_before_repeating(hardest[0], alone=len(hardest) == 1)] if hardest else []
    said.append(telling.held_back(comparison))
    said.append(telling.given_word(comparison))
    said.append(telling.what_it_may_be_instead(comparison))
    said.append(telling.warmth_first(comparison))
    said.append(telling.undone_by(comparison))
    said.append(telling.rests_on(comparison))
    said.append(telling.who_leads(comparison))
    fall = telling.biggest_fall(comparison)
    said.append(fall.sentence() if fall else "")
    said += [f"{w.electrode} {w.detail}." for w in comparison.leaks if w.first_wet is not None]
    act = telling.next_act(comparison)
    said.append(f"Next: {act}" if act else "")
    return tuple(sentence_of(line) for line in said if line)


def _before_repeating(caution: Caution, *, alone: bool) -> str:
    """The hardest caution with its first act; all of it stands once, in the section of cautions."""
    act = caution.do.partition(". ")[0].rstrip(".")
    whole = "In full" if alone else "In full and with the others"
    return f"{caution.level}, before you repeat this: {caution.headline}. {act}. {whole} under Cautions"


METHOD = SourceLine(
    key="jcgm_100",
    reference=(
        "JCGM 100:2008, Guide to the expression of uncertainty in measurement: limits of error 4.3.7, "
        "digits 7.2.6, effective degrees of freedom annex G"
    ),
)
"""What every interval of the report rests on."""
_KEY = re.compile(r"\[([a-z0-9_]+)\]$")


def _sources(sheets: Sequence[CautionSheet]) -> tuple[SourceLine, ...]:
    """The guide behind the intervals, then each source of a caution once, by its key.

    A source is marked where every caution that names it rests on a figure that is not verified.
    """
    found: dict[str, SourceLine] = {METHOD.key: METHOD}
    for caution in (c for sheet in sheets for c in sheet.cautions):
        for text in caution.source:
            match = _KEY.search(text)
            key = match[1] if match else text
            known = found.get(key)
            doubtful = caution.unverified and (known is None or known.unverified)
            found[key] = SourceLine(key=key, reference=text, unverified=doubtful)
    return tuple(found.values())


def _once(sheets: Sequence[CautionSheet]) -> tuple[CautionSheet, ...]:
    """Each caution once: what several mixes share is not said again."""
    seen: set[tuple[str, str, str]] = set()
    kept: list[CautionSheet] = []
    for sheet in sheets:
        fresh = [c for c in sheet.cautions if (c.hazard, c.headline, c.do) not in seen]
        seen |= {(c.hazard, c.headline, c.do) for c in fresh}
        if fresh:
            kept.append(replace(sheet, cautions=tuple(fresh)))
    return tuple(kept)


def compare_and_report(
    bench: BenchFile,
    electrodes: Sequence[str],
    *,
    at: str,
    by: str,
    claim: str,
    room: str,
    same: Sequence[str] = (),
    moment: datetime,
    step: Callable[[str, float], None],
) -> Report:
    """Compare electrodes of a bench and put the answer on one page.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrodes : sequence of str
        Names; none for all that were measured.
    at : str
        A voltage ("0.45 V") or a current density ("2 mA/cm^2"); "" leaves it to the claim.
    by, claim, room : str
        A factor, a claim of the bench, a room for the cautions; "" for none.
    same : sequence of str
        Conditions that were the same for all though not measured, or "rest".
    moment : datetime
        When it is made.
    step : callable
        Told what is being done and which share of the whole is done.
    """
    step("comparing", 0.05)
    comparison = compare(bench, electrodes, by=by, claim=claim, same=tuple(same), **_point(at))
    step("fitting the curves", 0.60)
    names = {name for piece in comparison.pieces for name in piece.runs if not piece.control}
    fits = [
        fit_bench_run(bench, run.name, FitQuestion()) for run in bench.all(Run) if run.name in names
    ]
    step("looking for what can hurt", 0.85)
    sheets = [
        what_can_hurt(bench, item, CautionQuestion(room=room, portions=portions))
        for item, portions in _items(bench, comparison)
    ]
    step("laying it out", 0.95)
    return report(bench, comparison, fits, sheets, moment=moment)


def _point(at: str) -> dict[str, Any]:
    """Where to compare, by the unit that was typed."""
    if not at.strip():
        return {}
    _, unit = units.read_number(at)
    if units.same_kind(unit, "A/m^2"):
        return {"at_current_density": units.read(at, "A/m^2", field="at").value}
    return {
        "at_voltage": units.read(at, "V", bare=("V", "mV"), plausible=(0.0, 2.7), field="at").value
    }


def _items(bench: BenchFile, comparison: Comparison) -> list[tuple[str, tuple[Portion, ...]]]:
    """The mixes behind the pieces, the piece pressed hottest, one cell: what a repeater would handle.

    Of a mix whose pots were weighed the largest of these pots stands; else what the mix plans.
    """
    mixes: dict[str, tuple[Portion, ...]] = {}
    hottest: dict[str, tuple[float, str]] = {}
    cells: list[str] = []
    for piece in comparison.pieces:
        electrode = bench.find(Electrode, piece.electrode)
        for layer in electrode.layers if electrode else ():
            batch = bench.find(Batch, layer.batch) if layer.batch else None
            name = batch.mix if batch else layer.mix
            if not name or bench.find(Mix, name) is None:
                continue
            pot = batch.portions if batch else ()
            mixes[name] = max(mixes.get(name, ()), pot, key=_size)
            plates = [one.plate_temperature.value for one in electrode.press if one.plate_temperature] if electrode else []  # fmt: skip
            if plates:
                hottest[name] = max(hottest.get(name, (0.0, "")), (max(plates), piece.electrode))
        cells += [f"cell:{c.name}" for c in bench.all(Cell) if c.electrode == piece.electrode]
    handled = [(f"mix:{name}", portions) for name, portions in mixes.items()]
    pressed = [f"electrode:{max(hottest.values())[1]}"] if hottest else []
    return [*handled, *((item, ()) for item in (*pressed, *cells[:1]))]


def _size(portions: tuple[Portion, ...]) -> float:
    """How much a pot holds, in kilograms; a litre counts as one."""
    return sum(
        p.mass.value if p.mass else 1e3 * p.volume.value if p.volume else 0.0 for p in portions
    )


def data_digest(comparison: Comparison, runs: Sequence[Run]) -> str:
    """One checksum (SHA-256) over the question and the raw readings, in the order of their names."""
    digest = hashlib.sha256(comparison.question.encode())
    for run in sorted(runs, key=lambda r: r.name):
        digest.update(hashlib.sha256(canonical(run).encode()).digest())
    return digest.hexdigest()
