"""The answer of `fit`: a polarization curve with bands, and what it can and cannot tell."""

from __future__ import annotations

from aerode.records.marks import record
from aerode.records.results import Estimate

__all__ = ["CurveBand", "Fit", "FitPoint", "LossShare", "VoltageAt"]


@record
class FitPoint:
    """One reading as it entered the fit, or why it did not.

    Voltages [V], currents [A], resistances [ohm]; `corrected_voltage` is at the electrode's tab.
    """

    load: str
    load_resistance: float | None
    voltage: float | None
    voltage_uncertainty: float | None
    current: float | None
    current_uncertainty: float | None
    corrected_voltage: float | None = None
    used: bool = True
    why_not: str = ""
    text: str = ""


@record
class VoltageAt:
    """Voltage and power at one chosen current (density)."""

    current: Estimate
    voltage: Estimate
    power: Estimate


@record
class LossShare:
    """How much voltage one kind of loss takes at one current, as far as it can be told."""

    loss: str
    voltage: Estimate


@record
class CurveBand:
    """The fitted curve: median and 95 % band. `per_area` is False where no wetted area is known."""

    per_area: bool
    current: tuple[float, ...]
    """[A/m^2], or [A] where there is no area."""
    voltage: tuple[float, ...]
    voltage_low: tuple[float, ...]
    voltage_high: tuple[float, ...]


@record
class Fit:
    """What one run tells.

    `parameters` holds the keys `tafel_slope_V_decade`, `area_specific_resistance_ohm_cm2`
    (`resistance_ohm` without an area), `limiting_current_density_mA_cm2` (`limiting_current_mA`),
    `peak_power_density_mW_cm2` (`peak_power_mW`), `intercept_V`, `scatter_V`. A key that needs the
    area is there in any case, with a reason.
    """

    schema: str = "aerode.fit/1"
    headline: str
    source: str
    electrode: str = ""
    wetted_area_cm2: Estimate
    parameters: dict[str, Estimate]
    voltage_at: tuple[VoltageAt, ...] = ()
    losses: tuple[LossShare, ...] = ()
    losses_at: Estimate | None = None
    points: tuple[FitPoint, ...]
    curve: CurveBand | None = None
    effective_sample_size: float
    advice: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
