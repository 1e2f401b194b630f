"""Lines that no row on file reaches today, with the rows put in their place: the next row may."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from tests.unit.cautions.worked_line import cell, heated

from aerode.cautions import liquids, lookup, polymers
from aerode.cautions.breathing import QUARTER, _zone
from aerode.cautions.engine import assess
from aerode.cautions.powders import _dust_ratio
from aerode.cautions.situation import Air, OpenLiquid, Polymer, Powder, Situation, Span
from aerode.records.cautions import Caution, CautionLevel, Finding
from aerode.reference.hazards import HeatGates, heat_gates
from aerode.reference.rows import HowRead, PublishedRow, Status

NAME = "polystyrene"
HOUR = 3600.0
SHOP = Air(name="shop", volume=50.0, air_changes=2 / HOUR)


def row(celsius: float, *, memory: bool = False, condition: str = "") -> PublishedRow:
    """A heat row like the published one of polystyrene, at another temperature."""
    like = heat_gates(NAME).stop
    assert like is not None
    assert like.status is Status.VERIFIED
    how = next(h for h in HowRead if replace(like, how=h).status is Status.UNVERIFIED)
    return replace(like, value=celsius, condition=condition, how=how if memory else like.how)


def at(celsius: float, monkeypatch: pytest.MonkeyPatch, **gates: object) -> Caution:
    """The line of a polymer with these rows under a plate."""
    plain = {"substance": NAME, "softening": (), "off_gas": (), "warn": None, "stop": None, **gates}
    of = HeatGates(**plain)  # pyright: ignore[reportArgumentType]
    monkeypatch.setattr(polymers, "heat_gates", lambda _: of)
    found = assess(heated(celsius, Polymer(name="cup", substance=NAME)))
    return next(c for c in found if c.key == f"heat.polymer.{NAME}")


# -- polymers ----------------------------------------------------------------------------------


def test_the_coolest_published_off_gas_line_stops_where_no_gate_is_on_file(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """150 degC from memory does not stop, 180 degC in print does, 220 degC comes after it."""
    gases = (
        row(150, memory=True, condition="gas=x"), row(180, condition="gas=y"), row(220, condition="gas=z"),
    )  # fmt: skip
    cool = at(179, monkeypatch, off_gas=gases)
    assert (cool.level, cool.finding, cool.limit) == (
        CautionLevel.NOTE, Finding.BELOW, "stop 180 °C",
    )  # fmt: skip
    assert "x from 150 °C (from memory)" in cool.headline
    hot = at(181, monkeypatch, off_gas=gases)
    assert (hot.level, hot.finding) == (CautionLevel.STOP, Finding.ABOVE)


def test_a_warning_line_alone_is_the_stop(monkeypatch: pytest.MonkeyPatch) -> None:
    found = at(171, monkeypatch, warn=row(170))
    assert found.level is CautionLevel.STOP
    assert found.limit == "warn 170 °C, stop 170 °C"
    assert at(169, monkeypatch, warn=row(170)).level is CautionLevel.NOTE


def test_a_published_stop_is_kept_beside_its_warning_and_its_gases(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    gates = {"warn": row(170), "stop": row(250), "off_gas": (row(180, condition="gas=y"),)}
    found = at(200, monkeypatch, **gates)
    assert found.level is CautionLevel.FIRST
    assert found.limit == "warn 170 °C, stop 250 °C"


@pytest.mark.parametrize(
    ("celsius", "level", "unverified"),
    [
        (139, CautionLevel.NOTE, False),
        (140, CautionLevel.FIRST, True),
        (251, CautionLevel.STOP, False),
    ],
)
def test_a_line_from_memory_warns_and_never_stops(
    monkeypatch: pytest.MonkeyPatch, celsius: float, level: CautionLevel, *, unverified: bool
) -> None:
    found = at(celsius, monkeypatch, warn=row(140, memory=True), stop=row(250))
    assert (found.level, found.unverified) == (level, unverified)


def test_a_polymer_that_is_soft_in_the_room_has_no_softening_line(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """-97 degC is no line for a warm plate; the lowest above the room is, and none at all is none."""
    both = at(60, monkeypatch, softening=(row(-97), row(90), row(120)), stop=row(250))
    assert both.limit == "softens from 90 °C, stop 250 °C"
    assert at(60, monkeypatch, softening=(row(-97),), stop=row(250)).limit == "stop 250 °C"


# -- liquids -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("memory", "level"), [(False, CautionLevel.STOP), (True, CautionLevel.FIRST)]
)
def test_a_cancer_remark_from_memory_does_not_stop(
    monkeypatch: pytest.MonkeyPatch, level: CautionLevel, *, memory: bool
) -> None:
    said = replace(row(1, memory=memory), note="causes cancer")
    true = lookup.remark
    monkeypatch.setattr(
        liquids.lookup, "remark",
        lambda name, about: said if about == "health: cancer" else true(name, about),
    )  # fmt: skip
    pots = (OpenLiquid(name="t", substance="toluene", mass=0.01),)
    found = assess(Situation(air=SHOP, liquids=pots))
    assert next(c for c in found if c.key == "vapour.cancer.toluene").level is level


@pytest.mark.parametrize("celsius", [5.0, 25.0])
def test_a_flash_point_under_the_room_outranks_a_headspace_that_is_too_lean(
    monkeypatch: pytest.MonkeyPatch, celsius: float
) -> None:
    """A liquid whose vapour pressure says "too lean" while its flash point says "it burns": the worse one."""
    true = lookup.vapour_pressure

    def lean(name: str, temperature: float) -> lookup.Figure | None:
        found = true(name, temperature)
        return None if found is None else replace(found, value=0.1 * found.value)

    monkeypatch.setattr(liquids.lookup, "vapour_pressure", lean)
    pots = (OpenLiquid(name="t", substance="toluene", mass=0.01),)  # flashes at 4 degC
    air = replace(SHOP, temperature=273.15 + celsius)
    found = next(
        c for c in assess(Situation(air=air, liquids=pots)) if c.key == "vapour.liquid.toluene"
    )
    assert (found.level, found.finding) == (CautionLevel.FIRST, Finding.ABOVE)
    assert "flashes at 4 °C, which this room has" in found.headline


# -- sums --------------------------------------------------------------------------------------


def test_the_dust_of_two_powders_is_the_sum_of_both() -> None:
    def of(*names: str) -> tuple[float, float, str]:
        powders = [(Powder(name=n, substance=n, mass=0.02), n) for n in names]
        worked = _dust_ratio(powders, Situation(air=SHOP, powders=tuple(p for p, _ in powders)))
        assert worked is not None
        return worked[0].low, worked[0].high, worked[1].shown

    black, oxide = of("carbon black"), of("manganese dioxide")
    for order in (("carbon black", "manganese dioxide"), ("manganese dioxide", "carbon black")):
        both = of(*order)
        assert both[0] == pytest.approx(black[0] + oxide[0])
        assert both[1] == pytest.approx(black[1] + oxide[1])
        assert both[2] == (black if black[1] > oxide[1] else oxide)[2]


def test_measured_corrosion_counts_every_cell() -> None:
    """0.5 to 1 A/m2 on 42 cm2 in six cells is six times the gas of one."""
    span = Span(low=0.5, high=1.0)

    def wanted(**more: object) -> str:
        cells = cell(corrosion=span, **more)
        found = assess(Situation(air=SHOP, cells=(cells,)))
        return next(c for c in found if c.key == "hydrogen.C").headline

    one = 0.0042 * 1.0 / (2 * 96485.33212) * 8.314462618 * 298.15 / 101325.0 * HOUR * 1e6  # mL/h
    assert f"up to {one:.2g} mL of hydrogen an hour" in wanted()
    assert f"up to {6 * one:.2g} mL" in wanted(in_series=3, strings=2)


def test_the_worst_quarter_hour_is_the_last_one_of_the_emission() -> None:
    """C(t) = G/Q (1 - exp(-Qt/V)), averaged over the last quarter hour by hand."""
    rate, flow, volume, lasts = 1e-7, 0.02, 50.0, 3000.0
    k = flow / volume
    top = rate / flow

    def dose(t: float) -> float:  # integral of C from 0 to t
        return top * (t - (1.0 - math.exp(-k * t)) / k)

    peak, quarter, day = _zone(rate, flow, volume, lasts, lasts)
    assert peak == pytest.approx(top * (1.0 - math.exp(-k * lasts)))
    assert quarter == pytest.approx((dose(lasts) - dose(lasts - QUARTER)) / QUARTER)
    assert day == pytest.approx(dose(lasts) / (8 * HOUR))


def test_a_short_burst_is_averaged_with_what_stays_behind_it() -> None:
    """300 s of emission, then the room clears: the first quarter hour, from nothing."""
    rate, flow, volume, lasts = 1e-7, 0.02, 50.0, 300.0
    k, top = flow / volume, rate / flow
    end = top * (1.0 - math.exp(-k * lasts))
    rising = top * (lasts - (1.0 - math.exp(-k * lasts)) / k)
    falling = end * (1.0 - math.exp(-k * (QUARTER - lasts))) / k
    assert _zone(rate, flow, volume, lasts, HOUR)[1] == pytest.approx((rising + falling) / QUARTER)
