"""House rules of the cautions: choices of this program, common practice, no published source.

No hazard figure stands here (those come from `aerode.reference`); these are the thresholds of our
own gates and the defaults of the screening models, each with its reason.
"""

from __future__ import annotations

__all__ = [
    "AROMATICS",
    "COLD_PLATE_MARGIN",
    "COMMON_SCALE_STEP",
    "CONSTANT_WEIGHT_INTERVAL",
    "CONSTANT_WEIGHT_PER_AREA",
    "CONSTANT_WEIGHT_SHARE",
    "FLUOROPOLYMERS",
    "HOT_TO_TOUCH",
    "HOUSE_SOURCE",
    "LYES",
    "NEAR_FIELD_RADIUS",
    "NOT_FOR_A_CLASS",
    "SMALL_ROOM",
]

HOUSE_SOURCE = "common_practice"

# Dry enough to heat: two readings ten minutes apart agree within 1 % of the coating, or 0.5 mg/cm2.
CONSTANT_WEIGHT_INTERVAL = 600.0  # s; judgement
CONSTANT_WEIGHT_SHARE = 0.01  # judgement
CONSTANT_WEIGHT_PER_AREA = 0.005  # kg/m^2; judgement

# The step of a scale that nobody named: that of a kitchen scale for coffee.
COMMON_SCALE_STEP = 1e-5  # kg; judgement

# A plate no warmer than the room by this much is a cold press.
COLD_PLATE_MARGIN = 5.0  # K; judgement

# From here on a plate is called hot to the hand; metal held for minutes burns from about here.
HOT_TO_TOUCH = 318.15  # K; judgement

# Reach of the near field: arm's length to the face of someone bent over a dish.
NEAR_FIELD_RADIUS = 0.5  # m

# Where nobody said which room it is: a small room with everything shut, told as what it may come to.
SMALL_ROOM = 20.0  # m^3; judgement

LYES = ("sodium hydroxide", "potassium hydroxide")
AROMATICS = ("toluene", "xylenes", "o-xylene", "m-xylene", "p-xylene", "styrene")
FLUOROPOLYMERS = ("PTFE", "PVDF")
# What a class does not handle, besides lye, aromatics and hot fluoropolymers.
NOT_FOR_A_CLASS = ("1-methyl-2-pyrrolidone", "acrylonitrile")
