"""Laws of the caution engine, whatever the situation."""

from __future__ import annotations

import re
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from aerode.cautions.engine import RANK, assess, caution_sheet
from aerode.cautions.reading import require_acknowledged, sheet_lines
from aerode.cautions.situation import (
    Air,
    CellPlan,
    Heating,
    OpenLiquid,
    Polymer,
    Powder,
    Situation,
    Span,
    Weighings,
    WeighLoss,
)
from aerode.records.adapter import write_whole
from aerode.records.cautions import Acknowledgement, Caution, CautionLevel, Finding

QUICK = settings(max_examples=60, deadline=None)
SOLVENTS = ["toluene", "acetone", "ethanol", "MEK", "xylene", "limonene", "IPA", "NMP", "ethyl acetate",
            "styrene", "water", "thinner of unknown make"]  # fmt: skip
POLYMERS = ["PS", "ABS", "PVC", "PTFE", "PVDF", "PVB", "beeswax", "silicone", "", "scrap"]
POWDERS = [
    "biochar",
    "lamp black",
    "EMD",
    "magnetite",
    "NH4Cl",
    "aluminium",
    "graphite",
    "dust of something",
]
SALTS = ["NaCl", "sea salt", "KOH", "NaOH", "", "a salt nobody knows"]

masses = st.floats(1e-7, 2.0)
maybe_mass = st.none() | masses
airs = st.none() | st.builds(
    Air,
    volume=st.none() | st.floats(2.0, 500.0),
    air_changes=st.none() | st.floats(1e-5, 1e-2),
    airing=st.sampled_from(["", "closed room", "window ajar", "open air"]),
    temperature=st.floats(285.0, 310.0),
)
liquids = st.builds(
    OpenLiquid, name=st.just("l"), substance=st.sampled_from(SOLVENTS), mass=maybe_mass
)
powders = st.builds(
    Powder,
    name=st.just("p"),
    substance=st.sampled_from(POWDERS),
    mass=maybe_mass,
    recovered=st.booleans(),
    water_soluble=st.none() | st.floats(0.0, 0.2),
)
polymers = st.builds(Polymer, name=st.just("b"), substance=st.sampled_from(POLYMERS))
weighings = st.builds(
    Weighings,
    first=st.floats(1e-3, 1e-2),
    second=st.floats(1e-3, 1e-2),
    interval=st.floats(60.0, 3600.0),
    coating=st.none() | st.floats(1e-4, 1e-2),
    area=st.none() | st.floats(1e-4, 1e-2),
    resolution=st.sampled_from([0.0, 1e-6, 1e-5, 1e-3]),
)
heatings = st.builds(
    Heating,
    name=st.just("plates"),
    plate_temperature=st.none() | st.floats(280.0, 700.0),
    appliance=st.sampled_from(["press", "oven", "household oven", "heat gun"]),
    closed_volume=st.none() | st.floats(1e-3, 0.1),
    retained_solvent=st.none() | st.floats(0.0, 0.01),
    last_solvents=st.lists(st.sampled_from(SOLVENTS), max_size=2).map(tuple),
    weighings=st.none() | weighings,
    extraction=st.booleans(),
)
cells = st.builds(
    CellPlan,
    name=st.just("c"),
    salt=st.sampled_from(SALTS),
    aluminium_area=st.none() | st.floats(1e-4, 0.5),
    aluminium_mass=st.none() | st.floats(1e-4, 0.5),
    corrosion=st.none() | st.just(Span(low=1.0, high=500.0, how="gas")),
    in_series=st.integers(1, 60),
    strings=st.integers(1, 3),
    open_circuit_voltage=st.none() | st.just(Span(low=1.2, high=1.8)),
    capped=st.booleans(),
    headspace=st.none() | st.floats(1e-5, 1e-2),
    enclosure=st.none() | st.floats(1e-3, 1.0),
    fused=st.booleans(),
    charger=st.booleans(),
)
situations = st.builds(
    Situation,
    about=st.just(("x",)),
    liquids=st.lists(liquids, max_size=3).map(tuple),
    open_area=st.none() | st.floats(1e-4, 1.0),
    weigh_loss=st.none() | st.just(WeighLoss(lost=1e-4, over=600.0, resolution=1e-5)),
    powders=st.lists(powders, max_size=3).map(tuple),
    polymers=st.lists(polymers, max_size=2).map(tuple),
    recipe_known=st.booleans(),
    air=airs,
    heatings=st.lists(heatings, max_size=2).map(tuple),
    cells=st.lists(cells, max_size=2).map(tuple),
    children=st.booleans(),
    class_mode=st.booleans(),
    pregnancy=st.booleans(),
)
# Refusals that rest on what the act is and not on a number.
PLAIN_STOPS = {"ammonia", "chlorine", "class", "recovered powder"}


def level(situation: Situation, hazard: str) -> CautionLevel | None:
    """The hardest level on a hazard."""
    found = [c.level for c in assess(situation) if c.hazard == hazard]
    return min(found, key=lambda x: RANK[x]) if found else None


def softer(one: CautionLevel | None, other: CautionLevel | None) -> bool:
    """True if `one` stops less than `other`."""
    rank = {None: 3, **RANK}
    return rank[one] > rank[other]


@QUICK
@given(situations)
def test_every_line_is_whole(situation: Situation) -> None:
    """Source, act and what would change it, no forbidden word, no NaN, hardest first."""
    found = assess(situation)
    assert [RANK[c.level] for c in found] == sorted(RANK[c.level] for c in found)
    assert len({c.key for c in found}) == len(found)
    for caution in found:
        assert caution.source
        assert all(s.strip() for s in caution.source)
        assert caution.do.strip()
        assert caution.would_change.strip()
        text = str({k: v for k, v in write_whole(caution).items() if k != "source"})
        assert not re.search(
            r"\b(safe|safely|OK|okay|no risk|harmless)\b", text.replace("not harmless", "")
        )
        assert not re.search(r"\b(nan|inf)\b", text)
        if caution.finding in {Finding.STRADDLES, Finding.NO_FIGURE, Finding.NO_LIMIT}:
            assert caution.level is not CautionLevel.NOTE
            assert caution.missing


