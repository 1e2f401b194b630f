"""The report as a record: sources named once, no sentence about what was not measured, figures as files."""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING

import pytest

from aerode.cli import main
from aerode.errors import CannotTellError
from aerode.measure import picturing
from aerode.measure.comparison import lines
from aerode.records.places import Bench
from aerode.records.runs import Run, RunSort
from aerode.store.bench_file import BenchFile, now
from aerode.usecases.report import compare_and_report
from aerode.virtual.tern_sound import draw

if TYPE_CHECKING:
    from pathlib import Path

    from aerode.records.reports import Report


def _bench(place: Path, *, ammeter: bool = True) -> Path:
    records = [
        r
        for r in draw(1).records
        if not isinstance(r, Bench)
        and (ammeter or not isinstance(r, Run) or r.sort is not RunSort.SHORT_CIRCUIT)
    ]
    with BenchFile.create(place, title="shed") as bench:
        bench.put_all(records)
    return place


def _report(place: Path) -> Report:
    with BenchFile.open(place, read_only=True) as bench:
        return compare_and_report(
            bench,
            (),
            at="0.45 V",
            by="binder",
            claim="",
            room="net shed",
            moment=now(),
            step=lambda what, share: None,
        )


def test_each_source_stands_once(tmp_path: Path) -> None:
    """The guide behind the intervals and every source of a caution are listed, none twice."""
    page = _report(_bench(tmp_path / "b.aerode"))
    keys = [line.key for line in page.sources]

    assert keys[0] == "jcgm_100"
    assert "iec_60079_20_1" in keys
    assert len(keys) == len(set(keys))


def test_no_ammeter_no_word_of_it(tmp_path: Path) -> None:
    """Where no ammeter was read, the first figure shows the fair values alone."""
    page = _report(_bench(tmp_path / "b.aerode", ammeter=False))

    assert page.lead_figure.name == "fair-values"
    assert (
        "ammeter"
        not in f"{page.lead_figure.alt} {page.lead_figure.caption} {page.lead_lines}".lower()
    )


def test_nothing_to_show_is_told(tmp_path: Path) -> None:
    """A comparison without a single value has no figure and says so."""
    from dataclasses import replace

    comparison = replace(_report(_bench(tmp_path / "b.aerode")).comparison, pieces=())
    with pytest.raises(CannotTellError, match="no electrode has a value"):
        picturing.ammeter_beside_fair(comparison)


def test_figures_as_files(tmp_path: Path) -> None:
    """Every figure of the page can be had as an SVG file of its own."""
    place = _bench(tmp_path / "b.aerode")
    with pytest.raises(SystemExit) as end:
        main(["report", "-b", str(place), "--by", "binder", "--at", "0.45 V", "--to", str(tmp_path / "r.html"),
              "--figures", str(tmp_path / "figures")])  # fmt: skip

    files = sorted(p.name for p in (tmp_path / "figures").iterdir())
    assert not end.value.code
    assert "ammeter-beside-fair.svg" in files
    assert all(
        (tmp_path / "figures" / name).read_text("utf-8").startswith("<svg") for name in files
    )


@pytest.mark.parametrize(
    ("estimate", "named"),
    [(1e-12, False), (1.2e-4, False), (0.002, False), (0.05, True), (-0.05, True)],
)
def test_an_effect_near_nothing_is_no_fault(
    estimate: float, named: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An effect that would take thousands of builds gets no number of builds, and no refusal."""
    monkeypatch.setattr(lines, "total_spread", lambda found: 0.06)
    needed = lines._needed(
        SimpleNamespace(estimate=estimate),  # pyright: ignore[reportArgumentType]
        SimpleNamespace(),  # pyright: ignore[reportArgumentType]
        SimpleNamespace(look_level=0.05),  # pyright: ignore[reportArgumentType]
    )

    assert (needed is not None) is named
    assert needed is None or 2 <= needed <= 400
