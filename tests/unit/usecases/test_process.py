"""Drying, dryness, pressing, wetting, electrolyte: bands that answer as they must, and what is refused."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from aerode.errors import AerodeError
from aerode.records.adapter import read, write_whole
from aerode.records.cautions import CautionLevel
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, Solution
from aerode.records.mixes import Mix
from aerode.records.processes import ProcessAnswer
from aerode.store.bench_file import BenchFile
from aerode.usecases.process import Desk, shares_of, shown_time
from aerode.usecases.process_drying import DryingQuestion, time_to_dry
from aerode.usecases.process_dryness import DrynessQuestion, is_it_dry
from aerode.usecases.process_electrolyte import (
    ElectrolyteQuestion,
    StrengthQuestion,
    make_up,
    read_probe,
)
from aerode.usecases.process_pressing import PressQuestion, press
from aerode.usecases.process_wetting import WettingQuestion, head_held

ETHANOL = {"solvents": ("ethanol",), "liquid": "1 g", "area": "36 cm^2"}
TORQUE = {"torque": "40 in-lb", "screw": "M8", "area": "36 cm^2"}


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[BenchFile]:
    """A bench with the mix T5: char, black, PVB in ethanol, beeswax in water."""
    with BenchFile.create(tmp_path / "shed.aerode", title="Net shed") as store:
        store.put_all(
            [
                PowderLot(name="biochar A", substance="biochar", function=Function.ACTIVE_CARBON),
                PowderLot(name="lamp black", substance="carbon black", function=Function.CONDUCTOR),
                Solution(
                    name="PVB solution",
                    polymer="PVB",
                    liquid=(Share(of="ethanol", fraction=1.0),),
                    label_solids=Entry(value=0.15),
                ),
                Solution(
                    name="wax",
                    polymer="beeswax",
                    function=Function.WET_PROOFER,
                    liquid=(Share(of="water", fraction=1.0),),
                    label_solids=Entry(value=0.3),
                    dispersed=True,
                ),
                Mix(
                    name="T5",
                    wanted=(
                        Share(of="biochar A", fraction=0.61),
                        Share(of="lamp black", fraction=0.20),
                        Share(of="PVB solution", fraction=0.15),
                        Share(of="wax", fraction=0.04),
                    ),
                    solids_fraction=Entry(value=0.18),
                ),
            ]
        )
        yield store


def _dry(**said: object) -> ProcessAnswer:
    return time_to_dry(DryingQuestion(**{**ETHANOL, **said}))  # type: ignore[arg-type]


def test_drying_is_a_band_with_cautions_and_assumptions() -> None:
    """Low below likely below high; the vapour stands first; what was not given is listed."""
    answer = _dry()
    found = answer.drying

    assert found is not None
    assert found.free.low is not None
    assert found.free.likely is not None
    assert found.free.high is not None
    assert 0.0 < found.free.low < found.free.likely < found.free.high
    assert found.liquid_mass == pytest.approx(1e-3)
    assert answer.cautions
    assert {a.what for a in answer.assumed} >= {"temperature", "still air"}
    assert len(answer.headline) <= 100
    assert read(ProcessAnswer, write_whole(answer)) == answer


def test_more_air_warmth_or_area_dries_faster() -> None:
    """Every lever moves both ends the right way."""

    def ends(**said: object) -> tuple[float, float]:
        found = _dry(**said).drying
        assert found is not None
        assert found.free.low is not None
        assert found.free.high is not None
        return found.free.low, found.free.high

    slow = ends()
    for lever in ({"air": "fan"}, {"temperature": "35 degC"}, {"faces": 2}, {"area": "72 cm^2"}):
        fast = ends(**lever)
        assert fast[0] <= slow[0]
        assert fast[1] < slow[1]
    assert ends(liquid="2 g")[0] == pytest.approx(2.0 * slow[0])


def test_a_quick_liquid_cools_itself_most() -> None:
    """Acetone gets colder than ethanol, ethanol colder than xylene; none above the room."""
    cold = {
        name: _dry(solvents=(name,)).drying for name in ("acetone", "ethanol", "xylenes", "water")
    }
    temperatures = {name: found.coldest for name, found in cold.items() if found is not None}

    assert temperatures["acetone"] < temperatures["ethanol"] < temperatures["xylenes"] < 298.15  # type: ignore[operator]


def test_water_waits_for_dry_air() -> None:
    """At 90 % humidity water takes several times as long as at 30 %."""
    damp = _dry(solvents=("water",), humidity="90 %").drying
    dry = _dry(solvents=("water",), humidity="30 %").drying

    assert damp is not None
    assert dry is not None
    assert damp.free.likely > 4.0 * dry.free.likely  # type: ignore[operator]


def test_a_blend_ends_with_its_slow_liquid() -> None:
    """Ethanol leaves first: the end is mostly water; times add up."""
    found = _dry(solvents=("ethanol=0.8", "water=0.2")).drying

    assert found is not None
    shares = {one.of: one for one in found.liquids}
    assert shares["water"].near_the_end > shares["water"].at_start  # type: ignore[operator]
    assert sum(one.near_the_end or 0.0 for one in found.liquids) == pytest.approx(1.0)
    assert found.free.low == pytest.approx(sum(one.alone.low or 0.0 for one in found.liquids))


def test_wet_mass_and_loading_give_the_liquid() -> None:
    """Both ways to the same gram; without any of them it is refused, and says how."""
    by_wet = _dry(liquid="", wet="1.22 g", solids="18 %").drying
    by_loading = _dry(liquid="", loading="6.1 mg/cm^2", solids="18 %").drying

    assert by_wet is not None
    assert by_loading is not None
    assert by_wet.liquid_mass == pytest.approx(1.0e-3, rel=1e-3)
    assert by_loading.liquid_mass == pytest.approx(1.0e-3, rel=1e-3)


def test_a_scale_is_better_than_the_models() -> None:
    """The first rate kept up, and a third of it."""
    found = _dry(lost="0.1 g in 5 min").drying

    assert found is not None
    assert found.measured_rate
    assert found.free.low == pytest.approx(3000.0)
    assert found.free.high == pytest.approx(9000.0)


def test_the_last_solvent_needs_a_way() -> None:
    """Dense: the whole thickness; porous: the skins; neither known: no upper end."""
    dense = _dry(coat="dense", thickness="300 um").drying
    porous = _dry(coat="porous").drying
    unknown = _dry().drying

    assert dense is not None
    assert porous is not None
    assert unknown is not None
    assert dense.last.low > porous.last.high  # type: ignore[operator]
    assert unknown.last.high is None
    assert "only a scale tells" in _dry().headline


def test_a_mix_brings_liquids_solids_and_voids(bench: BenchFile) -> None:
    """Shares from the pot, solids from the recipe, porous by its binder, and how far it sinks."""
    question = DryingQuestion(mix="T5", loading="25 mg/cm^2", area="36 cm^2", grain="2 um")
    answer = time_to_dry(question, bench)
    found = answer.drying

    assert found is not None
    assert {one.of for one in found.liquids} == {"ethanol", "water"}
    assert found.liquid_mass == pytest.approx(0.9e-3 * (1 / 0.18 - 1), rel=0.02)
    assert found.last.high is not None
    assert found.cracks is not None
    assert found.cracks.dry_over_wet is not None
    assert 0.05 < found.cracks.dry_over_wet < 0.6
    assert found.cracks.thickness is not None
    assert found.cracks.thickness.low < found.cracks.thickness.high  # type: ignore[operator]
    assert answer.about == ("T5",)


@pytest.mark.parametrize(
    ("weighed", "said"),
    [
        ("12.43 g, 12.43 g, 15 min", "Weight constant"),
        ("12.60 g, 12.50 g, 15 min", "Not dry"),
        ("12.43 g, 12.43 g, 5 min", "Cannot tell"),
    ],
)
def test_dryness_says_what_two_weighings_say(weighed: str, said: str) -> None:
    """Constant, still losing, or cannot tell: and no heat but after the first."""
    answer = is_it_dry(DrynessQuestion(weighed=weighed, coating="2.1 g"))

    assert answer.headline.startswith(said)
    assert ("No heat" in answer.headline) == (said != "Weight constant")
    assert answer.dryness is not None
    assert "1 % of the coating" in answer.dryness.rule


def test_a_coarse_scale_never_says_dry() -> None:
    """0.1 g steps on a coating of 2 g: cannot tell."""
    answer = is_it_dry(DrynessQuestion(weighed="12.4 g, 12.4 g, 15 min", coating="2 g", scale="0.1 g"))  # fmt: skip

    assert answer.headline.startswith("Cannot tell")


def test_like_pieces_weighed_together_share_the_step_of_the_scale() -> None:
    """Four pieces, 2 g of coat each: 20 mg count as constant, and 0.05 g steps fall to each as 12.5 mg (by hand)."""
    sent = {"weighed": "49.70 g, 49.70 g, 15 min", "coating": "2 g", "scale": "0.05 g"}
    alone = is_it_dry(DrynessQuestion(**sent))
    four = is_it_dry(DrynessQuestion(**sent, pieces=4))
    lost = is_it_dry(DrynessQuestion(**{**sent, "weighed": "49.90 g, 49.70 g, 15 min"}, pieces=4))

    assert alone.headline.startswith("Cannot tell")
    assert (
        four.headline == "Weight constant: 0 mg a piece in 15 min, at most 20 mg counts as constant"
    )
    assert any("dry alike" in one for one in four.warnings)
    assert lost.headline.startswith("Not dry: it still loses 50 mg a piece")


def test_three_weighings_say_when() -> None:
    """100 mg, then 50 mg: the next is 25, so 50 mg to go and constant after more than one interval."""
    found = is_it_dry(
        DrynessQuestion(weighed="12.60 g, 12.50 g, 12.45 g, 15 min", coating="2.1 g")
    ).dryness

    assert found is not None
    assert found.still_to_go == pytest.approx(50e-6, rel=1e-6)
    assert found.constant_in is not None
    assert 15 * 60.0 < found.constant_in < 30 * 60.0


def test_a_torque_is_a_force_to_a_factor() -> None:
    """Not said: a factor of three; said greased or dry: less; all bands hold the likely one."""

    def band(thread: str) -> float:
        load = press(PressQuestion(thread=thread, **TORQUE)).load
        assert load is not None
        assert load.force.low is not None
        assert load.force.high is not None
        assert load.force.low < (load.force.likely or 0.0) < load.force.high
        return load.force.high / load.force.low

    assert band("not said") > band("greased") > band("dry") > 1.5


def test_a_cold_press_is_told_as_one() -> None:
    """Without a plate, or with one that softens nothing; a warm plate is none, and no force no press."""
    load = PressQuestion(weights="20 kg", area="36 cm^2", polymers=("PVB",))
    none, cool, warm = (press(replace(load, plate=p)).warnings for p in ("", "21 degC", "85 degC"))

    assert "this is a cold press" in none[0]
    assert "21 °C softens nothing here" in cool[0]
    assert "heat begins to bind at" in none[0]
    assert not any("cold press" in line for line in warm)
    assert not any(
        "cold press" in line for line in press(PressQuestion(polymers=("PVB",))).warnings
    )


def test_inch_pounds_and_newton_metres_are_one_press() -> None:
    """40 in-lb are 4.52 N m; two clamps press twice."""
    one = press(PressQuestion(**TORQUE)).load
    two = press(PressQuestion(clamps=2, **{**TORQUE, "torque": "4.519393 N m"})).load

    assert one is not None
    assert two is not None
    assert two.pressure.likely == pytest.approx(2.0 * (one.pressure.likely or 0.0), rel=1e-5)
    assert any("40 in-lb, taken as" in u for u in press(PressQuestion(**TORQUE)).understood)


def test_weights_dials_and_gauges() -> None:
    """20 kg, 196.133 N and 1 bar on 19.6 cm2 press alike; a thread with its lead is near the short formula."""
    area = {"area": "36 cm^2"}
    ways = [
        {"weights": "20 kg"}, {"force": "196.133 N"}, {"gauge": "1 bar", "ram": "19.6133 cm^2"},
    ]  # fmt: skip
    loads = [press(PressQuestion(**way, **area)).load for way in ways]
    by_lead = press(PressQuestion(lead="1.25 mm", foot="6 mm", **TORQUE)).load
    short = press(PressQuestion(**TORQUE)).load

    for load in loads:
        assert load is not None
        assert load.force.likely == pytest.approx(196.133, rel=1e-5)
    assert by_lead is not None
    assert short is not None
    assert by_lead.force.low <= (short.force.likely or 0.0) * 1.5  # type: ignore[operator]
    assert by_lead.force.high >= (short.force.likely or 0.0) / 1.5  # type: ignore[operator]


@pytest.mark.parametrize(
    ("plate", "said"),
    [
        ("60 degC", "below softening"),
        ("85 degC", "lies in the window 72 °C to 120 °C"),
        ("185 F", "lies in the window"),
        ("120 degC", "AT OR ABOVE the line"),
    ],
)
def test_the_window_of_pvb_and_wax(plate: str, said: str) -> None:
    """Softening of the harder one, house rule where nothing is published; on the line counts as past it."""
    answer = press(PressQuestion(polymers=("PVB", "beeswax"), plate=plate))

    assert said in answer.headline
    assert {w.status for w in answer.window} == {"unverified"}
    assert "safe" not in answer.headline.lower()


def test_a_data_sheet_opens_the_window_a_stricter_one_closes_it() -> None:
    """PVB alone to 150 degC by its sheet; polystyrene's published 200 gives way to a sheet of 160."""
    wide = press(
        PressQuestion(polymers=("PVB",), sheets=("PVB=150 degC, maker",), plate="100 degC")
    )
    strict = press(PressQuestion(polymers=("polystyrene",), sheets=("PS=160 degC, maker",)))
    loose = press(PressQuestion(polymers=("polystyrene",), sheets=("PS=260 degC, maker",)))

    assert wide.window_high == pytest.approx(423.15)
    assert strict.window_high == pytest.approx(433.15)
    assert loose.window_high == pytest.approx(473.15)


