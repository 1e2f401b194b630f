"""Whether two weighings say that a coat is dry, and what three of them promise."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from aerode import units
from aerode.cautions.policy import (
    CONSTANT_WEIGHT_INTERVAL,
    CONSTANT_WEIGHT_PER_AREA,
    CONSTANT_WEIGHT_SHARE,
)
from aerode.cautions.waits import allowed_change, later
from aerode.errors import CannotTellError, InputError, UnitError
from aerode.physics import drying
from aerode.physics.heat_gates import Dryness, dry_enough
from aerode.records.processes import DrynessFinding, ProcessAnswer
from aerode.usecases.process import Desk, shown_time, sources_of

__all__ = ["BEFORE_THE_PRESS", "DrynessQuestion", "is_it_dry"]

BEFORE_THE_PRESS = (
    'before the press: aerode cautions ITEM --plate "85 °C" (an electrode or mix of the bench) '
    "names plate, polymer and ignition limits"
)
"""The warning that holds no more once the piece was pressed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrynessQuestion:
    """Two or three weighings and the time between, as typed."""

    weighed: str
    coating: str = ""
    area: str = ""
    scale: str = "0.01 g"
    pieces: int = 1
    """Like pieces weighed as one; coating and area are of one of them."""
    name: str = ""
    wait: float | None = None
    """Minutes between two weighings of this piece on its scale; None: the shortest of the rule."""


def is_it_dry(question: DrynessQuestion) -> ProcessAnswer:
    """Whether the weight is constant, and with three weighings when it will be.

    Parameters
    ----------
    question : DrynessQuestion
        "12.43 g, 12.42 g, 15 min", or three masses and the time between two of them.

    Returns
    -------
    ProcessAnswer
        With `dryness` filled. A scale too coarse for the criterion answers "cannot tell".

    Raises
    ------
    InputError
        Not two or three masses and a time, or less than one piece.

    Examples
    --------
    >>> is_it_dry(DrynessQuestion(weighed="12.43 g, 12.43 g, 15 min", coating="2.1 g")).headline
    'Weight constant: 0 mg in 15 min, at most 21 mg counts as constant'
    """
    desk = Desk()
    parts = [p for p in re.split(r"\s*[,;]\s+", question.weighed.strip()) if p]
    if len(parts) not in (3, 4):
        raise UnitError(
            f"{question.weighed!r} is not two or three weighings and a time", where="weighed",
            allowed='as in "12.43 g, 12.42 g, 15 min"',
            next_step="weigh the dry-looking piece, wait ten minutes, weigh it again",
        )  # fmt: skip
    if question.pieces < 1:
        raise InputError(
            f"{question.pieces} pieces on the scale", where="pieces", allowed="1 or more",
            next_step="say how many like pieces were weighed together",
        )  # fmt: skip
    masses = [(desk.above_zero(p, "kg", "weighed") or 0.0) / question.pieces for p in parts[:-1]]
    interval = desk.above_zero(parts[-1], "s", "time between") or 0.0
    coating = desk.above_zero(question.coating, "kg", "coating")
    area = desk.above_zero(question.area, "m^2", "area")
    step = (desk.above_zero(question.scale, "kg", "scale") or 0.0) / question.pieces
    first, second = masses[-2:]
    finding, decides = dry_enough(
        first, second, interval, minimum_interval=CONSTANT_WEIGHT_INTERVAL,
        relative_change=CONSTANT_WEIGHT_SHARE, mass_per_area=CONSTANT_WEIGHT_PER_AREA,
        coating=coating, area=area, resolution=step,
    )  # fmt: skip
    decides = decides.replace(*later(question.wait))
    allowed = allowed_change(coating, area)
    settles, to_go, wait = _settling(masses, interval, step, allowed)
    found = DrynessFinding(
        finding=finding.value, lost=first - second, interval=interval, allowed=allowed or None,
        loss_rate=(first - second) / interval, decides=decides, rule=_rule(question.wait), settles_at=settles,
        still_to_go=to_go, constant_in=wait,
    )  # fmt: skip
    return ProcessAnswer(
        headline=_dryness_headline(finding, found, question.pieces),
        process="dryness",
        about=(question.name,) if question.name else (),
        dryness=found,
        warnings=_dryness_warnings(finding, decides, question.pieces),
        assumed=tuple(desk.assumed),
        sources=sources_of((), "common_practice"),
        understood=tuple(desk.understood),
    )


def _rule(wait: float | None) -> str:
    """What counts as constant, with the wait of this scale where that is longer."""
    change = f"{units.per_cent(CONSTANT_WEIGHT_SHARE)} of the coating or {100 * CONSTANT_WEIGHT_PER_AREA:g} mg/cm^2"
    shortest = CONSTANT_WEIGHT_INTERVAL / 60
    if wait is None or wait <= shortest:
        return f"at most {change} in at least {shortest:g} min"
    return f"at most {change}; for this scale two weighings at least {wait:g} min apart"


def _settling(
    masses: list[float], interval: float, step: float, allowed: float
) -> tuple[float | None, float | None, float | None]:
    """Where three weighings lead: final mass, what is still to go, time until it counts as constant."""
    if len(masses) != 3:
        return None, None, None
    try:
        end = drying.settled_mass(*masses, resolution=step)
    except CannotTellError:
        return None, None, None
    one, two = masses[0] - masses[1], masses[1] - masses[2]
    if not allowed or two <= allowed:
        return end, masses[2] - end, 0.0 if allowed else None
    steps = math.log(allowed / two) / math.log(two / one)
    return end, masses[2] - end, steps * interval


def _dryness_headline(finding: Dryness, found: DrynessFinding, pieces: int) -> str:
    each = "a piece " if pieces > 1 else ""
    lost = f"{1e6 * found.lost:.3g} mg {each}in {shown_time(found.interval)}"
    if finding is Dryness.DRY:
        allowed = f"{1e6 * (found.allowed or 0.0):.2g} mg"
        return f"Weight constant: {lost}, at most {allowed} counts as constant"
    if finding is Dryness.WET:
        return f"Not dry: it still loses {lost}. No heat yet"
    return "Cannot tell yet whether it is dry. No heat yet"


def _dryness_warnings(finding: Dryness, decides: str, pieces: int) -> tuple[str, ...]:
    alike = (
        (f"{pieces} pieces weighed together: taken that they dry alike; the thickest of them dries last",)
        if pieces > 1
        else ()
    )  # fmt: skip
    skin = "constant weight is no proof: a skin can lock solvent in, most of all in a thick, dense coat"
    if finding is Dryness.DRY:
        return (
            skin,
            *alike,
            BEFORE_THE_PRESS,
        )
    settles = (f"what settles it: {decides}",) if decides else ()
    return (
        *settles,
        *alike,
        "dry it in moving air at room temperature; no oven, iron or press while it loses weight",
    )
