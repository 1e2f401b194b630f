"""The spread between separately built pieces, as the bench tells it; else the one that is taken."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerode.errors import CannotTellError
from aerode.measure.comparison.joint import fit_recipes
from aerode.measure.comparison.reaching import ASSUMED_SPREADS

if TYPE_CHECKING:
    from aerode.measure.comparison.joint import JointFit, Observations, Priors

__all__ = ["pooled_spread"]

_FIRM = 1e6  # numerical: degrees of freedom of a spread that is taken as it is


def pooled_spread(
    seen: Observations, priors: Priors | None = None
) -> tuple[float, float, bool, JointFit]:
    """The spread between builds from all recipes, its degrees of freedom, and the fit of the recipes.

    Parameters
    ----------
    seen : Observations
        Later states of a piece left out.
    priors : Priors, optional

    Returns
    -------
    spread : float [log]
    degrees_of_freedom : float [1]
        Infinite where it is taken.
    taken : bool
        True where no recipe has two builds: then it is 20 % (`ASSUMED_SPREADS`). Where they agree
        better than their own errors allow, it is the spread one standard error above none, as in a
        comparison: builds that happen to agree are no promise.
    joint : JointFit
    """
    try:
        joint = fit_recipes(seen, priors)
    except CannotTellError:
        joint = fit_recipes(seen, priors, past_spread=(ASSUMED_SPREADS[1], _FIRM))
        return ASSUMED_SPREADS[1], math.inf, True, joint
    spread = math.sqrt(max(joint.fit.build_variance, 0.0))
    degrees = joint.fit.build_degrees_of_freedom
    spread = spread or math.sqrt(max(joint.fit.upper_build_variance, 0.0))
    if spread > 0.0 and degrees > 0.0:
        return spread, degrees, False, joint
    return ASSUMED_SPREADS[1], math.inf, True, joint
