"""A measured impedance spectrum: what a named model makes of it, and what of that the readings hold.

Models have physical names. A parameter that the readings do not hold is not given; where only a
product or a ratio of two is held, that is named instead.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import least_squares

from aerode.errors import CannotTellError, RangeError
from aerode.measure.spectrum_check import (
    KramersKronig,
    Spectrum,
    kramers_kronig,
    same_at_both_amplitudes,
)
from aerode.physics.impedance import (
    CellSpectrum,
    Complexes,
    FlatElectrode,
    PorousElectrode,
    cell_impedance,
)
from aerode.quantities import Basis, Quantity, Reason

__all__ = [
    "HeldTogether",
    "KramersKronig",
    "Spectrum",
    "SpectrumFit",
    "SpectrumModel",
    "fit_spectrum",
    "kramers_kronig",
    "model_impedance",
    "same_at_both_amplitudes",
]

Floats = NDArray[np.float64]

_HELD = 0.25  # relative standard uncertainty up to which a parameter is given
_PAIR_HELD = 0.1  # and up to which a product or ratio is; judgement
_LEAST_SINGULAR = 1e-10  # relative, below which a direction counts as not seen at all; numerical
_FLOOR = 1e-6  # relative scatter below which a spectrum is called exact [1]; numerical


class SpectrumModel(StrEnum):
    """What the electrode is taken for."""

    FLAT = "flat electrode"
    FLAT_WITH_DIFFUSION = "flat electrode with diffusion"
    PORES_THAT_ONLY_CHARGE = "porous electrode that only charges"
    POROUS = "porous electrode"
    POROUS_WITH_DIFFUSION = "porous electrode with diffusion"
    POROUS_AND_FLAT = "porous cathode and flat anode"


_OHM, _FARAD, _SECOND = "ohm m^2", "F s^(a-1)/m^2", "s"
_SERIES = {"series_resistance": _OHM}
_SURFACE = {"charge_transfer": _OHM, "capacitance": _FARAD, "exponent": "1"}
_DIFFUSION = {"diffusion_resistance": _OHM, "diffusion_time": _SECOND}
_PORES = {"ionic_resistance": _OHM}
_ANODE = {
    "anode_charge_transfer": _OHM,
    "anode_capacitance": _FARAD,
}
_PARAMETERS: dict[SpectrumModel, dict[str, str]] = {
    SpectrumModel.FLAT: _SERIES | _SURFACE,
    SpectrumModel.FLAT_WITH_DIFFUSION: _SERIES | _SURFACE | _DIFFUSION,
    SpectrumModel.PORES_THAT_ONLY_CHARGE: _SERIES
    | _PORES
    | {"capacitance": _FARAD, "exponent": "1"},
    SpectrumModel.POROUS: _SERIES | _PORES | _SURFACE,
    SpectrumModel.POROUS_WITH_DIFFUSION: _SERIES | _PORES | _SURFACE | _DIFFUSION,
    SpectrumModel.POROUS_AND_FLAT: _SERIES | _PORES | _SURFACE | _ANODE,
}


def model_impedance(
    model: SpectrumModel, frequency: ArrayLike, values: dict[str, float]
) -> Complexes:
    """The spectrum of a named model.

    Parameters
    ----------
    model : SpectrumModel
        What the electrode is taken for.
    frequency : array_like, any shape [Hz]
        Above zero.
    values : dict of str to float [ohm m^2], [F s^(a-1)/m^2], [s], [1]
        All parameters of that model.

    Returns
    -------
    ndarray, same shape [ohm m^2]

    Raises
    ------
    RangeError
        A parameter missing, unknown, or of the wrong sign.

    Examples
    --------
    >>> sheet = {"series_resistance": 1e-4, "charge_transfer": 1e-3, "capacitance": 0.4, "exponent": 1.0}
    >>> round(float(model_impedance(SpectrumModel.FLAT, 1e-9, sheet).real), 6)
    0.0011
    """
    if set(values) != set(_PARAMETERS[model]):
        raise RangeError(
            f"not the parameters of a {model}",
            where=", ".join(sorted(set(values) ^ set(_PARAMETERS[model]))),
            allowed=", ".join(_PARAMETERS[model]),
        )
    return cell_impedance(frequency, _cell(values))


def _cell(values: dict[str, float]) -> CellSpectrum:
    surface = {
        "charge_transfer": values.get("charge_transfer", math.inf),
        "capacitance": values["capacitance"],
        "exponent": values["exponent"],
    }
    diffusion = {name: values[name] for name in _DIFFUSION if name in values}
    if "ionic_resistance" in values:
        cathode = PorousElectrode(
            ionic_resistance=values["ionic_resistance"], **surface, **diffusion
        )
    else:
        cathode = FlatElectrode(**surface, **diffusion)
    anode = None
    if "anode_charge_transfer" in values:
        anode = FlatElectrode(
            charge_transfer=values["anode_charge_transfer"],
            capacitance=values["anode_capacitance"],
        )
    return CellSpectrum(series_resistance=values["series_resistance"], cathode=cathode, anode=anode)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldTogether:
    """Two parameters of which the readings hold only a combination.

    Parameters
    ----------
    first, second : str
        The parameters.
    times : bool
        True for their product, False for first over second.
    value : Quantity
        The combination; its standard uncertainty is relative to first order.
    """

    first: str
    second: str
    times: bool
    value: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class SpectrumFit:
    """What a model makes of a spectrum, and what of it the readings hold.

    Parameters
    ----------
    model : SpectrumModel
    parameters : dict of str to Quantity
        Without a value where the readings do not hold it.
    best : dict of str to float
        The point of best fit: for drawing the curve, not for telling anyone.
    held_together : tuple of HeldTogether
        Products and ratios that are held though their members are not.
    scatter : float
        Root mean square residual over |Z| [1].
    corrected_information : float
        Akaike's criterion with its small-sample term; compare models by differences [1].
    residual : array (n,) of complex
        Reading minus curve, from high to low frequency [ohm m^2].
    """

    model: SpectrumModel
    parameters: dict[str, Quantity]
    best: dict[str, float]
    held_together: tuple[HeldTogether, ...]
    scatter: float
    corrected_information: float
    residual: Complexes


def fit_spectrum(
    spectrum: Spectrum, model: SpectrumModel, *, scatter: float | None = None
) -> SpectrumFit:
    """The parameters of a named model, as far as a spectrum holds them.

    Parameters
    ----------
    spectrum : Spectrum
        Readings that passed `kramers_kronig` [ohm m^2].
    model : SpectrumModel
        What the electrode is taken for.
    scatter : float or None [1]
        Standard deviation of a reading over |Z|, each part; None takes it from the residuals.

    Returns
    -------
    SpectrumFit

    Raises
    ------
    CannotTellError
        Too few readings for the model, or no fit found.
    RangeError
        A scatter not above zero.

    Notes
    -----
    Least squares of (reading - curve)/|Z| in the logarithms of the parameters, from many starts.
    Uncertainties to first order from the singular values of the scaled Jacobian; a parameter with
    more than 25 % is refused, and pairs are searched for a product or ratio held to 10 %. A fast
    reaction in pores holds only ionic times charge-transfer resistance; a blocked layer holds the
    ionic resistance and the capacitance.

    Examples
    --------
    >>> f = np.geomspace(0.01, 1e4, 40)
    >>> sheet = {"series_resistance": 1e-4, "charge_transfer": 1e-3, "capacitance": 0.4, "exponent": 0.9}
    >>> seen = Spectrum(frequency=f, impedance=model_impedance(SpectrumModel.FLAT, f, sheet))
    >>> fit = fit_spectrum(seen, SpectrumModel.FLAT, scatter=0.005)
    >>> round(fit.parameters["charge_transfer"].value * 1e3, 3)
    1.0
    """
    if scatter is not None and not (math.isfinite(scatter) and scatter > 0.0):
        raise RangeError("not above zero", where="scatter", allowed="a share of |Z|, e.g. 0.005")
    names = list(_PARAMETERS[model])
    n, p = 2 * spectrum.frequency.size, len(names)
    if n < p + 3:
        raise CannotTellError(str(Reason.TOO_FEW_POINTS), where=f"{n} readings for {p} parameters")
    size = np.abs(spectrum.impedance)

    def residuals(x: Floats) -> Floats:
        curve = cell_impedance(spectrum.frequency, _cell(_values(names, x)))
        left = (spectrum.impedance - curve) / size
        return np.concatenate([left.real, left.imag])

    x, jacobian = _descend(residuals, _starts(spectrum, names), _bounds(spectrum, names))
    left = residuals(x)
    square = float(left @ left)
    noise = scatter if scatter is not None else max(math.sqrt(square / (n - p)), _FLOOR)
    covariance = _covariance(jacobian, noise)
    values = _values(names, x)
    told = {
        name: _told(values[name], _PARAMETERS[model][name], covariance[k, k], name)
        for k, name in enumerate(names)
    }
    deviance = n * math.log(max(square, n * _FLOOR**2) / n)
    parameters = p + 1
    correction = 2.0 * parameters * (parameters + 1) / max(n - parameters - 1, 1)
    return SpectrumFit(
        model=model,
        parameters=told,
        best=values,
        held_together=_pairs(names, values, covariance, told),
        scatter=math.sqrt(square / n),
        corrected_information=deviance + 2.0 * parameters + correction,
        residual=np.asarray((left[: n // 2] + 1j * left[n // 2 :]) * size, dtype=np.complex128),
    )


def _values(names: list[str], x: Floats) -> dict[str, float]:
    return {
        name: float(v) if name == "exponent" else math.exp(float(v))
        for name, v in zip(names, x, strict=True)
    }


def _scales(spectrum: Spectrum) -> tuple[float, float, float]:
    """Least real part, span of the real part, and time at the peak of the imaginary part."""
    z = spectrum.impedance
    least = max(float(z.real.min()), 1e-3 * float(np.abs(z).min()))
    span = max(float(z.real.max() - z.real.min()), 0.1 * float(np.abs(z).max()))
    peak = 1.0 / (2.0 * math.pi * float(spectrum.frequency[int((-z.imag).argmax())]))
    return least, span, peak


def _starts(spectrum: Spectrum, names: list[str]) -> list[Floats]:
    """Starts spread over what the spectrum's own size and speed make likely."""
    least, span, peak = _scales(spectrum)
    slowest = 1.0 / (2.0 * math.pi * float(spectrum.frequency[-1]))
    starts: list[Floats] = []
    # numerical: starting points
    for pores, speed, share in itertools.product((0.3, 3.0), (0.1, 1.0, 10.0), (0.2, 0.8)):
        guess = {
            "series_resistance": least,
            "ionic_resistance": span * pores,
            "charge_transfer": span * share,
            "capacitance": peak * speed / span,
            "exponent": 0.9,  # numerical: a starting point
            "diffusion_resistance": span * (1.0 - share),
            "diffusion_time": slowest,
            "anode_charge_transfer": span * (1.0 - share),
            "anode_capacitance": 0.01 * peak / (speed * span),
        }
        starts.append(
            np.array([guess[n] if n == "exponent" else math.log(guess[n]) for n in names])
        )
    return starts