def test_vapour_of_the_last_solvent_has_its_own_ceiling() -> None:
    """Limonene lights itself at 237 degC: with its share no window for PTFE, which softens at 327."""
    alone = press(PressQuestion(polymers=("polystyrene",)))
    wet = press(PressQuestion(polymers=("polystyrene",), solvents=("limonene",)))

    assert alone.window_high == pytest.approx(473.15)
    assert wet.window_high == pytest.approx(0.8 * 237.0 + 273.15)
    assert "no window" in press(PressQuestion(polymers=("PTFE",))).headline.lower()


def test_heat_brings_its_cautions() -> None:
    """Above the stop line: STOP. A cold press: none. Wet or not known: FIRST."""
    hot = press(PressQuestion(polymers=("PVC",), plate="180 degC"))
    cold = press(PressQuestion(weights="20 kg", area="36 cm^2"))
    wet = press(PressQuestion(polymers=("polystyrene",), solvents=("toluene",), plate="110 degC"))
    weighed = press(
        PressQuestion(polymers=("polystyrene",), solvents=("toluene",), plate="110 degC",
                      weighed="12.43 g, 12.43 g, 15 min", coating="2 g")
    )  # fmt: skip

    assert hot.cautions[0].level is CautionLevel.STOP
    assert cold.cautions == ()
    assert any(c.hazard == "dry enough" and c.level is CautionLevel.FIRST for c in wet.cautions)
    assert any(c.hazard == "dry enough" and c.level is CautionLevel.NOTE for c in weighed.cautions)


