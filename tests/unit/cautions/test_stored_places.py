"""What the records keep about a danger: weighings, retained solvent, ovens, data sheets, the room."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from aerode.cautions.breathing import breathed, sources_of
from aerode.cautions.engine import assess
from aerode.cautions.heatings import stored_weighings
from aerode.cautions.limits import governing
from aerode.cautions.rooms import flows_of, left_by_exhaust, room_deciders
from aerode.cautions.sheets import fire_of, limits_of
from aerode.cautions.situation import (
    Air,
    Heating,
    OpenLiquid,
    Polymer,
    Powder,
    SheetFigures,
    Situation,
    WeighLoss,
)
from aerode.cautions.views import air_of
from aerode.errors import UnitError
from aerode.records.cautions import Caution, CautionLevel, CautionSheet, Finding
from aerode.records.electrodes import Appliance, Coat, Electrode, Layer, Press, Weighing
from aerode.records.marks import Condition, Entry, Known, Share
from aerode.records.materials import DataSheet, Function, PowderLot, Solution, SolventLot
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.places import Airing, LocalExhaust, Room
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_import import import_folder
from aerode.usecases.bench_write_folder import write_folder
from aerode.usecases.cautions import CautionQuestion, situation_of, what_can_hurt

ZERO = 273.15
SHEET = DataSheet(
    title="Maker Z thinner", date="2024-03-01", flash_point=Entry(value=ZERO - 8),
    day_limit_by_volume=Entry(value=10e-6),
)  # fmt: skip
DRY = (Weighing(mass=5.00e-3), Weighing(mass=5.00e-3, after=900.0, resolution=1e-6))
WET = (
    Weighing(mass=5.50e-3, at="2026-05-02T10:00"),
    Weighing(mass=5.20e-3, at="2026-05-02T10:15"),
)


def electrode(**more: object) -> Electrode:
    """A toluene piece for a lab oven at 60 degC."""
    plain: dict[str, object] = {
        "layers": (Layer(mix="T"),),
        "mesh_mass": Entry(value=3.0e-3),
        "wetted_area": Entry(value=1e-3),
        "press": (Press(appliance=Appliance.OVEN, plate_temperature=Entry(value=ZERO + 60.0)),),
    }
    return Electrode(name="P", **{**plain, **more})  # pyright: ignore[reportArgumentType]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A toluene mix in a shed with an oven; a thinner of unknown kind with its sheet."""
    records = [
        Room(name="shed", volume=Entry(value=60.0), airing=Airing.WINDOW,
             oven_volume=Entry(value=0.020)),
        SolventLot(name="Z", substance="", data_sheet=SHEET),
        PowderLot(name="soot", substance="carbon black", function=Function.CONDUCTOR,
                  data_sheet=DataSheet(title="soot", date="2025", day_limit=Entry(value=1e-9))),
        Solution(name="cup", polymer="PVB", liquid=(Share(of="toluene", fraction=1.0),),
                 solids=Entry(value=0.2),
                 data_sheet=DataSheet(title="cement", date="2023", heat_limit=Entry(value=ZERO + 150))),
        Mix(name="T", portions=(Portion(of="cup", shelf=Ingredient.SOLUTION, mass=Entry(value=0.01)),)),
        Mix(name="Z1", portions=(Portion(of="Z", shelf=Ingredient.SOLVENT, mass=Entry(value=0.02)),)),
        Mix(name="S", portions=(Portion(of="soot", mass=Entry(value=0.002)),)),
    ]  # fmt: skip
    with BenchFile.create(tmp_path / "b.aerode", title="test") as made:
        made.put_all(records)
        yield made


def line(sheet: CautionSheet, hazard: str) -> Caution:
    """The first caution on a hazard."""
    return next(c for c in sheet.cautions if c.hazard == hazard)


def test_two_stored_weighings_answer_the_dry_gate(bench: BenchFile) -> None:
    """Constant to a microgram step: dry; three tenths of a gram lost in a quarter of an hour: STOP."""
    bench.put(electrode(weighings=DRY))
    assert line(what_can_hurt(bench, "P"), "dry enough").level is CautionLevel.NOTE
    bench.put(electrode(weighings=WET))
    found = line(what_can_hurt(bench, "P"), "dry enough")
    assert found.level is CautionLevel.STOP
    assert "15 min" in found.figure