def _bounds(spectrum: Spectrum, names: list[str]) -> tuple[Floats, Floats]:
    """Twelve decades about the middle of each quantity; the exponent from 0.5 to 1."""
    whole = float(np.abs(spectrum.impedance).max())
    time = 1.0 / (2.0 * math.pi * math.sqrt(spectrum.frequency[0] * spectrum.frequency[-1]))
    low: list[float] = []
    high: list[float] = []
    for name in names:
        if name == "exponent":
            low.append(0.5)
            high.append(1.0)
            continue
        middle = whole
        if name.endswith("capacitance"):
            middle = time / whole
        elif name == "diffusion_time":
            middle = time
        low.append(math.log(middle) - 18.0)  # numerical
        high.append(math.log(middle) + 18.0)  # numerical
    return np.array(low), np.array(high)


def _descend(
    residuals: Callable[[Floats], Floats], starts: list[Floats], bounds: tuple[Floats, Floats]
) -> tuple[Floats, Floats]:
    best: tuple[float, Floats, Floats] | None = None
    for start in starts:
        inside = np.clip(start, bounds[0] + 1e-6, bounds[1] - 1e-6)  # numerical
        with np.errstate(all="ignore"):
            found = least_squares(residuals, inside, bounds=bounds, x_scale="jac", max_nfev=200)
        # numerical
        if np.isfinite(found.cost) and (best is None or found.cost < best[0] * (1.0 - 1e-9)):
            best = (float(found.cost), np.asarray(found.x), np.asarray(found.jac))
    if best is None:
        raise CannotTellError(str(Reason.NOT_CONVERGED), where="fit of the spectrum")
    return best[1], best[2]


