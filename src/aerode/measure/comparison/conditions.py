"""Which conditions are known, which cancel in a ratio, and which block the comparison until someone acts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import InputError, some_of
from aerode.measure.comparison.entrants import session_of
from aerode.measure.comparison.run_order import ALIGNMENT_LIMIT, alignment
from aerode.measure.comparison.wording import did_you_mean
from aerode.measure.run_cells import FROM_CELL, FROM_ELECTROLYTE, from_the_cell, lot_of
from aerode.records.marks import Condition, Known
from aerode.records.results import ConditionLine

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from aerode.measure.comparison.entrants import Entrant

__all__ = [
    "CONDITIONS",
    "FIRST_SESSION_OF",
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


FIRST_SESSION_OF = "the first session of {} on this bench"
"""Why hours wet and charge passed are settled where nobody typed them."""
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
    unmeasured = tuple(line.condition for line in lines if not _on_record(line))
    return ConditionReport(tuple(lines), tuple(warnings), unmeasured)


def _on_record(line: ConditionLine) -> bool:
    """Measured; or the lot of aluminium, named for all: there is no more of it to measure."""
    named = line.key == "aluminium" and line.known is Known.SAME and not line.on_word
    return named or line.known is Known.MEASURED


def _condition(kind: ConditionKind, entrant: Entrant) -> Condition:
    """The condition as the run states it by a value, else as its readings or its cell do, else its word."""
    stated: Condition = getattr(entrant.run, kind.field)
    if stated.known is not Known.MAY_DIFFER and stated.value is not None:
        return stated
    if kind.key == "temperature":
        read = [r.temperature for r in entrant.run.readings if r.temperature is not None]
        if read:
            return Condition(
                known=Known.MEASURED, value=float(np.mean(read)), how="at the readings"
            )
    return from_the_cell(kind.field, entrant.cell, entrant.electrolyte) or stated


def _salts_warning(entrants: Sequence[Entrant], found: Sequence[Condition]) -> str:
    """A warning where mass fractions came from records of different salts: equal figures, unequal liquids."""
    salts = {
        e.electrolyte.salt.strip().casefold()
        for e, c in zip(entrants, found, strict=True)
        if e.electrolyte is not None and c.how == FROM_ELECTROLYTE
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
    if kind.key == "aluminium" and (lot := _one_lot(entrants)):
        return ConditionLine(condition=kind.words, known=Known.SAME, detail=lot, key=kind.key)
    if not open_runs:
        return _known_line(kind, entrants, found)
    settled = _settled_elsewhere(kind, entrants, first_use)
    if settled:
        return ConditionLine(condition=kind.words, known=Known.SAME, detail=settled, key=kind.key)
    if kind.key in said_same or REST in said_same:
        return ConditionLine(
            condition=kind.words,
            known=Known.SAME,
            detail="said to be the same for all when comparing; not measured",
            key=kind.key,
            on_word=True,
            runs=tuple(open_runs),
        )
    if kind.key == "aluminium":
        return _lots_line(kind, entrants, open_runs)
    return _blocking(kind, open_runs, "not known for " + some_of(open_runs, 4), kind.act)


def _blocking(kind: ConditionKind, runs: Sequence[str], detail: str, act: str) -> ConditionLine:
    return ConditionLine(
        condition=kind.words,
        known=Known.MAY_DIFFER,
        detail=detail,
        blocks=True,
        next_step=f"{act}; or, if it was the same for all, say so: --same {kind.key}",
        key=kind.key,
        runs=tuple(runs),
    )


def _lots_line(
    kind: ConditionKind, entrants: Sequence[Entrant], open_runs: Sequence[str]
) -> ConditionLine:
    """The lots of aluminium where they do not settle it: not named for some runs, or several."""
    lots = {e.run.name: lot_of(e.run, e.cell) for e in entrants if e.run.name in open_runs}
    lacking = [run for run, lot in lots.items() if not lot]
    if not lacking and len(set(lots.values())) == 1:
        detail = (
            f"the lot {next(iter(lots.values()))} is named for {len(lots)} of {len(entrants)} runs"
        )
        return ConditionLine(
            condition=kind.words,
            known=Known.SAME,
            detail=f"{detail}; the others are taken as the same, on your word",
            key=kind.key,
            on_word=True,
            runs=tuple(e.run.name for e in entrants if e.run.name not in lots),
        )
    if lacking:
        return _blocking(kind, lacking, "not known for " + some_of(lacking, 4), kind.act)
    named = {lot: [run for run, its in lots.items() if its == lot] for lot in lots.values()}
    detail = "several lots: " + "; ".join(
        f"{lot} for {some_of(runs, 4)}" for lot, runs in named.items()
    )
    return _blocking(kind, open_runs, detail, "measure on one lot of aluminium")


def _known_line(
    kind: ConditionKind, entrants: Sequence[Entrant], found: Sequence[Condition]
) -> ConditionLine:
    values = [c.value for c in found if c.known is Known.MEASURED and c.value is not None]
    if len(values) < len(found):
        same = [
            (e.run.name, c.how)
            for e, c in zip(entrants, found, strict=True)
            if c.known is Known.SAME
        ]
        said = sorted({how for _, how in same if how})
        detail = f"taken as the same for all, on your word{f' ({said[-1]})' if said else ''}"
        detail += "; a common factor cancels in a ratio"
        if values:
            detail += f" (measured on {len(values)} of {len(found)} runs)"
        return ConditionLine(
            condition=kind.words, known=Known.SAME, detail=detail, key=kind.key, on_word=True,
            runs=tuple(run for run, _ in same),
        )  # fmt: skip
    low, high = kind.shown(min(values)), kind.shown(max(values))
    span = low if low == high else f"{low} to {high}"
    return ConditionLine(
        condition=kind.words,
        known=Known.MEASURED,
        detail=f"{span} {kind.unit}".strip() + _basis(found),
        key=kind.key,
    )


def _basis(found: Sequence[Condition]) -> str:
    """From which other record the values were taken, and for how many of the runs."""
    said = ""
    for where in (FROM_ELECTROLYTE, FROM_CELL):
        recorded = sum(c.how == where for c in found)
        said += f", {where}" if recorded else ""
        said += f" on {recorded} of {len(found)} runs" if 0 < recorded < len(found) else ""
    return said


def _one_lot(entrants: Sequence[Entrant]) -> str:
    """The one lot of aluminium that the cells, or the runs, name: it outranks the mere word "same"; "" otherwise."""
    lots = {lot_of(e.run, e.cell) for e in entrants}
    return f"all cells name the lot {lots.pop()}" if len(lots) == 1 and "" not in lots else ""


def _settled_elsewhere(
    kind: ConditionKind, entrants: Sequence[Entrant], first_use: Collection[str]
) -> str:
    """What other records say of a condition that the runs leave open; "" where they say nothing."""
    sessions = {session_of(e.run) for e in entrants}
    if kind.follows_order and len(sessions) == 1 and all(e.run.order is not None for e in entrants):
        return "one session: what changes steadily in it is in the fit of the run order"
    if kind.key == "salinity":
        named = {e.electrolyte.name if e.electrolyte is not None else "" for e in entrants}
        if len(named) == 1 and "" not in named:
            return f"all cells name the electrolyte {named.pop()}"
    if kind.key in ("hours_wet", "charge_before") and all(
        e.run.name in first_use for e in entrants
    ):
        return FIRST_SESSION_OF.format("every piece")
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
        low, high = (f"{end * 1e4:.3g}" for end in (min(sizes), max(sizes)))
        return ConditionLine(
            condition=words,
            known=Known.MEASURED,
            detail=f"{low} cm^2" if low == high else f"{low} to {high} cm^2",
            key=_AREA,
        )
    alike = all(e.electrode.area_alike for e in entrants if e.electrode.wetted_area is None)
    if alike or _AREA in said_same:
        return ConditionLine(
            condition=words,
            known=Known.SAME,
            detail="said to be cut alike; 3 % allowed for each piece, and nothing is given per cm^2",
            key=_AREA,
            on_word=True,
            runs=tuple(lacking),
        )
    return ConditionLine(
        condition=words,
        known=Known.MAY_DIFFER,
        detail="not known for " + some_of(lacking, 4),
        blocks=True,
        next_step="measure it with a ruler or a photo (5 min); or, if one die cut them: --same area",
        key=_AREA,
        runs=tuple(lacking),
    )


def _lead_detail(lacking: Sequence[str], entrants: Sequence[Entrant]) -> str:
    whose = f"not measured on {some_of(lacking, 4)}"
    if len(lacking) == len({e.electrode.name for e in entrants}):
        return (
            f"{whose}; nothing is taken off, they count as part of each cell; "
            "that they may be 0.1 to 0.5 ohm is in the interval"
        )
    return f"{whose}; 0.3 ohm taken, as the others are read at the tab; 0.1 to 0.5 ohm is in the interval"


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
        detail=_lead_detail(lacking, entrants),
        next_step="read the voltage at the tab and at the clip under one load (3 min each)",
    )