def test_the_last_coat_stands_in_for_the_piece(bench: BenchFile) -> None:
    """Weighings kept with a coat count until the piece itself was weighed."""
    coats = (Coat(), Coat(weighings=WET))
    kept = stored_weighings(electrode(layers=(Layer(mix="T", coats=coats),)))
    assert kept is not None
    assert kept.interval == 900.0
    assert kept.coating == pytest.approx(2.2e-3)
    both = electrode(layers=(Layer(mix="T", coats=coats),), weighings=DRY)
    assert stored_weighings(both) == stored_weighings(electrode(weighings=DRY))


def test_a_coat_on_a_dry_one_is_not_dry(bench: BenchFile) -> None:
    """Weighings before the last coat say nothing of its solvent; nor does one of two undated layers."""
    wet_on_dry = electrode(layers=(Layer(mix="T", coats=(Coat(weighings=DRY), Coat())),))
    one_of_two = electrode(
        layers=(Layer(mix="T", coats=(Coat(),)), Layer(mix="T", coats=(Coat(weighings=DRY),)))
    )
    dated = (Coat(at="2026-05-02", weighings=DRY), Coat(at="2026-05-01"))

    assert stored_weighings(wet_on_dry) is None
    assert stored_weighings(one_of_two) is None
    assert stored_weighings(electrode(layers=(Layer(mix="T", coats=dated),))) is not None
    bench.put(wet_on_dry)
    assert line(what_can_hurt(bench, "P"), "dry enough").level is CautionLevel.FIRST


@pytest.mark.parametrize(
    "weighings",
    [
        (),
        (Weighing(mass=5e-3),),
        (Weighing(mass=5e-3), Weighing(mass=5e-3)),
        (Weighing(mass=5e-3, at="morning"), Weighing(mass=5e-3, at="noon")),
        (Weighing(mass=5e-3, at="2026-05-02T10:15"), Weighing(mass=5e-3, at="2026-05-02T10:00")),
        (Weighing(mass=5e-3, at="2026-05-02T10:15"), Weighing(mass=5e-3, at="2026-05-02T10:30Z")),
    ],
)
def test_no_pair_with_a_time_is_no_weighing(weighings: tuple[Weighing, ...]) -> None:
    """One weighing, or two without a time between them, tell nothing."""
    assert stored_weighings(electrode(weighings=weighings)) is None


def test_coating_from_dry_layers_and_a_step_nobody_named() -> None:
    """Without a mesh mass the dry coats are added; the scale is then one for coffee, 0.01 g."""
    piece = electrode(
        mesh_mass=None,
        layers=(
            Layer(coats=(Coat(dry_mass=1e-3), Coat(dry_mass=2e-3))),
            Layer(dry_mass=Entry(value=5e-4)),
        ),
        weighings=WET,
    )
    kept = stored_weighings(piece)
    assert kept is not None
    assert kept.coating == pytest.approx(3.5e-3)
    assert kept.resolution == 1e-5
    unknown = replace(piece, layers=(*piece.layers, Layer(coats=(Coat(), Coat(dry_mass=1e-3)))))
    again = stored_weighings(unknown)
    assert again is not None
    assert again.coating is None


def test_typed_weighings_stand_before_stored_ones(bench: BenchFile) -> None:
    """The newest weighing is the one that was just typed; coating and area stay as stored."""
    bench.put(electrode(weighings=WET))
    question = CautionQuestion(weighed_twice="5.20 g, 5.20 g, 15 min", scale="0.001 g")
    found = line(what_can_hurt(bench, "P", question), "dry enough")
    assert found.level is CautionLevel.NOTE
    (heating,) = situation_of(bench, "P", question).heatings
    assert heating.weighings is not None
    assert heating.weighings.coating == pytest.approx(2.2e-3)
    assert heating.weighings.area == 1e-3


