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
from aerode.records.results import Estimate
from aerode.records.runs import Reading, Run, RunSort
from aerode.report.page import html
from aerode.store.bench_file import BenchFile, now
from aerode.usecases.report import compare_and_report
from aerode.usecases.report_readings import reading_table
from aerode.usecases.report_tables import air_table, estimate_with_unit
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


def test_the_page_leads_to_its_one_section_of_cautions(tmp_path: Path) -> None:
    """Above stands the hardest with its first act; what else it asks for stands once, among the cautions."""
    page = _report(_bench(tmp_path / "b.aerode"))
    caution = page.cautions[0].cautions[0]
    acts = caution.do.split(". ")
    said = html(page).replace("\N{NO-BREAK SPACE}", " ")

    assert caution.level.value == "FIRST"
    assert page.lead_lines[0] == (
        f"FIRST, before you repeat this: {caution.headline}. {acts[0]}. In full and with the others under Cautions."
    )
    assert 'under <a href="#cautions">Cautions</a>.' in said
    assert said.count(acts[1]) == 1
    assert said.index('<section id="cautions">') < said.index(acts[1])


def test_every_axis_names_what_it_shows_and_captions_are_short(tmp_path: Path) -> None:
    """A quantity with its unit on each axis, at most three lines of caption; the recipes have a table."""
    page = _report(_bench(tmp_path / "b.aerode"))
    figures = [page.lead_figure, *(f for part in page.sections for f in part.figures)]
    titles = {
        (f.name, axis.title, axis.unit) for f in figures for axis in (f.x, f.y) if not axis.names
    }

    assert ("contrasts", "Ratio of current density at 0.45 V, log scale", "") in titles
    assert ("corrections", "Change of the current density", "%") in titles
    assert ("ammeter-beside-fair", "Share of the average of all", "%") in titles
    assert page.lead_figure.x.names == ("ammeter current", "fair current density")
    assert all(title for _, title, _ in titles)
    assert max(len(f.caption) for f in figures) <= 260
    recipes = next(t for part in page.sections for t in part.tables if t.columns[0] == "recipe")
    told = {row[0]: row[1] for row in recipes.rows}
    assert told["b10 m0 100C"] == "10 % binder, no magnetite, plate temperature 100 °C"


def test_the_readings_have_a_column_for_each_load(tmp_path: Path) -> None:
    """One line for each run; a load that a run did not have is a dash."""
    page = _report(_bench(tmp_path / "b.aerode"))
    table = next(t for part in page.sections if part.name == "data" for t in part.tables)

    assert table.columns[:4] == ("run", "order", "open", "220 ohm")
    assert all(len(row) == len(table.columns) for row in table.rows)
    assert table.caption.endswith("in V")


def test_runs_of_many_loads_are_told_as_lines() -> None:
    """A load read twice in one run has no column of its own."""
    run = Run(
        name="r", electrode="T1",
        readings=(Reading(load="15 ohm", voltage=0.42), Reading(load="15 ohm", voltage=0.41), Reading(current=0.066)),
    )  # fmt: skip

    assert reading_table([run]).rows == (
        ("r", "–", "15 ohm: 0.420, 15 ohm: 0.410, ammeter: 66 mA"),
    )


def test_what_is_not_given_has_no_unit() -> None:
    """A missing value reads "not given", a bound and a value carry their unit."""
    assert (
        estimate_with_unit(Estimate(value=None, unit="mAh/cm^2", reason="no mass")) == "not given"
    )
    assert estimate_with_unit(Estimate(value=1.5, unit="mAh/cm^2")) == "1.5 mAh/cm²"
    assert estimate_with_unit(Estimate(value=None, unit="mW", lower_bound=2.0)) == "at least 2 mW"


def test_a_piece_that_is_cleared_needs_no_next_act() -> None:
    """The row says so where a piece that is in doubt names its act."""
    charge = Estimate(value=1.0, unit="mAh/cm^2")
    rows = [
        SimpleNamespace(electrode=name, charge_drawn=charge, stored_charge=charge, cleared=not step, detail="said", next_step=step)
        for name, step in (("T1", ""), ("T2", "seal the face again"))
    ]  # fmt: skip
    table = air_table(SimpleNamespace(air_or_battery=rows))  # pyright: ignore[reportArgumentType]

    assert [row[-1] for row in table.rows] == ["none needed", "seal the face again"]


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
