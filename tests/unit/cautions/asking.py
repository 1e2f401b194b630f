"""The cautions of a situation, by hazard."""

from __future__ import annotations

from aerode.cautions.engine import assess
from aerode.cautions.situation import Situation
from aerode.records.cautions import Caution

__all__ = ["hazards", "one"]


def one(situation: Situation, hazard: str) -> Caution:
    """The hardest caution on a hazard."""
    found = [c for c in assess(situation) if c.hazard == hazard]
    assert found, f"nothing on {hazard}"
    return found[0]


def hazards(situation: Situation) -> set[str]:
    """Every hazard that is named."""
    return {c.hazard for c in assess(situation)}
