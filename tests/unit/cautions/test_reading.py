"""Acknowledging and folding: what blocks, what folds, what unfolds again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from aerode.cautions.engine import caution_sheet
from aerode.cautions.reading import require_acknowledged, sheet_lines
from aerode.cautions.situation import Air, CellPlan, Heating, OpenLiquid, Polymer, Situation
from aerode.errors import StoppedError
from aerode.records.cautions import Acknowledgement, CautionLevel, CautionSheet

ZERO = 273.15
DAILY = Situation(
    about=("A",),
    liquids=(OpenLiquid(name="ethanol", substance="ethanol", mass=0.002),),
    open_area=0.002,
    air=Air(volume=40.0, airing="window ajar"),
)


def hot(celsius: float) -> Situation:
    """PTFE under plates."""
    return Situation(
        about=("A",),
        polymers=(Polymer(name="t", substance="PTFE"),),
        heatings=(Heating(name="p", plate_temperature=ZERO + celsius),),
    )


def read_all(sheet: CautionSheet, reason: str = "read") -> list[Acknowledgement]:
    """An acknowledgement of everything on a sheet as it stands."""
    return [
        Acknowledgement(
            name=c.key, caution=c.key, about=c.about, reason=reason, level=c.level, figure=c.figure,
            limit=c.limit,
        )
        for c in sheet.cautions
    ]  # fmt: skip


def test_a_stop_blocks_until_it_is_acknowledged() -> None:
    """The refusal names the STOP and the line to type; with a reason it goes on."""
    sheet = caution_sheet(hot(340.0))
    with pytest.raises(StoppedError) as caught:
        require_acknowledged(sheet)
    assert "PTFE at 340 °C" in caught.value.what
    assert '--acknowledge "heat.polymer.PTFE" --reason' in caught.value.next_step
    require_acknowledged(caution_sheet(hot(340.0), read_all(sheet, "under a hood, tested before")))


def test_an_empty_reason_acknowledges_nothing() -> None:
    """Spaces are no reason."""
    sheet = caution_sheet(hot(340.0))
    again = caution_sheet(hot(340.0), read_all(sheet, "  "))
    assert again.waiting == ("heat.polymer.PTFE",)


def test_a_worse_figure_has_to_be_acknowledged_again() -> None:
    """340 degC was acknowledged; 400 was not."""
    said = read_all(caution_sheet(hot(340.0)), "under a hood")
    assert caution_sheet(hot(340.0), said).waiting == ()
    assert caution_sheet(hot(400.0), said).waiting == ("heat.polymer.PTFE",)


def test_what_was_acknowledged_elsewhere_does_not_count() -> None:
    """The same caution about another piece waits."""
    said = read_all(caution_sheet(hot(340.0)), "under a hood")
    assert caution_sheet(replace(hot(340.0), about=("B",)), said).waiting


def test_a_stop_never_folds() -> None:
    """Acknowledged or not, it stands in full with its reason."""
    sheet = caution_sheet(hot(340.0), read_all(caution_sheet(hot(340.0)), "under a hood"))
    text = " ".join(" ".join(sheet_lines(sheet)).split())
    assert "STOP polymer heat: PTFE at 340 °C" in text
    assert "Do not go there" in text
    assert "Acknowledged: under a hood" in text


def test_what_was_read_folds_to_one_line_each() -> None:
    """Two cautions, two lines of 80 columns, the source kept."""
    first = caution_sheet(DAILY)
    again = caution_sheet(DAILY, read_all(first))
    text = sheet_lines(again)
    body = [line for line in text if line[:5] in {"FIRST", "NOTE "}]
    assert len(body) == len(first.cautions) == 2
    assert len(text) == len(body) + 5  # the verdict and the standing text
    assert all(line.endswith("]") for line in body)
    assert len(sheet_lines(again, full=True)) > len(sheet_lines(first))


def test_a_caution_that_got_harder_unfolds() -> None:
    """Read as a NOTE, back in full as a STOP."""
    said = read_all(caution_sheet(hot(250.0)))
    harder = caution_sheet(hot(340.0), said)
    assert harder.cautions[0].level is CautionLevel.STOP
    assert harder.acknowledged == ()


def test_a_sheet_for_harmless_work_is_short() -> None:
    """No STOP, at most three cautions, and all of it within fourteen lines of print."""
    cell = CellPlan(name="A", salt="sea salt", aluminium_area=0.004, in_series=2)
    sheet = caution_sheet(replace(DAILY, liquids=(), cells=(cell,)))
    assert all(c.level is not CautionLevel.STOP for c in sheet.cautions)
    assert len(sheet.cautions) <= 3
    assert len(sheet_lines(sheet)) <= 14