def test_the_film_follows_the_plate() -> None:
    """Slower behind a thick release sheet or under one plate; after minutes it is there."""

    def slowest(**said: object) -> float:
        heat = press(PressQuestion(plate="85 degC", thickness="500 um", **said)).heat  # type: ignore[arg-type]
        assert heat is not None
        assert heat.follows_in.high is not None
        return heat.follows_in.high

    assert slowest() < slowest(release="0.5 mm") < slowest(release="2 mm", release_of="paper")
    assert slowest() < slowest(plates=1)
    heat = press(PressQuestion(plate="85 degC", thickness="500 um", time="5 min")).heat
    assert heat is not None
    assert heat.coldest is not None
    assert heat.coldest.low == pytest.approx(358.15, abs=0.5)


def test_a_laundry_iron_tells_only_its_highest() -> None:
    """Two dots: 150 degC at most, and a warning to measure."""
    answer = press(PressQuestion(dots=2, polymers=("polystyrene",)))

    assert answer.heat is not None
    assert answer.heat.plate == pytest.approx(423.15)
    assert any("measure the plate itself" in w for w in answer.warnings)


def test_a_mix_brings_its_polymers(bench: BenchFile) -> None:
    """PVB and beeswax, and ethanol as last solvent."""
    answer = press(PressQuestion(mix="T5", plate="85 degC"), bench)

    assert {w.polymer for w in answer.window} == {"PVB", "beeswax"}
    assert any(c.hazard == "dry enough" for c in answer.cautions)


