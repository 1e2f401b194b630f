"""What the log of an electrode gives to think about: coats unlike their mix, plates too cool to bind."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import AerodeError
from aerode.measure.mix.answer import dried
from aerode.physics.water import ZERO_CELSIUS
from aerode.records.mixes import Batch, Mix
from aerode.usecases.mix import scale_of, shelf_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.electrodes import Electrode, Press
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.electrode_page_heat import HeatLine

__all__ = ["coat_minds", "mix_of_coat", "too_cool"]

_FAR = 0.2  # judgement
"""Share of the solids: thinner left on the brush or gone in the air explains less."""
_WARM = 273.15 + 35.0  # judgement
"""[K]; a plate below it is a cold press that is meant so."""


def mix_of_coat(bench: BenchFile, electrode: Electrode) -> Mix | None:
    """The one mix of its coat, as weighed in its pot where that is on the bench."""
    named = {(layer.mix, layer.batch) for layer in electrode.layers}
    if len(named) != 1:
        return None
    mix_name, batch_name = named.pop()
    batch = bench.find(Batch, batch_name) if batch_name else None
    mix = bench.find(Mix, batch.mix if batch else mix_name) if batch or mix_name else None
    if batch is not None and batch.portions:
        return Mix(name=batch.name, portions=batch.portions)
    return mix


def coat_minds(bench: BenchFile, electrode: Electrode) -> tuple[str, ...]:
    """Coats whose dry mass over their wet mass is far from the solids of their mix.

    Parameters
    ----------
    bench : BenchFile
        Open.
    electrode : Electrode
        With coats that were weighed wet and dry.

    Returns
    -------
    tuple of str
        Empty where the weighing explains the difference, and where the solids are not known.
    """
    coats = [coat for layer in electrode.layers for coat in layer.coats]
    weighed = [(n, c.wet_mass, c.dry_mass) for n, c in enumerate(coats, 1) if c.wet_mass and c.dry_mass]  # fmt: skip
    mix = mix_of_coat(bench, electrode)
    if not weighed or mix is None:
        return ()
    scale, _ = scale_of(bench, "")
    try:
        found = dried(mix, shelf_of(bench), scale)
        solids, spread = found.value("solids"), found.uncertainty("solids")
    except (AerodeError, KeyError):
        return ()
    said: list[str] = []
    for number, wet, dry in weighed:
        share = dry / wet
        apart = abs(share - solids)
        unsure = math.hypot(spread / solids, scale.net_uncertainty / dry, scale.net_uncertainty / wet)  # fmt: skip
        if apart > max(_FAR, 2.0 * unsure) * solids:  # two standard uncertainties
            said.append(
                f"coat {number}: {1e3 * dry:.3g} g dry of {1e3 * wet:.3g} g wet is {units.per_cent(share, 3)} solids, "
                f"and {mix.name} has {units.per_cent(solids, 3)}. Thinned, left to dry in the jar, or a weighing that slipped?"
            )
    return tuple(said)


def too_cool(electrode: Electrode, lines: Sequence[HeatLine]) -> tuple[str, ...]:
    """Pressings with a warm plate that softened nothing of what binds.

    Parameters
    ----------
    electrode : Electrode
        With its pressings.
    lines : sequence of HeatLine
        Of its mixes, as `heat_lines` gives them.

    Returns
    -------
    tuple of str
    """
    return tuple(
        _cool(number, press, line, several=len(electrode.press) > 1)
        for number, press in enumerate(electrode.press, 1)
        for line in lines
        if _is_cool(press, line)
    )


def _is_cool(press: Press, line: HeatLine) -> bool:
    plate = press.plate_temperature
    return (
        plate is not None and line.softens is not None and _WARM < plate.value < line.softens - 0.5
    )


def _cool(number: int, press: Press, line: HeatLine, *, several: bool) -> str:
    plate = press.plate_temperature
    assert plate is not None  # `_is_cool` has looked
    assert line.softens is not None
    spread = 2.0 * (plate.standard_uncertainty or 0.0)
    was = "may have been" if plate.value + spread >= line.softens else "was"
    which = f"pressing {number}, " if several else ""
    return (
        f"{which}{plate.value - ZERO_CELSIUS:.3g} °C: the plate {was} too cool to soften what binds {line.of}, which "
        f"begins at about {line.softens - ZERO_CELSIUS:.3g} °C. It evens and packs the coat, and binds no better"
    )