def _covariance(jacobian: Floats, noise: float) -> Floats:
    """First-order covariance of the logarithms; unseen directions get a huge variance."""
    _, singular, axes = np.linalg.svd(jacobian, full_matrices=False)
    seen = np.maximum(singular, _LEAST_SINGULAR * singular.max())
    return np.asarray((axes.T * (noise / seen) ** 2) @ axes, dtype=np.float64)


def _told(value: float, unit: str, variance: float, name: str) -> Quantity:
    relative = math.sqrt(max(variance, 0.0))
    if relative > _HELD:
        return Quantity.missing(unit, Reason.PRIOR_KEPT)
    absolute = relative if name == "exponent" else relative * value
    return Quantity(value=value, unit=unit, standard_uncertainty=absolute, basis=Basis.MEASURED)


def _pairs(
    names: list[str], values: dict[str, float], covariance: Floats, told: dict[str, Quantity]
) -> tuple[HeldTogether, ...]:
    """Pairs of untold parameters whose product or ratio is held."""
    found: list[HeldTogether] = []
    loose = [k for k, n in enumerate(names) if told[n].value is None and n != "exponent"]
    for a, b in itertools.combinations(loose, 2):
        for sign in (1.0, -1.0):
            variance = covariance[a, a] + covariance[b, b] + 2.0 * sign * covariance[a, b]
            relative = math.sqrt(max(float(variance), 0.0))
            if relative > _PAIR_HELD:
                continue
            value = values[names[a]] * values[names[b]] ** sign
            found.append(
                HeldTogether(
                    first=names[a],
                    second=names[b],
                    times=sign > 0.0,
                    value=Quantity(
                        value=value,
                        unit=_pair_unit(names[a], names[b], sign),
                        standard_uncertainty=relative * value,
                        basis=Basis.MEASURED,
                    ),
                )
            )
    return tuple(found)


def _pair_unit(a: str, b: str, sign: float) -> str:
    units = {name: unit for table in _PARAMETERS.values() for name, unit in table.items()}
    joint = " * " if sign > 0.0 else " / "
    return f"({units[a]}){joint}({units[b]})"
