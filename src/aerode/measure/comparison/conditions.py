"""Which conditions are known, which cancel in a ratio, and which block the comparison until someone acts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import InputError
from aerode.measure.comparison.entrants import session_of
from aerode.measure.comparison.run_order import ALIGNMENT_LIMIT, alignment
from aerode.measure.comparison.wording import did_you_mean
from aerode.records.marks import Condition, Known
from aerode.records.results import ConditionLine

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from aerode.measure.comparison.entrants import Entrant

__all__ = [
    "CONDITIONS",
    "REST",
    "ConditionKind",
    "ConditionReport",
    "area_line",
    "check_same",
    "lead_line",
    "weigh_conditions",
]

REST = "rest"
"""The word by which a person says that every condition not spoken of was the same for all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ConditionKind:
    """One condition of a run: its words, the window inside which sides may differ, the cheapest act.

    `window` is in SI and is a judgement (common practice, no source); it only warns.
    """

    key: str
    words: str
    field: str
    window: float
    unit: str
    per_unit: float
    offset: float = 0.0
    act: str
    follows_order: bool = False
    """Inside one session it changes with the run order, so the joint fit of the order carries it."""

    def shown(self, value: float) -> str:
        """A value in the unit people use."""
        return f"{value / self.per_unit + self.offset:.3g}"


CONDITIONS: tuple[ConditionKind, ...] = (
    ConditionKind(
        key="temperature",
        words="temperature of the cell",
        field="temperature",
        window=3.0,
        unit="°C",
        per_unit=1.0,  # unit, by definition
        offset=-273.15,  # by definition
        act="read a thermometer at each run (1 min)",
    ),
    ConditionKind(
        key="salinity",
        words="salt in the water",
        field="salinity",
        window=0.002,  # judgement
        unit="g/kg",
        per_unit=1e-3,  # unit, by definition
        act="weigh salt and water, or use one bucket for all (5 min)",
    ),
    ConditionKind(
        key="aluminium",
        words="aluminium, its lot and surface",
        field="aluminium",
        window=0.0,
        unit="",
        per_unit=1.0,  # unit, by definition
        act="name the lot of aluminium of each cell (1 min)",
    ),
    ConditionKind(
        key="gap",
        words="gap between the plates",
        field="gap",
        window=0.5e-3,  # judgement
        unit="mm",
        per_unit=1e-3,  # unit, by definition
        act="measure the spacer of each cell (2 min)",
    ),
    ConditionKind(
        key="hours_wet",
        words="hours wet",
        field="hours_wet",
        window=24 * 3600.0,
        unit="h",
        per_unit=3600.0,  # unit, by definition
        act="enter when each electrode was first wetted (1 min)",
    ),
    ConditionKind(
        key="charge_before",
        words="charge passed before",
        field="charge_before",
        window=180.0,  # judgement
        unit="mAh",
        per_unit=3.6,  # unit, by definition
        act="enter the runs each electrode had before (5 min)",
    ),
    ConditionKind(
        key="aluminium_charge",
        words="charge the aluminium had passed",
        field="aluminium_charge",
        window=360.0,  # judgement
        unit="mAh",
        per_unit=3.6,  # unit, by definition
        act="say whether the aluminium was fresh for each run (1 min)",
        follows_order=True,
    ),
    ConditionKind(
        key="electrolyte_age",
        words="age of the electrolyte",
        field="electrolyte_age",
        window=24 * 3600.0,
        unit="h",
        per_unit=3600.0,  # unit, by definition
        act="enter when the electrolyte was poured (1 min)",
        follows_order=True,
    ),
)


_AREA = "area"


def check_same(said: Collection[str]) -> None:
    """Refuse a word that names no condition: a slip would otherwise be taken for a statement.

    Parameters
    ----------
    said : collection of str
        What a person says was the same for all.

    Raises
    ------
    InputError
        With the words that are taken, and the one that looks like it.

    Examples
    --------
    >>> check_same(["salinity", "rest"])
    """
    known = [*(kind.key for kind in CONDITIONS), _AREA, REST]
    for word in said:
        if word not in known:
            raise InputError(
                f"{word!r} is no condition that can be the same for all",
                where="same",
                allowed=", ".join(known),
                next_step=f"{did_you_mean(word, known)}name one of these, once for each",
            )


@dataclass(frozen=True, slots=True)
class ConditionReport:
    """The table of conditions, and what it means for the verdict."""

    lines: tuple[ConditionLine, ...]
    warnings: tuple[str, ...]
    not_measured: tuple[str, ...]

    @property
    def blocking(self) -> tuple[ConditionLine, ...]:
        """The lines that block the comparison."""
        return tuple(line for line in self.lines if line.blocks)


