"""Where the voltage goes at one current: kinetics, resistance, transport, as far as a curve can tell them apart."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from aerode.measure.curve_posterior import CurvePosterior
from aerode.measure.identifiability import Spread, estimate, limit_is_resolved
from aerode.quantities import Reason
from aerode.records.fits import LossShare
from aerode.records.results import Estimate

__all__ = ["loss_shares"]

Floats = NDArray[np.float64]


def loss_shares(
    posterior: CurvePosterior, current: float, spread: Floats | float, shown: str
) -> tuple[LossShare, ...]:
    """The voltage that each kind of loss takes at one current.

    Parameters
    ----------
    posterior : CurvePosterior
    current : float [A]
        Inside what was measured.
    spread : float or array (m,) [1]
        Factor on the current for each curve, where it is uncertain.
    shown : str
        The smallest measured current in words: kinetics are told from there on.

    Returns
    -------
    tuple of LossShare [V]
        Kinetics b ln(i/i_0) counted from the smallest current measured, i_0: how much is lost below
        it cannot be told from a curve. With a resolved limiting current: i R, and transport
        -b ln(1 - i/i_L). Otherwise the linear loss i (R + b/i_L), and of the rest of the transport
        loss, -b ln(1 - i/i_L) - b i/i_L, a bound.

    Notes
    -----
    The split is exact: all shares together are the fall of the curve from the kinetic line at i_0.
    """
    curve, weights = posterior.curve, posterior.weights
    _, seen = posterior.data.tab_points()
    own = current * np.asarray(spread)
    used = np.minimum(own / curve.limiting_current, 1.0 - 1e-9)  # numerical
    kinetic = Spread(curve.slope * np.log(own / float(seen.min())), weights)
    transport = -curve.slope * np.log1p(-used)
    shares = [
        LossShare(
            loss="kinetics",
            voltage=estimate(kinetic, "V", f"b ln(i/i_0), counted from i_0 = {shown}"),
        )
    ]
    if limit_is_resolved(posterior):
        ohmic = Spread(own * curve.resistance, weights)
        shares.append(LossShare(loss="resistance", voltage=estimate(ohmic, "V", "i R")))
        whole = estimate(Spread(transport, weights), "V", "-b ln(1 - i/i_L)")
        shares.append(LossShare(loss="transport", voltage=whole))
        return tuple(shares)
    linear = Spread(own * posterior.resistance_apparent, weights)
    meaning = "i (R + b/i_L): resistance, and the part of transport that looks like one"
    shares.append(LossShare(loss="linear", voltage=estimate(linear, "V", meaning)))
    bent = Spread(transport - curve.slope * used, weights)
    shares.append(LossShare(loss="transport beyond linear", voltage=_bounded(bent)))
    return tuple(shares)


def _bounded(bent: Spread) -> Estimate:
    top = bent.quantile(0.95)  # the usual level: judgement
    return Estimate(
        value=None,
        unit="V",
        interval_95=(0.0, top),
        identifiable=False,
        reason=str(Reason.LIMIT_NOT_REACHED),
        meaning=f"-b ln(1 - i/i_L) - b i/i_L; below {math.ceil(1e3 * top)} mV with 95 % probability",
    )
