"""What was planned on the invented bench: eight electrodes, three factors, and the faults planted."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "BUILD_SPREAD",
    "CONTROL",
    "CONTROL_TIMES",
    "EFFECTS",
    "ELECTRODES",
    "LOADS",
    "Plan",
    "log_vigour",
]

BUILD_SPREAD = 0.059
"""Standard deviation of log vigour between separately built electrodes of one recipe."""
EFFECTS = {"binder": -0.135, "magnetite": 0.043, "plate temperature": 0.050}
"""Change of the film's log vigour for one coded step."""
LOADS = (220.0, 100.0, 47.0, 33.0, 22.0, 15.0, 10.0, 6.8)
"""The eight resistors of the bench [ohm]."""


@dataclass(frozen=True, slots=True)
class Plan:
    """One electrode as planned, with what is really true of it."""

    name: str
    binder: float
    magnetite: float
    plate: float
    run: float
    """Place in the day's order; the control stands between."""
    room: float
    """Temperature in the shed at its run [degC]."""
    area: float
    """True wetted area [cm^2]."""
    joint: float
    """True resistance of its tab [ohm]."""

    @property
    def recipe(self) -> str:
        """The recipe's name: equal names are repeat builds."""
        return f"b{self.binder * 100:.0f} m{self.magnetite * 100:.0f} {self.plate:.0f}C"

    @property
    def coded(self) -> dict[str, float]:
        """The factors as -1, 0, +1."""
        return {
            "binder": (self.binder - 0.15) / 0.05,
            "magnetite": (self.magnetite - 0.08) / 0.08,
            "plate temperature": (self.plate - 85.0) / 15.0,
        }


ELECTRODES = (
    Plan("T1", 0.10, 0.00, 100.0, 5, 23.4, 9.6, 0.45),
    Plan("T2", 0.20, 0.00, 70.0, 2, 20.1, 8.9, 0.52),
    Plan("T3", 0.10, 0.16, 70.0, 7, 25.6, 9.3, 0.48),
    Plan("T4", 0.20, 0.16, 100.0, 1, 19.0, 10.1, 1.40),
    Plan("T5", 0.15, 0.08, 85.0, 4, 22.3, 9.8, 0.55),
    Plan("T6", 0.15, 0.08, 85.0, 8, 26.7, 11.7, 0.42),
    Plan("T7", 0.10, 0.16, 70.0, 3, 21.2, 9.4, 0.60),
    Plan("T8", 0.20, 0.16, 100.0, 6, 24.5, 9.2, 0.50),
)
CONTROL = Plan("C0", 0.15, 0.08, 85.0, 0, 17.9, 9.5, 0.46)
CONTROL_TIMES = ((0.0, 17.9), (4.5, 22.8), (9.0, 27.8))
"""Place in the day's order and temperature [degC] of each run of the control."""


def log_vigour(coded: dict[str, float], effects: dict[str, float]) -> float:
    """What a recipe does to the film, as the log of its vigour, without build spread."""
    return sum(effects[name] * coded[name] for name in effects)