def test_wetting_holds_a_head() -> None:
    """PTFE on 1 um holds metres; polystyrene holds nothing; half covered it cannot be told."""
    full = head_held(WettingQuestion(covering="PTFE", share="100 %", pore="1 um"))
    none = head_held(WettingQuestion(covering="polystyrene", share="100 %"))
    half = head_held(WettingQuestion(covering="PTFE", share="40 %", pore="5 um", head="12 cm"))

    assert full.wetting is not None
    assert full.wetting.head.low == pytest.approx(9.6, rel=0.02)
    assert none.wetting is not None
    assert none.wetting.head.high == 0.0
    assert none.wetting.covering_needed is None
    assert "cannot be told" in half.headline


def test_wetting_by_measured_angles_in_brine() -> None:
    """Two typed angles, brine on file: the share needed is that of the equation."""
    answer = head_held(
        WettingQuestion(covering="wax", covering_angle="108", base_angle="60", share="70 %",
                        pore="5 um", salt="NaCl", mass_fraction="3.5 %", head="1 mm")
    )  # fmt: skip

    assert answer.wetting is not None
    assert answer.wetting.covering_needed is not None
    assert answer.wetting.covering_needed.low == pytest.approx(0.618, abs=1e-3)
    assert answer.wetting.surface_tension == pytest.approx(0.0731, abs=3e-4)
    assert "below what it holds" in answer.headline