def test_retained_solvent_and_the_oven_of_the_room_make_a_flash_budget(bench: BenchFile) -> None:
    """3 g of toluene in the 20 L oven of the shed at 60 degC flashes far above what can burn."""
    bench.put(electrode(retained_solvent=Entry(value=3e-3)))
    assert line(what_can_hurt(bench, "P"), "flash in the closed space").level is CautionLevel.STOP
    (heating,) = situation_of(bench, "P", CautionQuestion()).heatings
    assert (heating.closed_volume, heating.retained_solvent) == (0.020, 3e-3)
    assert heating.name == "oven"
    big = Press(appliance=Appliance.OVEN, closed_volume=Entry(value=60.0),
                plate_temperature=Entry(value=ZERO + 60.0))  # fmt: skip
    bench.put(electrode(retained_solvent=Entry(value=3e-3), press=(big,)))
    assert not [c for c in what_can_hurt(bench, "P").cautions if c.hazard.startswith("flash")]


def test_a_planned_oven_is_the_oven_of_the_room(bench: BenchFile) -> None:
    """Typed only as a plan, an oven still has the volume that the room says."""
    bench.put(electrode(press=()))
    asked = CautionQuestion(plate="60 °C", appliance="oven", retained="3 g")
    assert (
        line(what_can_hurt(bench, "P", asked), "flash in the closed space").level
        is CautionLevel.STOP
    )
    (press,) = situation_of(bench, "P", replace(asked, appliance="press")).heatings
    assert press.closed_volume is None


def test_a_stored_extraction_is_seen(bench: BenchFile) -> None:
    """PTFE past its line with an extraction over the plates: FIRST, not STOP, where it is planned.

    What is in the log is done: a FIRST in the past tense, and what to do now.
    """
    bench.put(Mix(name="F", portions=(Portion(of="tape", mass=Entry(value=1e-3)),)))
    bench.put(PowderLot(name="tape", substance="PTFE", function=Function.WET_PROOFER))
    hot = Press(plate_temperature=Entry(value=ZERO + 340))
    for extraction, level in ((False, CautionLevel.STOP), (True, CautionLevel.FIRST)):
        bench.put(electrode(layers=(Layer(mix="F"),), press=(replace(hot, extraction=extraction),)))
        again = CautionQuestion(plate="340 degC")
        assert line(what_can_hurt(bench, "P", again), "polymer heat").level is level
        done = line(what_can_hurt(bench, "P"), "polymer heat")
        assert done.level is CautionLevel.FIRST
        assert "was at 340 °C" in done.headline
        assert done.do.startswith("It is done. What it gave off may have been breathed")
        assert "section 4 of its safety data sheet" in done.do
        assert "Before the next heat: " in done.do


def test_a_sheet_fills_in_what_is_not_on_file(bench: BenchFile) -> None:
    """A thinner nobody has named: its sheet gives the flash point, the limit and the source."""
    sheet = what_can_hurt(bench, "Z1")
    burning = line(sheet, "flammable liquid")
    assert burning.level is CautionLevel.FIRST
    assert "-8 °C, data sheet" in burning.headline
    assert burning.source == ("safety data sheet of Z: Maker Z thinner, 2024-03-01",)
    # ppm of a vapour whose molar mass nobody knows is no limit that can be compared with
    assert line(sheet, "vapour breathed").finding is Finding.NO_LIMIT
    by_mass = replace(SHEET, day_limit_by_volume=None, day_limit=Entry(value=40e-6))
    bench.put(SolventLot(name="Z", substance="", data_sheet=by_mass))
    breathing = line(what_can_hurt(bench, "Z1"), "vapour breathed")
    assert breathing.finding is Finding.STRADDLES
    assert (
        breathing.limit == "40 mg/m³ over 8 h held over 15 min, data sheet"
    )  # the stricter of its two uses
    assert any("Maker Z thinner" in s for s in breathing.source)


def test_a_sheet_tightens_and_never_loosens() -> None:
    """10 ppm of a sheet stands below 20 ppm on file, 500 ppm changes nothing."""
    own = governing("toluene", "day").published
    assert own is not None
    for ppm, governs in ((10e-6, True), (500e-6, False)):
        sheet = SheetFigures(of="toluene", said="sheet, 2024", day_by_volume=ppm, flash=300.0)
        situation = Situation(sheets=(sheet,))
        found = limits_of(situation, "toluene", "day").published
        assert found is not None
        assert (found.value < own.value) is governs
        assert (found.source == "sheet, 2024") is governs
        assert fire_of(situation, "toluene").flash == fire_of(Situation(), "toluene").flash