def weigh_conditions(
    entrants: Sequence[Entrant],
    *,
    said_same: Collection[str] = (),
    first_use: Collection[str] = (),
    temperature_corrected: bool = False,
) -> ConditionReport:
    """Every condition of these runs: measured, the same though not measured, or free to differ.

    Only the last blocks. A condition that the runs leave open is settled from other records where
    they tell: cells that name one lot of aluminium or one electrolyte of the shelf, the mass
    fraction on an electrolyte's record, cells with a measured gap, pieces on their first session on
    the bench, and (for what changes steadily within a session) the run order, which the comparison
    fits anyway.

    Parameters
    ----------
    entrants : sequence of Entrant [record]
        The compared runs, without the control.
    said_same : collection of str
        Keys of `CONDITIONS` that a person says were the same for all; `"rest"` for all others.
    first_use : collection of str
        Names of the runs in the session in which their piece was first loaded on this bench.
    temperature_corrected : bool
        Whether a stated temperature coefficient takes the temperature out.

    Returns
    -------
    ConditionReport

    Raises
    ------
    AerodeError
        Never; a block is an answer, not an error.
    """
    lines: list[ConditionLine] = []
    warnings: list[str] = []
    for kind in CONDITIONS:
        found = [_condition(kind, e) for e in entrants]
        line = _line(kind, entrants, found, said_same, first_use)
        lines.append(line)
        corrected = temperature_corrected and kind.key == "temperature"
        warning = "" if corrected else _window_warning(kind, entrants, found)
        if warning:
            warnings.append(warning)
        if kind.key == "salinity" and (other := _salts_warning(entrants, found)):
            warnings.append(other)
    unmeasured = tuple(line.condition for line in lines if line.known is not Known.MEASURED)
    return ConditionReport(tuple(lines), tuple(warnings), unmeasured)


def _condition(kind: ConditionKind, entrant: Entrant) -> Condition:
    """The condition as the run states it, else as its readings or its cell do."""
    stated: Condition = getattr(entrant.run, kind.field)
    if stated.known is not Known.MAY_DIFFER:
        return stated
    if kind.key == "temperature":
        read = [r.temperature for r in entrant.run.readings if r.temperature is not None]
        if read:
            return Condition(
                known=Known.MEASURED, value=float(np.mean(read)), how="at the readings"
            )
    gap = entrant.cell.gap if entrant.cell is not None else None
    if kind.key == "gap" and gap is not None:
        return Condition(
            known=Known.MEASURED, value=gap.value, standard_uncertainty=gap.standard_uncertainty
        )
    made = entrant.electrolyte.mass_fraction if entrant.electrolyte is not None else None
    if kind.key == "salinity" and made is not None:
        return Condition(
            known=Known.MEASURED,
            value=made.value,
            standard_uncertainty=made.standard_uncertainty,
            how=_FROM_RECORD,
        )
    return stated


_FROM_RECORD = "from the electrolyte's record"


def _salts_warning(entrants: Sequence[Entrant], found: Sequence[Condition]) -> str:
    """A warning where mass fractions came from records of different salts: equal figures, unequal liquids."""
    salts = {
        e.electrolyte.salt.strip().casefold()
        for e, c in zip(entrants, found, strict=True)
        if e.electrolyte is not None and c.how == _FROM_RECORD
    }
    if len(salts) < 2:
        return ""
    return f"the electrolytes are made of different salts: {', '.join(sorted(salts))}; it is not corrected for"


def _line(
    kind: ConditionKind,
    entrants: Sequence[Entrant],
    found: Sequence[Condition],
    said_same: Collection[str],
    first_use: Collection[str],
) -> ConditionLine:
    open_runs = [
        e.run.name for e, c in zip(entrants, found, strict=True) if c.known is Known.MAY_DIFFER
    ]
    if not open_runs:
        return _known_line(kind, found)
    settled = _settled_elsewhere(kind, entrants, first_use)
    if settled:
        return ConditionLine(condition=kind.words, known=Known.SAME, detail=settled)
    if kind.key in said_same or REST in said_same:
        return ConditionLine(
            condition=kind.words,
            known=Known.SAME,
            detail="said to be the same for all when comparing; not measured",
        )
    return ConditionLine(
        condition=kind.words,
        known=Known.MAY_DIFFER,
        detail="not known for " + _few(open_runs),
        blocks=True,
        next_step=f"{kind.act}; or, if it was the same for all, say so: --same {kind.key}",
    )


def _known_line(kind: ConditionKind, found: Sequence[Condition]) -> ConditionLine:
    values = [c.value for c in found if c.known is Known.MEASURED and c.value is not None]
    if len(values) < len(found):
        detail = "taken as the same for all, on your word; a common factor cancels in a ratio"
        if values:
            detail += f" (measured on {len(values)} of {len(found)} runs)"
        return ConditionLine(condition=kind.words, known=Known.SAME, detail=detail)
    low, high = kind.shown(min(values)), kind.shown(max(values))
    span = low if low == high else f"{low} to {high}"
    recorded = sum(c.how == _FROM_RECORD for c in found)
    basis = f", {_FROM_RECORD}" if recorded else ""
    if 0 < recorded < len(found):
        basis += f" on {recorded} of {len(found)} runs"
    return ConditionLine(
        condition=kind.words, known=Known.MEASURED, detail=f"{span} {kind.unit}".strip() + basis
    )


