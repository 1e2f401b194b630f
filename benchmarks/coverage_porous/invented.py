"""Invented runs of porous cathodes with known truth, read with a meter and resistors that are a little off.

A truth is a row of the fit's own prior (`model`), or a draw of the recipe's bands with everything
that the fit holds at its middle drawn too (`recipe`). The current at a load is found by bracketing
on single curves of the solver; nothing of the fit's likelihood is used.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.stats import norm, truncnorm

from aerode.errors import CannotTellError
from aerode.measure.area import Area
from aerode.measure.porous.bands import Band
from aerode.measure.porous.fitting import SAMPLED
from aerode.measure.porous.recipe import FIELDS, Layer, recipe_columns, recipe_draw
from aerode.measure.readings import RunData, read_run
from aerode.physics.cathode import CathodeParameters, limiting_current, polarization
from aerode.quantities import Basis
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.runs import Reading, Run, Settling

__all__ = ["AREA", "LOADS", "Truth", "drawn_truth", "layer_for", "run_of"]

Floats = NDArray[np.float64]

AREA = 4e-4
"""[m^2]"""
LOADS = (470.0, 220.0, 100.0, 47.0, 22.0, 10.0, 4.7, 2.2)
"""[ohm]"""
COUNT, GAIN, TOLERANCE = 0.001, 0.005, 0.01
"""Of the meter [V], [1], and of the resistors [1]; limits of error."""
LEVEL, LEVEL_SPREAD, REST_SPREAD = 1.3, 0.5, 2.0
"""The fit's prior of the level [V] and of the resistance outside (over its middle), told anew here."""
SCATTER, SCATTER_SPREAD = 0.0035, 1.0
"""Median [V] and spread of the logarithm of single readings' scatter, as the fit's prior has them."""
FAR = 3.5
"""Standard deviations of a coordinate beyond which the fit does not look."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What a run hides.

    Parameters
    ----------
    cathode : CathodeParameters
    level : float [V]
    outside : float [ohm]
    scatter : float [V]
    """

    cathode: CathodeParameters
    level: float
    outside: float
    scatter: float

    def loss(self, current: float) -> float:
        """Of the cathode at a current of the electrode [V]."""
        return float(polarization(self.cathode, [current / AREA]).loss[0])

    def current(self, total: float) -> float | None:
        """Through a total resistance outside the cell [A]; None where there is no voltage for one."""
        top = min(0.999999 * limiting_current(self.cathode) * AREA, 10.0)

        def excess(log: float) -> float:
            current = float(np.exp(log))
            return self.level - self.loss(current) - current * (self.outside + total)

        low = np.log(1e-9)
        if not excess(low) > 0.0 or not excess(np.log(top)) < 0.0:
            return None
        return float(np.exp(brentq(excess, low, np.log(top), xtol=1e-12)))


def layer_for(cases_layer: Layer, *, wide: bool) -> Layer:
    """The recipe: its thickness and porosity exact, or as calipers and a scale leave them."""
    if not wide:
        return cases_layer
    bands = dict(cases_layer.bands)
    bands["thickness"] = Band.bell(5e-4, 3e-5, "m", Basis.MEASURED, "invented", least=5e-5)
    bands["porosity"] = Band.bell(0.6, 0.03, "", Basis.MEASURED, "invented", least=0.02)
    return replace(cases_layer, bands=bands)


def drawn_truth(
    layer: Layer, base: CathodeParameters, rest: float, dice: Generator, *, kind: str
) -> Truth:
    """One truth.

    Parameters
    ----------
    layer : Layer
    base : CathodeParameters
        At the middle of the recipe.
    rest : float [ohm]
        Middle of the resistance outside.
    dice : numpy.random.Generator
    kind : str
        "model" or "recipe".
    """
    outside = float(
        truncnorm.rvs(-1.0 / REST_SPREAD, np.inf, rest, REST_SPREAD * rest, random_state=dice)
    )
    level = LEVEL + LEVEL_SPREAD * float(dice.standard_normal())
    if kind == "recipe":
        one = recipe_draw(layer)(dice, 1)
        cathode = replace(base, **{name: float(one[name][0]) for name in FIELDS})
        scatter = SCATTER * float(np.exp(SCATTER_SPREAD * dice.standard_normal()))
        return Truth(cathode=cathode, level=level, outside=outside, scatter=scatter)
    row = dice.standard_normal(len(SAMPLED) + 1)
    while np.abs(row).max() > FAR:
        row = dice.standard_normal(len(SAMPLED) + 1)
    cathode = replace(base, **_fields(recipe_columns(layer), row))
    return Truth(
        cathode=cathode, level=level, outside=outside,
        scatter=SCATTER * float(np.exp(SCATTER_SPREAD * row[-1])),
    )  # fmt: skip


def _fields(columns: Mapping[str, Floats], row: Floats) -> dict[str, float]:
    """Fields of the cathode in the fit's prior: quantiles of the recipe's draws, electrons even from 2 to 4."""
    logs = {name: np.log(columns[name]) for name in FIELDS}
    wet = logs["agglomerate_fraction"] + logs["agglomerate_diffusivity"]
    logs["agglomerate_radius"] = logs["agglomerate_radius"] - 0.5 * (
        wet - np.median(logs["agglomerate_fraction"]) - np.median(logs["agglomerate_diffusivity"])
    )
    made: dict[str, float] = {}
    for name, z in zip(SAMPLED, row, strict=False):
        made[name] = float(np.exp(np.quantile(logs[name], norm.cdf(z))))
    made["electrons"] = float(2.0 + 2.0 * norm.cdf(row[SAMPLED.index("electrons")]))
    return made


def run_of(truth: Truth, dice: Generator) -> RunData | None:
    """A run as it would be read and noted; None where the cell gives no voltage worth reading."""
    gain = 1.0 + GAIN / np.sqrt(3.0) * float(dice.standard_normal())
    readings: list[Reading] = []
    for load in LOADS:
        real = load / (1.0 + TOLERANCE / np.sqrt(3.0) * float(dice.standard_normal()))
        parallel = real * 1e7 / (real + 1e7)
        current = truth.current(parallel)
        if current is None:
            continue
        volts = current * parallel * gain + truth.scatter * float(dice.standard_normal())
        shown = COUNT * round(volts / COUNT)
        if shown <= 0.0:
            continue
        readings.append(Reading(load=_part(load), voltage=shown, settling=Settling.SETTLED))
    if len(readings) < 4:
        return None
    run = Run(name="invented", meter="meter", readings=tuple(readings))
    bench = {"meter": _METER, **{_part(r): _resistor(r) for r in LOADS}}
    try:
        data = read_run(run, bench, area=Area(AREA, 0.01))
    except CannotTellError:
        return None
    return data if data.voltage.size >= 4 else None


def _part(resistance: float) -> str:
    return f"{resistance:g} ohm"


def _resistor(resistance: float) -> Instrument:
    return Instrument(name=_part(resistance), sort=Sort.RESISTOR, nominal_resistance=resistance,
                      tolerance=TOLERANCE)  # fmt: skip


_METER = Instrument(
    name="meter",
    sort=Sort.MULTIMETER,
    ranges=(MeterRange(name="3 V", full_scale=3.0, count=COUNT, of_reading=GAIN, counts=2),),
)
