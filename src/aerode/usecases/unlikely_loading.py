"""What is asked of a weighed piece whose loading is far from the others of its pot."""

from __future__ import annotations

import statistics
from typing import TYPE_CHECKING

from aerode.errors import some_of
from aerode.records.electrodes import Electrode

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["ask_of_loading"]

_FAR = 1.6  # judgement
"""Times the usual loading of a pot: hand-made pieces scatter by less, a wrong weight by more."""
_LOOKED_AT = 60
"""Newest electrodes among which the sister pieces are looked for."""


def ask_of_loading(bench: BenchFile, record: object, before: object = None) -> str:
    """What is asked of an electrode before its weights are stored.

    Parameters
    ----------
    bench : BenchFile
        Open.
    record : Electrode or any other
        Of others nothing is asked.
    before : record, optional
        The state it grew out of: weights that stood there already are not asked about again.

    Returns
    -------
    str
        "" where its loading is like that of the others, or cannot be told.
    """
    if not isinstance(record, Electrode):
        return ""
    own = _loading(record)
    if own is None or (isinstance(before, Electrode) and own == _loading(before)):
        return ""
    pots = {layer.batch for layer in record.layers if layer.batch}
    others = {
        one.name: value
        for one in bench.latest(Electrode, count=_LOOKED_AT)
        if one.piece not in {record.name, record.piece}
        and pots & {layer.batch for layer in one.layers if layer.batch}
        and one.factors.get("loading") == record.factors.get("loading")
        and len(one.layers) == len(record.layers)
        and (value := _loading(one)) is not None
    }
    if not others:
        return ""
    usual = statistics.median(others.values())
    if usual / _FAR <= own <= usual * _FAR:
        return ""
    names = some_of(sorted(others), 3)
    return (
        f"Its coat would be {100.0 * own:.3g} mg/cm², and that of {names} from the same pot is about "
        f"{100.0 * usual:.3g} mg/cm². Are the finished piece, the bare mesh and the area right?"
    )


def _loading(electrode: Electrode) -> float | None:
    """The finished piece less its mesh, per area [kg/m²]; None where one of the three is missing."""
    whole, mesh, area = electrode.mass, electrode.mesh_mass, electrode.wetted_area
    if (
        whole is None
        or mesh is None
        or area is None
        or whole.value <= mesh.value
        or area.value <= 0
    ):
        return None
    return (whole.value - mesh.value) / area.value
