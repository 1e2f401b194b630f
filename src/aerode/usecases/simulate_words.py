"""A prediction as tables and lines: before and after, the settings gone through, what is known of the inputs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.measure.porous.changes import CHANGEABLE
from aerode.records.reports import Table

if TYPE_CHECKING:
    from aerode.records.results import Estimate
    from aerode.records.simulations import Simulation

__all__ = ["changeable", "loss_in_words", "parts_that_add_up", "simulation_tables"]


def changeable() -> tuple[tuple[str, str], ...]:
    """What can be changed, each with its usual unit: ("thickness", "mm")."""
    return tuple((name, known.bare or known.unit) for name, known in CHANGEABLE.items())


def loss_in_words(found: Simulation) -> str:
    """The change of the loss, where the headline has no room for it; "" where it stands there or is not told.

    Parameters
    ----------
    found : Simulation

    Returns
    -------
    str
    """
    one = found.change_V
    if not found.change or one.value is None or one.interval_95 is None or " mV" in found.headline:
        return ""
    band = units.band(one.value, *one.interval_95, factor=1e3, sign=True)
    return f"Loss at {found.current_density_mA_cm2:.3g} mA/cm²: {band} mV.".replace("-", "−")


def simulation_tables(found: Simulation) -> tuple[Table, ...]:
    """The numbers of a prediction.

    Parameters
    ----------
    found : Simulation

    Returns
    -------
    tuple of Table
        Before and after; the settings gone through; the inputs with their spans; where the band
        comes from, where that was looked for.
    """
    tables = [_before_after(found)]
    if found.sweep:
        tables.append(_sweep(found))
    if found.ranking:
        tables.append(_ranking(found))
    tables.append(_inputs(found))
    return tuple(tables)


def _band(one: Estimate, factor: float) -> str:
    if one.value is None or one.interval_95 is None:
        return (one.reason or "not told").split(":")[0]
    low, high = one.interval_95
    return units.band(one.value, low, high, factor=factor).replace("-", "−")


def _per_cent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _before_after(found: Simulation) -> Table:
    first, then = parts_that_add_up(found)
    rows = [
        ("loss at this current [mV]", _band(found.loss_before_V, 1e3), _band(found.loss_after_V, 1e3)),
        ("chance that it gives this current", _per_cent(found.carried_before), _per_cent(found.carried_after)),
        *((name, f"{first[name]:.1f}", f"{then[name]:.1f}") for name in first),
    ]  # fmt: skip
    return Table(
        caption=f"At {found.current_density_mA_cm2:.3g} mA/cm², predicted with 95 % bands",
        columns=("predicted", "as it is", "changed"),
        rows=tuple(rows),
        numbers=(1, 2),
        note=(
            f"Change of the loss, draw by draw: {_band(found.change_V, 1e3)} mV; the middles of the two bands, "
            "each for itself, need not differ by it. "
            f"Current at the same loss: times {_band(found.ratio, 1.0)}. "
            f"A gain in {100 * found.helps:.0f} % of {found.draws} draws."
        ),
    )


def parts_that_add_up(found: Simulation) -> tuple[dict[str, float], dict[str, float]]:
    """The loss on the draws in the middle and its parts, before and after, to 0.1 mV; the first row is their sum.

    Parameters
    ----------
    found : Simulation

    Returns
    -------
    before, after : dict of str to float [mV]
        By their words for a row of a table; both empty where they are not told.
    """
    made: list[dict[str, float]] = []
    for parts in (found.losses_before_V, found.losses_after_V):
        each = {f"of it {name} [mV]": round(1e3 * volts, 1) for name, volts in parts.items()}
        whole = {"loss on the draws in the middle [mV]": round(sum(each.values()), 1)}
        made.append(whole | each if each else {})
    first, then = made
    return (first, then) if first and then else ({}, {})


def _sweep(found: Simulation) -> Table:
    return Table(
        caption="The settings gone through, predicted",
        columns=("setting", "change of loss [mV]", "current at the same loss", "draws it helps in"),
        rows=tuple(
            (p.text, _band(p.change_V, 1e3), _band(p.ratio, 1.0), _per_cent(p.helps))
            for p in found.sweep
        ),
        numbers=(1, 2, 3),
    )


def _ranking(found: Simulation) -> Table:
    led = [one for one in found.ranking if one.total_share > 0.005]  # judgement: half a per cent
    return Table(
        caption="Where the band comes from",
        columns=("input", "share of the band"),
        rows=tuple((one.name, _per_cent(min(1.0, one.total_share))) for one in led),
        numbers=(1,),
        note="What would narrow the band most is to measure the first of them.",
    )


def _inputs(found: Simulation) -> Table:
    return Table(
        caption="What is known of each input",
        columns=("input", "from", "to", "unit", "rests on"),
        rows=tuple(
            (one.name, f"{one.low:.3g}", f"{one.high:.3g}", one.unit or "1", f"{one.basis}: {one.source}")
            for one in found.inputs
        ),
        numbers=(1, 2),
        folded=True,
    )  # fmt: skip
