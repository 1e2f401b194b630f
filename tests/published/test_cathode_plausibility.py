"""The porous cathode from tabulated bands alone, beside published half cells and cells; misses recorded too.

Each prediction is a band: every input drawn from the same bands that `aerode simulate` assumes where
nothing was measured, 5 % to 95 % of 600 draws with a fixed seed, with the kinetics of the row's own
material. A row's verdict ("inside", "below", "above") is what was found; the explanation stands in
docs/explanation/porous-cathode.md, and the figure there is drawn by `python` on this file.

Rows: (8) Marx & Read 2007, ARL-TR-4334 (abstract, read): uncatalysed carbon black with PTFE in chloride
and sulfate, 1 to 2 mA/cm2 or more at -0.3 V Ag/AgCl. (10) Li et al. 2014, J. Power Sources 269:88
(abstract, read): Zn-air cell, 175 mV lost from 2 to 20 mA/cm2. (15) LiOH and LiCl in water, Ketjen-type
black (abstract, read): 0.2 V of overpotential at 2 mA/cm2. (13) Appl. Sci. 2023, 13:12996 (abstract,
read): cell voltage first falls, then rises with more PTFE. Drowned electrode: no row, a ceiling by hand.
Kinetics: neutral carbon 100 to 130 mV/decade, 1e-10 to 1e-7 A/cm2; alkaline carbon 55 to 65 mV/decade,
1e-7 to 1e-5 A/cm2 (from memory, status: unverified); MnO2 on carbon in lye 84 mV/decade, 1.02 to
3.0e-7 A/cm2 (abstract, read). Tolerance: the bands are the tolerance.
"""

from __future__ import annotations

import math
import re
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from aerode.measure.porous.bands import Band, Form, drawn
from aerode.measure.porous.changes import changed, read_change
from aerode.measure.porous.recipe import _ASSUMED, FIELDS, Layer, model_columns, model_of  # pyright: ignore[reportPrivateUsage]
from aerode.physics.cathode import polarization_batch
from aerode.quantities import Basis
from aerode.records.figures import Axis, Figure, Mark, Scale, Series

DRAWS = 600
CM2 = 1e4  # A/m2 in A/cm2
ROOT = Path(__file__).resolve().parents[2]
Floats = NDArray[np.float64]


def layer(conductivity: float, oxygen: float, diffusivity: float, slope: tuple[float, float],
          exchange: tuple[float, float]) -> Layer:  # fmt: skip
    """A carbon and binder layer of 0.2 to 0.8 mm in an electrolyte, with the row's kinetics."""
    bands = {
        "thickness": Band(
            low=2e-4, high=8e-4, form=Form.EVEN, unit="m", basis=Basis.ASSUMED, source="t"
        ),
        "porosity": Band(
            low=0.4, high=0.75, form=Form.EVEN, unit="", basis=Basis.ASSUMED, source="t"
        ),
    }
    for name, (low, high, form, unit, source) in _ASSUMED.items():
        bands[name] = Band(
            low=low, high=high, form=form, unit=unit, basis=Basis.ASSUMED, source=source
        )
    bands["tafel slope"] = Band(low=slope[0], high=slope[1], form=Form.EVEN, unit="V/decade",
                                basis=Basis.PUBLISHED, source="row")  # fmt: skip
    bands["exchange current"] = Band(low=exchange[0] * CM2, high=exchange[1] * CM2, form=Form.EVEN_IN_LOG,
                                     unit="A/m²", basis=Basis.PUBLISHED, source="row")  # fmt: skip
    fixed = {"binder share": 0.25, "conductor share": 0.75, "carbon share": 0.0,
             "liquid conductivity": conductivity, "dissolved oxygen": oxygen,
             "dissolved diffusivity": diffusivity, "oxygen in air": 8.5, "air diffusivity": 2.05e-5}  # fmt: skip
    bands |= {n: Band.fixed(v, "", Basis.ASSUMED, "t") for n, v in fixed.items()}
    return Layer(
        item="row", kind="mix", bands=bands, binder_mass_share=0.25, conductor_mass_share=0.75,
        liquid="row", temperature=298.15, liquid_conductivity=conductivity, assumptions=(),
    )  # fmt: skip