def test_a_sheet_without_a_name_is_like_memory() -> None:
    """It can tighten, and it is marked; it never carries a STOP."""
    sheet = SheetFigures(of="toluene", said="sheet", named=False, day=1e-9)
    found = limits_of(Situation(sheets=(sheet,)), "toluene", "day")
    assert found.memory is not None
    assert found.memory.value == 1e-9
    assert found.published == governing("toluene", "day").published


def test_short_limits_autoignition_and_the_lower_limit_come_from_a_sheet() -> None:
    """Each figure of a sheet reaches the rule that asks for it."""
    sheet = SheetFigures(
        of="mystery", said="sheet, 2024", autoignition=500.0, lower=0.012, quarter_hour=1e-4,
        quarter_hour_by_volume=1e-5,
    )  # fmt: skip
    situation = Situation(sheets=(sheet,))
    fire = fire_of(situation, "mystery")
    assert fire.autoignition is not None
    assert fire.autoignition.shown == "227 °C, data sheet"
    assert fire.lower is not None
    assert fire.lower.shown == "1.2 %, data sheet"
    short = limits_of(situation, "mystery", "quarter hour").published
    assert short is not None
    assert short.value == 1e-4
    assert limits_of(situation, "mystery", "instant").strictest is None


def test_the_dust_limit_of_a_sheet_counts_the_whole_powder(bench: BenchFile) -> None:
    """A soot whose sheet asks for a microgram per cubic metre is nearly always too much."""
    dust = line(what_can_hurt(bench, "S"), "dust")
    assert dust.level is CautionLevel.FIRST
    assert "safety data sheet of soot: soot, 2025" in dust.source
    plain = Situation(powders=(Powder(name="soot", substance="carbon black", mass=0.002),),
                      air=Air(volume=60.0, airing="window ajar"))  # fmt: skip
    assert assess(plain)[0].level is CautionLevel.NOTE


def test_the_heat_limit_of_a_stored_sheet_opens_its_polymer(bench: BenchFile) -> None:
    """PVB has no published line: 130 degC is refused, with the stored 150 degC it is not."""
    hot = Press(plate_temperature=Entry(value=ZERO + 130))
    bench.put(electrode(weighings=DRY, press=(hot,)))
    heat = line(what_can_hurt(bench, "P"), "polymer heat")
    assert heat.level is CautionLevel.NOTE
    assert any("cement, 2023" in s for s in heat.source)
    bench.put(replace(bench.get(Solution, "cup"), data_sheet=None))
    again = CautionQuestion(plate="130 degC")
    assert line(what_can_hurt(bench, "P", again), "polymer heat").level is CautionLevel.STOP
    done = line(what_can_hurt(bench, "P"), "polymer heat")
    assert done.level is CautionLevel.FIRST
    assert "the plates were at 130 °C" in done.headline


def test_one_temperature_for_all_that_is_in_a_piece(bench: BenchFile) -> None:
    """Ethanol alone would let the plates go higher than PVB does: the lower of the two is told."""
    hot = Situation(
        polymers=(Polymer(name="B", substance="PVB"),),
        heatings=(Heating(name="press", plate_temperature=ZERO + 350, last_solvents=("ethanol",)),),
    )
    told = [c for c in assess(hot) if c.hazard == "ignition by the plate"]
    assert [c.do.split(",")[0] for c in told] == ["Keep the plates below 120 °C (for PVB)"]


def test_typed_figures_of_a_sheet(bench: BenchFile) -> None:
    """By their unit: a day's limit by volume or mass, a flash point, a heat limit."""
    asked = CautionQuestion(
        sheets=("toluene=5 ppm, Z 2024", "toluene=3 mg/m^3, Z 2024", "toluene=flash -20 °C, Z 2024",
                "PVB=150 °C, Z 2024", "toluene=2 ppm"),
    )  # fmt: skip
    found = situation_of(bench, "T", asked)
    typed = [s for s in found.sheets if s.of == "toluene" and "entered by hand" in s.said]
    assert [(s.day_by_volume, s.day, s.named) for s in typed] == [
        (pytest.approx(5e-6), None, True), (None, pytest.approx(3e-6), True), (None, None, True),
        (pytest.approx(2e-6), None, False),
    ]  # fmt: skip
    assert typed[2].flash == pytest.approx(253.15)
    assert [p.sheet_limit for p in found.polymers] == [pytest.approx(423.15)]
    with pytest.raises(UnitError, match="no line of a data sheet"):
        situation_of(bench, "T", CautionQuestion(sheets=("toluene",)))