def test_make_up_adds_up() -> None:
    """Salt and water add up to volume times density; assay counts; a stock thins by balance."""
    plain = make_up(ElectrolyteQuestion(salt="KOH", volume="1 L", strength={"molarity": "4"}))
    impure = make_up(
        ElectrolyteQuestion(salt="KOH", volume="1 L", strength={"molarity": "4"}, assay="85 %")
    )
    thinned = make_up(
        ElectrolyteQuestion(salt="KOH", volume="1 L", strength={"molarity": "4"}, stock="40 %")
    )
    sheets = [a.electrolyte for a in (plain, impure, thinned)]

    for sheet in sheets:
        assert sheet is not None
        parts = (sheet.salt_mass or 0.0) + (sheet.stock_mass or 0.0) + (sheet.water_mass or 0.0)
        assert parts == pytest.approx(sheet.density * 1e-3)
    assert sheets[0].salt_mass == pytest.approx(0.2244, rel=1e-3)  # type: ignore[union-attr]
    assert sheets[1].salt_mass == pytest.approx(0.2244 / 0.85, rel=1e-3)  # type: ignore[union-attr]
    assert sheets[2].stock_mass * 0.4 == pytest.approx(0.2244, rel=1e-3)  # type: ignore[union-attr, operator]
    assert any(c.hazard.startswith("lye") for c in plain.cautions)


def test_brine_needs_no_lye_caution_and_tops_up_with_water() -> None:
    """What evaporated comes back as plain water, and the strength in between is told."""
    answer = make_up(
        ElectrolyteQuestion(salt="NaCl", strength={"mass_fraction": "3.5 %"}, was="480 g", now="441 g")
    )  # fmt: skip

    assert answer.cautions == ()
    assert answer.electrolyte is not None
    assert answer.electrolyte.top_up == pytest.approx(0.039)
    assert answer.electrolyte.mass_fraction == pytest.approx(0.035 * 480 / 441)