def _settled_elsewhere(
    kind: ConditionKind, entrants: Sequence[Entrant], first_use: Collection[str]
) -> str:
    """What other records say of a condition that the runs leave open; "" where they say nothing."""
    sessions = {session_of(e.run) for e in entrants}
    if kind.follows_order and len(sessions) == 1 and all(e.run.order is not None for e in entrants):
        return "one session: what changes steadily in it is in the fit of the run order"
    if kind.key == "aluminium":
        lots = {e.cell.aluminium if e.cell is not None else "" for e in entrants}
        if len(lots) == 1 and "" not in lots:
            return f"all cells name the lot {lots.pop()}"
    if kind.key == "salinity":
        named = {e.electrolyte.name if e.electrolyte is not None else "" for e in entrants}
        if len(named) == 1 and "" not in named:
            return f"all cells name the electrolyte {named.pop()}"
    if kind.key in ("hours_wet", "charge_before") and all(
        e.run.name in first_use for e in entrants
    ):
        return "the first session of every piece on this bench"
    return ""


def _window_warning(
    kind: ConditionKind, entrants: Sequence[Entrant], found: Sequence[Condition]
) -> str:
    """A warning where the sides differ, on average, by more than the window."""
    sides: dict[str, list[float]] = {}
    for entrant, condition in zip(entrants, found, strict=True):
        if condition.known is Known.MEASURED and condition.value is not None:
            sides.setdefault(entrant.recipe, []).append(condition.value)
    if len(sides) < 2 or kind.window <= 0:
        return ""
    means = {side: float(np.mean(values)) for side, values in sides.items()}
    low, high = min(means, key=means.__getitem__), max(means, key=means.__getitem__)
    gap = means[high] - means[low]
    if gap <= kind.window:
        return ""
    words = (
        f"{kind.words}: {low} and {high} differ by {gap / kind.per_unit:.3g} {_step(kind)} "
        f"on average (more than {kind.window / kind.per_unit:.3g})"
    )
    if kind.key == "temperature" and _follows_order(entrants, found):
        return words + "; it rose with the run order, whose fit carries most of it"
    return words + "; it is not corrected for"


def _step(kind: ConditionKind) -> str:
    return "K" if kind.key == "temperature" else kind.unit


def _follows_order(entrants: Sequence[Entrant], found: Sequence[Condition]) -> bool:
    pairs = [
        (c.value, e.run.order)
        for e, c in zip(entrants, found, strict=True)
        if c.value is not None and e.run.order is not None
    ]
    one_session = len({session_of(e.run) for e in entrants}) == 1
    if len(pairs) < len(entrants) or not one_session:
        return False
    values, orders = zip(*pairs, strict=True)
    return alignment(values, orders) > ALIGNMENT_LIMIT


def _few(names: Sequence[str], most: int = 4) -> str:
    if len(names) <= most:
        return ", ".join(names)
    return ", ".join(names[:most]) + f" and {len(names) - most} more"


def area_line(entrants: Sequence[Entrant], said_same: Collection[str] = ()) -> ConditionLine:
    """The wetted area as a condition: measured, cut alike, or free to differ (which blocks).

    Parameters
    ----------
    entrants : sequence of Entrant [record]
    said_same : collection of str
        With "area" in it the pieces are said to be cut alike.

    Returns
    -------
    ConditionLine
    """
    words = "wetted area"
    lacking = sorted({e.electrode.name for e in entrants if e.electrode.wetted_area is None})
    if not lacking:
        sizes = [e.electrode.wetted_area.value for e in entrants if e.electrode.wetted_area]
        return ConditionLine(
            condition=words,
            known=Known.MEASURED,
            detail=f"{min(sizes) * 1e4:.3g} to {max(sizes) * 1e4:.3g} cm^2",
        )
    if _AREA in said_same:
        return ConditionLine(
            condition=words,
            known=Known.SAME,
            detail="said to be cut alike; 3 % allowed for each piece, and nothing is given per cm^2",
        )
    return ConditionLine(
        condition=words,
        known=Known.MAY_DIFFER,
        detail="not known for " + _few(lacking),
        blocks=True,
        next_step="measure it with a ruler or a photo (5 min); or, if one die cut them: --same area",
    )


def lead_line(entrants: Sequence[Entrant]) -> ConditionLine:
    """Tab and lead as a condition: measured, or allowed for in the interval; it never blocks.

    Parameters
    ----------
    entrants : sequence of Entrant [record]

    Returns
    -------
    ConditionLine
    """
    from aerode.measure.comparison.values import lead_is_known

    lacking = sorted({e.electrode.name for e in entrants if not lead_is_known(e)})
    if not lacking:
        return ConditionLine(
            condition="tab and lead", known=Known.MEASURED, detail="measured on every piece"
        )
    return ConditionLine(
        condition="tab and lead",
        known=Known.MAY_DIFFER,
        detail=f"not measured on {_few(lacking)}; 0.1 to 0.5 ohm allowed for in the interval",
        next_step="read the voltage at the tab and at the clip under one load (3 min each)",
    )