def test_the_folder_brings_them_all(tmp_path: Path) -> None:
    """Weighings in a cell, data sheets and the room in columns, as a person writes them."""
    place = tmp_path / "folder"
    place.mkdir()
    (place / "solvents.csv").write_text(
        "name,substance,data_sheet.title,data_sheet.date,data_sheet.flash_point (°C),"
        "data_sheet.day_limit (mg/m^3),data_sheet.day_limit_by_volume (ppm)\n"
        "Z,acetone,Maker Z,2024-03-01,-20,1190,500\n",
        encoding="utf-8",
    )
    (place / "rooms.csv").write_text(
        "name,volume,air_changes,local_exhaust,oven_volume (L),temperature\n"
        "shed,60 m^3 ± 5 m^3,2 ± 0.5 h^-1,fair,20,measured: 12 °C\n",
        encoding="utf-8",
    )
    (place / "electrodes.csv").write_text(
        "name,weighings,retained_solvent,press.appliance,press.closed_volume,press.extraction\n"
        "P,12.43 g; 12.42 g after 15 min; 12.42 g at 2026-05-02T10:30,0.1 g,oven,20 L,yes\n",
        encoding="utf-8",
    )
    with BenchFile.create(tmp_path / "b.aerode", title="test") as made:
        import_folder(made, place)
        sheet = made.get(SolventLot, "Z").data_sheet
        room, piece = made.get(Room, "shed"), made.get(Electrode, "P")
    assert sheet is not None
    assert sheet.flash_point is not None
    assert sheet.day_limit is not None
    assert sheet.flash_point.value == pytest.approx(253.15)
    assert sheet.day_limit.value == pytest.approx(1.19e-3)
    assert sheet.day_limit_by_volume is not None
    assert sheet.day_limit_by_volume.value == pytest.approx(5e-4)
    assert room.local_exhaust is LocalExhaust.FAIR
    assert room.oven_volume is not None
    assert room.oven_volume.value == pytest.approx(0.02)
    assert [(w.mass, w.after, w.at) for w in piece.weighings] == [
        (pytest.approx(0.01243), None, ""), (pytest.approx(0.01242), pytest.approx(900.0), ""),
        (pytest.approx(0.01242), None, "2026-05-02T10:30"),
    ]  # fmt: skip
    assert piece.press[0].appliance is Appliance.OVEN
    assert piece.press[0].extraction


def test_a_room_goes_out_to_a_folder_and_comes_back(tmp_path: Path) -> None:
    """What stands in the room record is written so that it reads as the same again."""
    room = Room(
        name="shed",
        volume=Entry(value=60.0, standard_uncertainty=5.0),
        air_changes=Entry(value=2 / 3600),
        local_exhaust=LocalExhaust.GOOD,
        oven_volume=Entry(value=0.02),
    )
    (tmp_path / "out").mkdir()
    write_folder([room, electrode(weighings=WET)], tmp_path / "out")
    with BenchFile.create(tmp_path / "b.aerode", title="test") as again:
        import_folder(again, tmp_path / "out")
        back, piece = again.get(Room, "shed"), again.get(Electrode, "P")
    assert back.air_changes is not None
    assert back.air_changes.value == pytest.approx(2 / 3600)
    assert back.local_exhaust is LocalExhaust.GOOD
    assert [w.mass for w in piece.weighings] == [pytest.approx(w.mass) for w in WET]
    assert [w.at for w in piece.weighings] == [w.at for w in WET]


def test_a_room_spans_what_is_not_known_of_it() -> None:
    """Twice the standard uncertainty to either side, of the volume and of the air changes."""
    room = Room(
        name="r",
        volume=Entry(value=60.0, standard_uncertainty=5.0),
        air_changes=Entry(value=2 / 3600, standard_uncertainty=0.5 / 3600),
    )
    flows = flows_of(air_of(room))
    assert (flows.smallest, flows.volume, flows.largest) == (50.0, 60.0, 70.0)
    assert flows.low * 3600 == pytest.approx(1.0 * 50.0)
    assert flows.high * 3600 == pytest.approx(3.0 * 70.0)
    assert not flows.missing
    assert "1 to 3" in flows.how
    assert room_deciders(air_of(room)) == (
        "the air changes of the room, more closely", "the volume of the room, more closely",
    )  # fmt: skip
    vague = Air(volume=60.0, volume_uncertainty=60.0, airing="closed room")
    assert flows_of(vague).smallest == 6.0


