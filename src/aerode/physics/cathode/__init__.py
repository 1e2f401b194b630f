"""The porous air cathode: parameters, polarization curve, loss split, profiles, limits.

Depth 0 is the air face. Overpotential is positive where it drives reduction. All per geometric
area, all SI.
"""

from __future__ import annotations

from aerode.physics.cathode.batch import CurveBatch, polarization_batch
from aerode.physics.cathode.compiled import prepare
from aerode.physics.cathode.flooding import saturation_at, with_saturation
from aerode.physics.cathode.invert import current_at_loss, current_at_overpotential
from aerode.physics.cathode.keyed import from_keys, to_keys
from aerode.physics.cathode.limit import limiting_current
from aerode.physics.cathode.losses import LossSplit
from aerode.physics.cathode.parameters import (
    CathodeParameters,
    OxygenSupply,
    Sublayer,
    flooded,
    layered,
    partly_flooded,
)
from aerode.physics.cathode.profile import Profile
from aerode.physics.cathode.routes import Route
from aerode.physics.cathode.sensitivity import SENSITIVE, Sensitivity, sensitivities
from aerode.physics.cathode.solve import (
    OperatingPoint,
    Polarization,
    operating_point,
    polarization,
)
from aerode.physics.cathode.surface_ph import (
    SurfaceHydroxide,
    magnesium_capacity,
    scale_growth,
    surface_hydroxide,
)

__all__ = [
    "SENSITIVE",
    "CathodeParameters",
    "CurveBatch",
    "LossSplit",
    "OperatingPoint",
    "OxygenSupply",
    "Polarization",
    "Profile",
    "Route",
    "Sensitivity",
    "Sublayer",
    "SurfaceHydroxide",
    "current_at_loss",
    "current_at_overpotential",
    "flooded",
    "from_keys",
    "layered",
    "limiting_current",
    "magnesium_capacity",
    "operating_point",
    "partly_flooded",
    "polarization",
    "polarization_batch",
    "prepare",
    "saturation_at",
    "scale_growth",
    "sensitivities",
    "surface_hydroxide",
    "to_keys",
    "with_saturation",
]
