"""Every field of a stored sheet and of a stored room, each with a figure of its own."""

from __future__ import annotations

import pytest

from aerode.cautions.shelf_sheets import figures_of_sheet, polymer_of_lot
from aerode.cautions.situation import Air, SheetFigures
from aerode.cautions.views import air_of
from aerode.records.marks import Condition, Entry, Known
from aerode.records.materials import DataSheet, Function, PowderLot
from aerode.records.places import Airing, LocalExhaust, Room

SHEET = DataSheet(
    title="Maker Z",
    date="2024-03",
    flash_point=Entry(value=301.0),
    autoignition_temperature=Entry(value=702.0),
    lower_flammable_limit=Entry(value=0.013),
    day_limit=Entry(value=4e-6),
    day_limit_by_volume=Entry(value=5e-6),
    short_limit=Entry(value=6e-6),
    short_limit_by_volume=Entry(value=7e-6),
    heat_limit=Entry(value=408.0),
)


def test_a_sheet_is_copied_whole() -> None:
    said = "safety data sheet of can: Maker Z, 2024-03"
    assert figures_of_sheet("can", "toluene", SHEET) == (
        SheetFigures(
            of="toluene", said=said, named=True, flash=301.0, autoignition=702.0, lower=0.013,
            day=4e-6, day_by_volume=5e-6, quarter_hour=6e-6, quarter_hour_by_volume=7e-6,
        ),
    )  # fmt: skip
    assert figures_of_sheet("can", "", SHEET)[0].of == "can"
    assert figures_of_sheet("can", "toluene", None) == ()


@pytest.mark.parametrize(
    ("title", "date"), [("", "2024"), ("Maker Z", ""), (" ", "2024"), ("", "")]
)
def test_a_sheet_is_named_by_its_title_and_its_date(title: str, date: str) -> None:
    (found,) = figures_of_sheet("can", "toluene", DataSheet(title=title, date=date))
    assert not found.named
    assert (found.flash, found.autoignition, found.lower) == (None, None, None)
    assert (found.day, found.day_by_volume) == (None, None)
    assert (found.quarter_hour, found.quarter_hour_by_volume) == (None, None)


def test_a_polymer_takes_its_heat_line_and_its_name_from_the_sheet() -> None:
    lot = PowderLot(name="PVB", substance="PVB", function=Function.BINDER, data_sheet=SHEET)
    found = polymer_of_lot(lot.name, lot.substance, lot)
    assert found is not None
    assert (found.sheet_limit, found.sheet) == (408.0, "Maker Z, 2024-03")


def test_a_room_is_copied_whole() -> None:
    room = Room(
        name="shed",
        volume=Entry(value=61.0, standard_uncertainty=5.0),
        air_changes=Entry(value=7e-4, standard_uncertainty=1e-4, how="candle"),
        airing=Airing.CLOSED,
        local_exhaust=LocalExhaust.FAIR,
        temperature=Condition(known=Known.MEASURED, value=288.0, standard_uncertainty=0.5),
    )
    assert air_of(room) == Air(
        name="shed", volume=61.0, volume_uncertainty=5.0, air_changes=7e-4,
        air_changes_uncertainty=1e-4, airing=Airing.CLOSED.value, exhaust="fair", temperature=289.0,
        how="candle",
    )  # fmt: skip
    assert air_of(Room(name="shed")) == Air(name="shed")
    assert air_of(None) is None
