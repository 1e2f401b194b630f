"""Acknowledging and folding: what blocks, what folds, what unfolds again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from aerode.cautions.engine import caution_sheet
from aerode.cautions.reading import folded_keys, require_acknowledged, sheet_lines
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


def done(celsius: float, *, appliance: str = "press") -> Situation:
    """PTFE that was heated already, wet with ethanol last, in forty litres of air: nothing of it is a STOP."""
    one = Heating(
        name="p", plate_temperature=ZERO + celsius, appliance=appliance, done=True, closed_volume=0.04,
        last_solvents=("ethanol",),
    )  # fmt: skip
    return replace(hot(celsius), heatings=(one,))


@pytest.mark.parametrize(("read_at", "level"), [(300.0, CautionLevel.FIRST), (100.0, CautionLevel.NOTE)])  # fmt: skip
def test_what_was_read_of_one_heat_is_not_read_of_a_hotter_one(
    read_at: float, level: CautionLevel
) -> None:
    """An edited pressing, forty degrees hotter at the same level: it stands open again, as before it was read."""
    first = caution_sheet(done(read_at))
    one = next(c for c in first.cautions if c.hazard == "polymer heat")
    assert one.level is level
    said = read_all(first)
    assert one.key in folded_keys(caution_sheet(done(read_at), said))

    hotter = caution_sheet(done(read_at + 40.0), said)
    now = next(c for c in hotter.cautions if c.hazard == "polymer heat")
    assert now.level is level
    assert now.key not in folded_keys(hotter)


def test_every_first_that_hangs_on_the_heat_opens_again() -> None:
    """The oven and the vapour in it too, which tell no figure of their own."""
    first = caution_sheet(done(100.0, appliance="household oven"))
    hotter = caution_sheet(done(140.0, appliance="household oven"), read_all(first))
    open_again = {c.hazard for c in hotter.cautions if c.key not in folded_keys(hotter)}
    assert {"household oven", "flash in the closed space", "polymer heat"} <= open_again


def test_a_note_of_another_matter_stays_folded() -> None:
    """A little more ethanol evaporates: the NOTE on its vapour was read."""
    said = read_all(caution_sheet(DAILY))
    more = replace(DAILY, liquids=(OpenLiquid(name="ethanol", substance="ethanol", mass=0.0021),))
    sheet = caution_sheet(more, said)
    notes = [c.key for c in sheet.cautions if c.level is CautionLevel.NOTE]
    assert notes
    assert set(notes) <= set(folded_keys(sheet))


def test_a_sheet_for_harmless_work_is_short() -> None:
    """No STOP, at most three cautions, and all of it within fourteen lines of print."""
    cell = CellPlan(name="A", salt="sea salt", aluminium_area=0.004, in_series=2)
    sheet = caution_sheet(replace(DAILY, liquids=(), cells=(cell,)))
    assert all(c.level is not CautionLevel.STOP for c in sheet.cautions)
    assert len(sheet.cautions) <= 3
    assert len(sheet_lines(sheet)) <= 14