SALT = (5.6, 0.21, 1.9e-9)
LYE = (62.0, 0.024, 0.9e-9)
NEUTRAL = ((0.100, 0.130), (1e-10, 1e-7))
ALKALINE = ((0.055, 0.065), (1e-7, 1e-5))
OXIDE = ((0.0839, 0.0841), (1.02e-7, 3.0e-7))


def values(made: Layer, seed: int) -> dict[str, Floats]:
    """Drawn inputs."""
    return drawn(made.bands, np.random.default_rng(seed).random((DRAWS, len(made.bands))))


def losses(columns: dict[str, Floats], currents: list[float]) -> Floats:
    """Cathode losses of drawn cathodes [V]."""
    return polarization_batch(model_of(columns), {n: columns[n] for n in FIELDS}, currents).loss


@dataclass(frozen=True)
class Row:
    """One published figure beside its predicted band."""

    name: str
    unit: str
    low: float
    middle: float
    high: float
    seen: float

    @property
    def verdict(self) -> str:
        """Where the published figure stands."""
        return "below" if self.seen < self.low else "above" if self.seen > self.high else "inside"


def row(name: str, unit: str, found: Floats, seen: float) -> Row:
    """The band of the draws that have an answer."""
    low, middle, high = np.nanpercentile(found, [5.0, 50.0, 95.0])
    return Row(name, unit, float(low), float(middle), float(high), seen)


def carbon_in_chloride() -> Row:
    """Current density at -0.3 V Ag/AgCl; the alkaline face of an unbuffered cathode at pH 11 to 12.3."""
    made = layer(*SALT, *NEUTRAL)
    drawn_in = values(made, 1)
    face = np.random.default_rng(2).uniform(11.0, 12.3, DRAWS)
    wanted = 1.219 - 0.0592 * face - (-0.3 + 0.197)
    currents = np.geomspace(1e-2, 1e3, 26)
    curve = losses(model_columns(drawn_in, drawn_in), list(currents))
    found = np.array([
        math.exp(np.interp(w, line[np.isfinite(line)], np.log(currents[np.isfinite(line)])))
        for w, line in zip(wanted, curve, strict=True)
    ])  # fmt: skip
    return row("carbon in chloride at -0.3 V Ag/AgCl", "mA/cm²", 0.1 * found, 1.5)


def a_decade_on_oxide() -> Row:
    """Loss from 2 to 20 mA/cm2, with 0.3 to 5 ohm cm2 outside the cathode."""
    made = layer(*LYE, *OXIDE)
    drawn_in = values(made, 3)
    curve = losses(model_columns(drawn_in, drawn_in), [20.0, 200.0])
    outside = np.random.default_rng(4).uniform(0.3e-4, 5e-4, DRAWS)
    return row(
        "MnO2 in lye, 2 to 20 mA/cm²",
        "mV",
        1e3 * (curve[:, 1] - curve[:, 0] + 180.0 * outside),
        175.0,
    )


def black_in_lye() -> Row:
    """Overpotential at 2 mA/cm2."""
    made = layer(*LYE, *ALKALINE)
    drawn_in = values(made, 5)
    return row(
        "Ketjen-type black in LiOH, 2 mA/cm²",
        "mV",
        1e3 * losses(model_columns(drawn_in, drawn_in), [20.0])[:, 0],
        200.0,
    )


def more_binder() -> Floats:
    """What half as much binder again does to the loss at 1 mA/cm2 in salt water, on the same draws [V]."""
    made = layer(*SALT, *NEUTRAL)
    before = values(made, 6)
    after = changed(before, made, (read_change("binder +30 %"),))
    first = losses(model_columns(before, before), [10.0])[:, 0]
    return losses(model_columns(after, before), [10.0])[:, 0] - first


@pytest.mark.parametrize(
    ("made", "verdict"),
    [(carbon_in_chloride, "inside"), (a_decade_on_oxide, "inside"), (black_in_lye, "inside")],
)
def test_rows(made: object, verdict: str) -> None:
    """Where each published figure stands against its band."""
    assert callable(made)
    assert made().verdict == verdict