def test_a_probe_reads_strength_back() -> None:
    """What conducts 56.1 mS/cm at 25 degC is 3.5 %; a probe that shows 5 % too much is put right."""
    true = read_probe(StrengthQuestion(salt="NaCl", reading="56.13 mS/cm", temperature="25 degC"))
    wrong = read_probe(
        StrengthQuestion(
            salt="NaCl", reading=f"{56.13 * 1.05} mS/cm", temperature="25 degC",
            calibration=f"{12.8246 * 1.05} mS/cm",
        )
    )  # fmt: skip

    for answer in (true, wrong):
        assert answer.electrolyte is not None
        assert answer.electrolyte.mass_fraction == pytest.approx(0.035, rel=1e-3)
    assert any("compensation" in w for w in true.warnings)


REFUSED: list[Callable[[], object]] = [
    lambda: _dry(area=""),
    lambda: _dry(liquid=""),
    lambda: _dry(solvents=()),
    lambda: _dry(solvents=("unobtainium",)),
    lambda: _dry(liquid="-1 g"),
    lambda: _dry(humidity="140 %"),
    lambda: _dry(liquid="", wet="1 g", solids="118 %"),
    lambda: _dry(lost="0.1 g"),
    lambda: _dry(lost="0 g in 5 min"),
    lambda: shares_of(["ethanol=-1"]),
    lambda: is_it_dry(DrynessQuestion(weighed="12.43 g, 15 min")),
    lambda: is_it_dry(DrynessQuestion(weighed="12.43 g, 12.43 g, 15 min", pieces=0)),
    lambda: press(PressQuestion()),
    lambda: press(PressQuestion(torque="40 in-lb", area="36 cm^2")),
    lambda: press(PressQuestion(weights="20 kg", force="10 N", area="36 cm^2")),
    lambda: press(PressQuestion(weights="20 kg")),
    lambda: press(PressQuestion(gauge="1 bar", area="36 cm^2")),
    lambda: press(PressQuestion(plate="185")),
    lambda: press(PressQuestion(polymers=("PVB",), sheets=("PVB=150, maker",))),
    lambda: press(PressQuestion(**{**TORQUE, "torque": "40"})),
    lambda: press(PressQuestion(polymers=("mystery film",), plate="90 degC")),
    lambda: press(PressQuestion(polymers=("PVB",), sheets=("PVB",))),
    lambda: press(PressQuestion(polymers=("PVB",), plate="90 degC", weighed="1 g, 15 min")),
    lambda: head_held(WettingQuestion(covering="PTFE", share="140 %")),
    lambda: head_held(WettingQuestion(covering="PTFE", base="magnetite")),
    lambda: make_up(ElectrolyteQuestion(salt="NaCl", volume="1 L", strength={})),
    lambda: make_up(ElectrolyteQuestion(salt="NaCl", strength={"mass_fraction": "3.5 %"})),
    lambda: make_up(
        ElectrolyteQuestion(salt="NaCl", strength={"mass_fraction": "3.5 %"}, was="1 g", now="2 g")
    ),
    lambda: read_probe(StrengthQuestion(salt="NaCl", reading="900 mS/cm")),
    lambda: read_probe(StrengthQuestion(salt="NaCl", reading="")),
    lambda: Desk().needed("", "m", "thickness"),
]


@pytest.mark.parametrize("asked", REFUSED)
def test_what_cannot_be_told_is_refused_with_a_way_out(asked: Callable[[], object]) -> None:
    """Each refusal says what is wrong and what would be taken."""
    with pytest.raises(AerodeError) as refusal:
        asked()

    assert refusal.value.what
    assert refusal.value.allowed or refusal.value.next_step


def test_times_for_people() -> None:
    """From seconds to days."""
    shown = [shown_time(t) for t in (0.2, 5.0, 100.0, 7200.0, 1e6)]

    assert shown == ["under 1 s", "5 s", "1.7 min", "2 h", "12 days"]