@QUICK
@given(situations)
def test_no_stop_rests_on_memory(situation: Situation) -> None:
    """A STOP with a number is never marked as from memory."""
    for caution in assess(situation):
        if caution.level is CautionLevel.STOP and caution.hazard not in PLAIN_STOPS:
            assert not caution.unverified or caution.finding is Finding.NO_FIGURE


@QUICK
@given(situations)
def test_a_sheet_prints_within_its_width(situation: Situation) -> None:
    """The verdict in 100 characters, every other line in 80 columns, the standing text last."""
    sheet = caution_sheet(situation)
    text = sheet_lines(sheet)
    assert len(text[0]) <= 100
    assert max(map(len, text[1:])) <= 80
    assert " ".join(text).endswith("Where they disagree, follow them.")
    assert all(len(line) <= 80 for line in sheet_lines(sheet, full=True)[1:])


@QUICK
@given(situations)
def test_acknowledging_lets_go_on_and_hides_nothing(situation: Situation) -> None:
    """With a reason for each STOP nothing waits, and every STOP still stands in full."""
    before = caution_sheet(situation)
    said = [
        Acknowledgement(
            name=c.key, caution=c.key, about=c.about, reason="done before under a hood", level=c.level,
            figure=c.figure, limit=c.limit,
        )
        for c in before.cautions
    ]  # fmt: skip
    after = caution_sheet(situation, said)
    assert after.cautions == before.cautions
    assert after.waiting == ()
    require_acknowledged(after)
    text = " ".join(" ".join(sheet_lines(after)).split())
    for caution in after.cautions:
        if caution.level is CautionLevel.STOP:
            assert f"STOP {caution.hazard}: " in text
    assert text.count("Acknowledged: ") == len(before.waiting)


@QUICK
@given(situations)
def test_the_order_of_things_on_the_table_does_not_matter(situation: Situation) -> None:
    """Liquids, powders, polymers and cells the other way round give the same levels."""
    turned = replace(
        situation,
        liquids=situation.liquids[::-1],
        powders=situation.powders[::-1],
        polymers=situation.polymers[::-1],
        cells=situation.cells[::-1],
    )

    def levels(s: Situation) -> list[tuple[str, str]]:
        return sorted({(c.hazard, c.level.value) for c in assess(s)})

    assert levels(turned) == levels(situation)


@QUICK
@given(st.sampled_from(SOLVENTS[:10]), masses, st.floats(1.0, 20.0), st.floats(1e-4, 0.5), airs)
def test_more_of_it_never_softens(
    name: str, mass: float, factor: float, area: float, air: Air | None
) -> None:
    """A larger mass never lowers the level of what is breathed or of what could burn."""

    def of(m: float) -> Situation:
        return Situation(
            liquids=(OpenLiquid(name=name, substance=name, mass=m),), open_area=area, air=air
        )

    for hazard in ("vapour breathed", "flammable vapour"):
        assert not softer(level(of(mass * factor), hazard), level(of(mass), hazard))


@QUICK
@given(
    st.sampled_from(SOLVENTS[:10]), masses, st.floats(1e-4, 0.5), st.floats(5.0, 200.0),
    st.floats(1e-5, 1e-2), st.floats(1.0, 20.0),
)  # fmt: skip
def test_more_air_never_hardens(
    name: str, mass: float, area: float, volume: float, changes: float, factor: float
) -> None:
    """More air changes never raise the level of what is breathed."""

    def at(rate: float) -> Situation:
        return Situation(
            liquids=(OpenLiquid(name=name, substance=name, mass=mass),),
            open_area=area,
            air=Air(volume=volume, air_changes=rate),
        )

    hazard = "vapour breathed"
    assert not softer(level(at(changes), hazard), level(at(changes * factor), hazard))


@QUICK
@given(situations)
def test_forgetting_the_room_is_never_a_pass(situation: Situation) -> None:
    """Without a room, whatever is breathed or gassed is at least a FIRST."""
    for caution in assess(replace(situation, air=None)):
        if caution.hazard in {"vapour breathed", "hydrogen"}:
            assert caution.level is not CautionLevel.NOTE


@QUICK
@given(st.sampled_from(POLYMERS), st.floats(310.0, 700.0), st.floats(0.0, 200.0), st.booleans())
def test_a_hotter_plate_never_softens(
    polymer: str, plate: float, more: float, extraction: bool
) -> None:
    """The level of polymer heat only rises with the plate."""

    def at(kelvin: float) -> Situation:
        return Situation(
            polymers=(Polymer(name="b", substance=polymer),),
            heatings=(Heating(name="p", plate_temperature=kelvin, extraction=extraction),),
        )

    assert not softer(level(at(plate + more), "polymer heat"), level(at(plate), "polymer heat"))


@QUICK
@given(situations)
def test_a_limit_that_is_not_on_file_is_never_below(situation: Situation) -> None:
    """NO_LIMIT and NO_FIGURE never come with a NOTE, and BELOW always with a limit."""

    def fits(caution: Caution) -> bool:
        if caution.finding is Finding.BELOW:
            return bool(caution.limit)
        if caution.finding in {Finding.NO_LIMIT, Finding.NO_FIGURE}:
            return caution.level is not CautionLevel.NOTE
        return True

    assert all(fits(c) for c in assess(situation))