def test_a_miss_more_binder_may_help_a_real_electrode() -> None:
    """With more PTFE a published cell rose again; this model, without wetting, only ever loses."""
    found = more_binder()

    assert float(np.nanpercentile(found, 95.0)) > 0.0
    assert (
        float(np.mean(found[np.isfinite(found)] > 0.0)) > 0.95
    )  # so the published rise is outside


def test_the_figure_of_the_page_shows_these_numbers() -> None:
    """Bars and marks of the drawing, read back by its own ticks, are the bands of the rows, to 0.3 %."""
    drawn_in = (ROOT / "docs" / "explanation" / "porous-cathode.svg").read_text("utf-8")
    told, published = figure().series
    ticks = re.findall(r'<text class="tick" x="([\d.]+)"[^>]*middle">([^<]+)<', drawn_in)
    (left, first), (right, last) = (
        (float(place), math.log10(float(value))) for place, value in (ticks[0], ticks[-1])
    )

    def read_back(places: list[str]) -> list[float]:
        per = (last - first) / (right - left)
        return [10.0 ** (first + (float(place) - left) * per) for place in places]

    bars = re.findall(r'class="bar t0 predicted" d="M([\d.]+) [\d.]+H([\d.]+)', drawn_in)
    rings = re.findall(r'class="mark t0 hollow" d="M([\d.]+) [\d.]+a([\d.]+)', drawn_in)
    diamonds = re.findall(r'class="mark t7" d="M([\d.]+) ', drawn_in)
    names = re.findall(r'<text class="tick"[^>]*end">([^<]+)<', drawn_in)
    rows = len(told.x)

    assert names == list(figure().y.names)
    assert read_back([low for low, _ in bars]) == pytest.approx(told.x_low, rel=3e-3)
    assert read_back([high for _, high in bars]) == pytest.approx(told.x_high, rel=3e-3)
    # a ring begins at its left edge; behind the rows' own follow those of the legend
    middles = [str(float(place) + float(radius)) for place, radius in rings[:rows]]
    assert read_back(middles) == pytest.approx(told.x, rel=3e-3)
    assert read_back(diamonds[:rows]) == pytest.approx(published.x, rel=3e-3)


def figure() -> Figure:
    """The rows, each over its own published value."""
    rows = [carbon_in_chloride(), a_decade_on_oxide(), black_in_lye()]
    places = tuple(float(k) for k in range(len(rows)))
    return Figure(
        name="porous-cathode",
        title="Predicted bands over published figures",
        x=Axis(title="Predicted over published", scale=Scale.LOG),
        y=Axis(title="", scale=Scale.NAMES, names=tuple(r.name for r in rows)),
        series=(
            Series(label="predicted, 5 to 95 % of the draws", x=tuple(r.middle / r.seen for r in rows), y=places,
                   x_low=tuple(r.low / r.seen for r in rows), x_high=tuple(r.high / r.seen for r in rows),
                   mark=Mark.CIRCLE, basis=Basis.PREDICTED),
            Series(label="published", x=tuple(1.0 for _ in rows), y=places, mark=Mark.DIAMOND, tone=7,
                   basis=Basis.PUBLISHED),
        ),
        caption="Nothing of the published electrodes was fitted.",
        alt=f"{len(rows)} published figures, each inside its predicted band, which is wide.",
    )  # fmt: skip


if __name__ == "__main__":
    from aerode.report.page import standalone_svg

    place = ROOT / "docs" / "explanation" / "porous-cathode.svg"
    place.write_text(standalone_svg(figure()), "utf-8")
    for one in (carbon_in_chloride(), a_decade_on_oxide(), black_in_lye()):
        sys.stdout.write(
            f"{one.name}: {one.low:.3g} to {one.high:.3g} {one.unit}, {one.seen:g}: {one.verdict}\n"
        )
    found = more_binder()
    sys.stdout.write(
        f"more binder: {1e3 * np.nanpercentile(found, [5, 50, 95])} mV, worse in {np.mean(found[np.isfinite(found)] > 0):.3f}\n"
    )
