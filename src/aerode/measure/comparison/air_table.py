"""Air cathode or battery, for every electrode of a comparison."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.measure.comparison.air_or_battery import (
    charge_drawn,
    judge_air_or_battery,
    sealed_share,
)
from aerode.measure.comparison.entrants import recipe_of
from aerode.measure.comparison.stored_charge import (
    ChargeFigure,
    StoredCharge,
    charge_figure,
    dry_masses,
    stored_charge,
)
from aerode.records.materials import Function
from aerode.records.runs import RunSort

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.measure.comparison.study import Study
    from aerode.records.comparisons import AirOrBattery
    from aerode.records.electrodes import Electrode

__all__ = ["air_or_battery_rows", "stored_charge_of"]

_ALKALINE = ("hydroxide", "koh", "naoh", "lye", "alkali", "potash")


def air_or_battery_rows(
    study: Study, figures: Mapping[str, ChargeFigure] | None = None
) -> tuple[AirOrBattery, ...]:
    """For each electrode whether its current can still be its own stored charge.

    Parameters
    ----------
    study : Study
    figures : mapping of powder lot to ChargeFigure, optional
        Taken before what is on file.

    Returns
    -------
    tuple of AirOrBattery
        For the electrodes asked for that have a run.
    """
    blank = next((b.name for b in study.blanks if study.runs_of(b, RunSort.LOADS)), "")
    rows: list[AirOrBattery] = []
    for electrode in study.electrodes:
        runs = study.runs_of_piece(electrode)
        if not runs:
            continue
        share, on = _sealed(study, electrode)
        rows.append(
            judge_air_or_battery(
                electrode,
                charge_drawn(runs, study.load_of, study.logged),
                stored_charge_of(study, electrode, figures or {}),
                sealed=share,
                sealed_on=on,
                blank=blank,
            )
        )
    return tuple(rows)


def stored_charge_of(
    study: Study, electrode: Electrode, figures: Mapping[str, ChargeFigure]
) -> StoredCharge | None:
    """The most that one electrode's solids could give; None where recipe or dry mass is not known.

    Parameters
    ----------
    study : Study
    electrode : Electrode [record]
    figures : mapping of powder lot to ChargeFigure

    Returns
    -------
    StoredCharge or None
    """
    masses = dry_masses(
        electrode,
        mixes=study.mixes,
        batches=study.batches,
        powders=study.powders,
        solutions=study.solutions,
    )
    if masses is None:
        return None
    alkaline = _alkaline(study, electrode)
    found = {
        name: figures.get(name) or _figure_of_lot(study, name, alkaline=alkaline) for name in masses
    }
    return stored_charge(masses, found)


def _figure_of_lot(study: Study, name: str, *, alkaline: bool) -> ChargeFigure | None:
    lot = study.powders[name]
    return charge_figure(
        lot.substance,
        alkaline=alkaline,
        lot_surface=lot.specific_surface.value if lot.specific_surface is not None else None,
        carbon=lot.function in (Function.ACTIVE_CARBON, Function.CONDUCTOR),
    )


def _alkaline(study: Study, electrode: Electrode) -> bool:
    """True unless every cell of the electrode names a salt that is no alkali."""
    salts = [
        study.electrolytes[cell.electrolyte].salt.casefold()
        for cell in study.cells.values()
        if cell.electrode == electrode.name and cell.electrolyte in study.electrolytes
    ]
    return not salts or any(word in salt for salt in salts for word in _ALKALINE)


def _sealed(study: Study, electrode: Electrode) -> tuple[float | None, str]:
    """The sealed-face run that speaks for an electrode: its own, else one of its recipe."""
    own = recipe_of(electrode)
    same = [e for e in (*study.electrodes, *study.controls) if recipe_of(e) == own]
    for one in sorted(same, key=lambda e: e.name != electrode.name):
        sealed = study.runs_of(one, RunSort.SEALED_FACE)
        fair = study.runs_of(one, RunSort.LOADS)
        if sealed and fair:
            share = sealed_share(fair[-1], sealed[-1], study.load_of)
            if share is not None:
                return share, one.name
    return None, ""