def test_a_vague_room_cannot_tell_and_names_what_decides() -> None:
    """A figure below its limit with the rate as stated straddles it once the rate is uncertain."""
    sharp = Air(volume=50.0, air_changes=2.0 / 3600)
    vague = replace(sharp, air_changes_uncertainty=0.9 / 3600)
    levels: list[tuple[Finding, tuple[str, ...]]] = []
    for air in (sharp, vague):
        pot = Situation(
            liquids=(OpenLiquid(name="e", substance="ethanol", mass=0.4),),
            air=air,
            weigh_loss=WeighLoss(lost=1e-3, over=600.0),
        )
        found = next(c for c in assess(pot) if c.key == "vapour.breathed")
        levels.append((found.finding, found.missing))
    assert levels[0][0] is Finding.BELOW
    assert levels[1][0] is Finding.STRADDLES
    assert levels[1][1][0] == "the air changes of the room, more closely"


def test_a_local_exhaust_takes_its_share_and_no_more_than_is_known() -> None:
    """By its class and the class below: fair leaves 20 to 70 %, none and unsaid leave all."""
    assert left_by_exhaust(Air(exhaust="fair")) == left_by_exhaust(Air(exhaust="fair", volume=1.0))
    fair = left_by_exhaust(Air(exhaust="fair"))
    assert (fair.low, fair.high) == (pytest.approx(0.2), pytest.approx(0.7))
    for plain in (None, Air(), Air(exhaust="none"), Air(exhaust="as if")):
        assert (left_by_exhaust(plain).low, left_by_exhaust(plain).high) == (1.0, 1.0)
    room = Air(volume=50.0, air_changes=2.0 / 3600)
    pot = Situation(liquids=(OpenLiquid(name="t", substance="toluene", mass=0.02),), air=room)
    (source,) = sources_of(pot)
    open_day = breathed(source, room, pot.stay).day
    hood = breathed(source, replace(room, exhaust="excellent"), pot.stay).day
    assert hood.low == pytest.approx(0.02 * open_day.low)
    assert hood.high == pytest.approx(0.10 * open_day.high)
    said = next(
        c for c in assess(replace(pot, air=replace(room, exhaust="good")))
        if c.key == "vapour.breathed"
    )  # fmt: skip
    assert "local exhaust, good: catches 80 to 90 %" in said.basis
    assert any("local exhaust" in m for m in room_deciders(replace(room, exhaust="good")))


@pytest.mark.parametrize(
    ("condition", "kelvin"),
    [
        (Condition(known=Known.MEASURED, value=285.15), 285.15),
        (Condition(known=Known.MEASURED, value=285.15, standard_uncertainty=1.0), 287.15),
        (Condition(known=Known.SAME, value=303.15), 303.15),
        (Condition(), 298.15),
    ],
)
def test_a_cold_room_is_judged_cold(condition: Condition, kelvin: float) -> None:
    """At its own temperature, at the warm end of the thermometer; 25 degC where nobody read one."""
    air = air_of(Room(name="r", temperature=condition))
    assert air is not None
    assert air.temperature == pytest.approx(kelvin)


def test_xylene_is_no_open_fire_in_a_cold_shed() -> None:
    """o-Xylene flashes at 30 degC: at 12 degC its air is too lean, and less of it evaporates."""
    found: list[float] = []
    for kelvin in (285.15, 308.15):
        pot = Situation(
            liquids=(OpenLiquid(name="x", substance="o-xylene", mass=0.05),), open_area=0.01,
            air=Air(volume=50.0, air_changes=2.0 / 3600, temperature=kelvin),
        )  # fmt: skip
        level = next(c.level for c in assess(pot) if c.hazard == "flammable liquid")
        assert level is (CautionLevel.NOTE if kelvin < 300 else CautionLevel.FIRST)
        found.append(sources_of(pot)[0].centre)
    assert found[0] < 0.5 * found[1]
