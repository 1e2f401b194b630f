"""Curves of many cathodes at once, for inference and maps: arrays in, arrays out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from aerode.errors import RangeError
from aerode.physics.cathode import compiled, kernel_slopes
from aerode.physics.cathode.limit import limiting_current
from aerode.physics.cathode.packed import (
    AIR,
    AIR_RESISTANCE,
    BEYOND,
    CHARGE,
    ELECTRONIC,
    FILM,
    INVERSE_SLOPE,
    IONIC,
    LIQUID,
    LIQUID_RESISTANCE,
    LOG_GRAIN,
    LOG_RATE,
    NO_GRAIN,
    OXYGEN,
    REFERENCE,
    REVERSE,
    SHAPE,
    SHAPES,
    STEP_COLUMNS,
    SUPPLIES,
    SUPPLY,
    THICKNESS,
    WHOLE_ENTRIES,
)
from aerode.physics.cathode.parameters import BOUNDS, MAY_BE_INFINITE, ROUNDED, CathodeParameters
from aerode.physics.cathode.solve import TOLERANCE, polarization
from aerode.physics.cathode.tables import node_tables, share_table
from aerode.physics.constants import FARADAY
from aerode.physics.effectiveness import characteristic_length
from aerode.quantities import Reason

__all__ = ["CurveBatch", "limits_batch", "polarization_batch"]

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveBatch:
    """Curves of many cathodes; a gap is never silent.

    Parameters
    ----------
    current_density : ndarray, shape (M, K)
        Per geometric area [A/m²].
    loss : ndarray, shape (M, K)
        Voltage lost between collector and electrolyte face; NaN exactly where `reason` has one [V].
    error_estimate : ndarray, shape (M, K)
        Estimated error of `loss` from the calculation alone [V].
    limiting_current : ndarray, shape (M,)
        What the oxygen supply can carry at most; may be infinite [A/m²].

    Examples
    --------
    >>> batch = CurveBatch(current_density=np.array([[1.0]]), loss=np.array([[0.3]]),
    ...     error_estimate=np.array([[1e-9]]), limiting_current=np.array([50.0]))
    >>> batch.reason(0, 0) is None
    True
    """

    current_density: Floats
    loss: Floats
    error_estimate: Floats
    limiting_current: Floats

    @property
    def solved(self) -> NDArray[np.bool_]:
        """Where there is a number, shape (M, K)."""
        return np.isfinite(self.loss)

    def reason(self, cathode: int, point: int) -> Reason | None:
        """Give the reason for a gap, or None where there is a number.

        Parameters
        ----------
        cathode, point : int
            Which curve and which of its currents.

        Returns
        -------
        Reason or None
            Beyond the limit, or not settled.

        Examples
        --------
        See the class.
        """
        if np.isfinite(self.loss[cathode, point]):
            return None
        beyond = self.current_density[cathode, point] >= self.limiting_current[cathode]
        return Reason.BEYOND_LIMIT if bool(beyond) else Reason.NOT_CONVERGED


def polarization_batch(
    parameters: CathodeParameters,
    changes: Mapping[str, ArrayLike],
    current_densities: ArrayLike,
    *,
    tolerance: float = TOLERANCE,
    workers: int = 1,
) -> CurveBatch:
    """Give the polarization curves of many variants of one cathode.

    Parameters
    ----------
    parameters : CathodeParameters
        The cathode all variants start from; without sublayers.
    changes : mapping of str to array_like, shape (M,)
        Numeric fields of `CathodeParameters` that differ, all of one length.
    current_densities : array_like, shape (K,) or (M, K)
        More than zero, rising along the last axis [A/m²].
    tolerance : float
        Largest estimated error of a loss [V].
    workers : int
        Threads; the compiled solver runs without the interpreter's lock.

    Returns
    -------
    CurveBatch
        One row per variant.

    Raises
    ------
    RangeError
        If nothing changes, lengths differ, a field is not numeric, or currents do not rise.
    RecordError
        If a variant is not possible.

    Notes
    -----
    The same model and numbers as `polarization`, which is used where the compiled solver is not at
    hand, at its speed.

    Examples
    --------
    >>> cathode = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.0265,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.22684,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> batch = polarization_batch(cathode, {"exchange_current": [50.0, 500.0]}, [10.0, 100.0])
    >>> batch.loss.round(4)
    array([[0.3204, 0.4477],
           [0.202 , 0.3294]])
    """
    columns, count = _columns(parameters, changes)
    currents = _currents(current_densities, count)
    packed = pack_variants(parameters, columns, count)
    if packed is None or not compiled.available() or int(packed[1][0, SUPPLY]) == 2:
        return _one_by_one(parameters, columns, currents, tolerance)
    steps, whole = packed
    limits = _limits(steps, whole)
    losses, errors = np.full(currents.shape, np.nan), np.full(currents.shape, np.nan)
    found = (currents < limits[:, None]).sum(axis=1).astype(np.int64)
    _translated(steps, whole, currents, tolerance, workers, losses, errors, found)
    return CurveBatch(
        current_density=currents, loss=losses, error_estimate=errors, limiting_current=limits
    )


def limits_batch(parameters: CathodeParameters, changes: Mapping[str, ArrayLike]) -> Floats:
    """Give the limiting currents of many variants of one cathode, without their curves.

    Parameters
    ----------
    parameters : CathodeParameters
        The cathode all variants start from; without sublayers.
    changes : mapping of str to array_like, shape (M,)
        Numeric fields of `CathodeParameters` that differ, all of one length.

    Returns
    -------
    ndarray, shape (M,) [A/m²]
        May be infinite.

    Raises
    ------
    RangeError
        If nothing changes, lengths differ, or a field is not numeric.
    RecordError
        If a variant is not possible.

    Examples
    --------
    >>> from aerode.physics.cathode import CathodeParameters, limiting_current
    >>> cathode = CathodeParameters(
    ...     thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0,
    ...     gas_diffusivity=2e-6, oxygen_air=8.56, air_film=0.0, henry_liquid_per_gas=0.0265,
    ...     agglomerate_radius=2e-6, agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4,
    ...     film_transfer=50.0, exchange_current=50.0, reference_oxygen=0.22684,
    ...     tafel_slope=0.05138558, electrons=4.0)
    >>> bool(np.isclose(limits_batch(cathode, {"electrons": [4.0]})[0], limiting_current(cathode)))
    True
    """
    columns, count = _columns(parameters, changes)
    packed = pack_variants(parameters, columns, count)
    if packed is None or int(packed[1][0, SUPPLY]) == 2:
        return np.array([limiting_current(_variant(parameters, columns, m)) for m in range(count)])
    return _limits(*packed)


def _one_by_one(
    parameters: CathodeParameters,
    columns: dict[str, Floats],
    currents: Floats,
    tolerance: float,
) -> CurveBatch:
    """The same by `polarization`, one variant after the other."""
    curves = [
        polarization(_variant(parameters, columns, m), row, tolerance=tolerance)
        for m, row in enumerate(currents)
    ]
    return CurveBatch(
        current_density=currents,
        loss=np.array([curve.loss for curve in curves]),
        error_estimate=np.array([curve.error_estimate for curve in curves]),
        limiting_current=np.array([curve.limiting_current for curve in curves]),
    )


def _variant(
    parameters: CathodeParameters, columns: dict[str, Floats], m: int
) -> CathodeParameters:
    return replace(parameters, **{name: float(column[m]) for name, column in columns.items()})


def pack_variants(
    parameters: CathodeParameters, columns: dict[str, Floats], count: int
) -> tuple[Floats, Floats] | None:
    """Give the packed arrays of all variants at once; the twin of `packed.pack` for columns.

    Parameters
    ----------
    parameters : CathodeParameters
        The cathode all variants start from; without sublayers.
    columns : dict of str to ndarray, shape (M,)
        Fields that differ.
    count : int
        M.

    Returns
    -------
    tuple of ndarray, or None
        Steps, shape (M, S, 9), and whole, shape (M, 9); None where the collector lies inside some
        variants and at a face of others.

    Examples
    --------
    See `polarization_batch`.
    """

    def of(name: str) -> Floats:
        values = columns.get(name)
        return np.full(count, getattr(parameters, name)) if values is None else values

    charge = of("electrons") * FARADAY
    thickness, collector = of("thickness"), of("collector_depth")
    length = characteristic_length(parameters.agglomerate_shape, 1.0) * of("agglomerate_radius")
    wet = of("agglomerate_fraction") * of("agglomerate_diffusivity")
    row = np.empty((count, STEP_COLUMNS))
    row[:, THICKNESS] = thickness
    row[:, IONIC] = 1.0 / of("ionic_conductivity")
    row[:, ELECTRONIC] = 1.0 / of("electronic_conductivity")
    row[:, OXYGEN] = 1.0 / (charge * of("gas_diffusivity"))
    row[:, LOG_RATE] = np.log(of("exchange_current") / (charge * of("reference_oxygen")))
    grain = np.where(length > 0.0, length, 1.0) ** 2 / wet
    row[:, LOG_GRAIN] = np.where(length > 0.0, np.log(grain), NO_GRAIN)
    row[:, FILM] = 1.0 / of("film_transfer")
    row[:, CHARGE] = charge * of("henry_liquid_per_gas")
    margin = 1e-9 * thickness
    front, back = collector <= margin, collector >= thickness - margin
    row[:, BEYOND] = np.where(front, 1.0, 0.0)
    whole = _whole_of(parameters, of, charge)
    if bool((front | back).all()):
        return row[:, None, :], whole
    if bool((front | back).any()):
        return None
    steps = np.repeat(row[:, None, :], 2, axis=1)
    steps[:, 0, THICKNESS], steps[:, 1, THICKNESS] = collector, thickness - collector
    steps[:, 1, BEYOND] = 1.0
    return steps, whole


def _whole_of(parameters: CathodeParameters, of: Callable[[str], Floats], charge: Floats) -> Floats:
    """What belongs to each variant as a whole, shape (M, 9)."""
    henry = of("henry_liquid_per_gas")
    air = of("air_film") / of("air_diffusivity")
    air = air + of("backing_thickness") / of("backing_diffusivity")
    whole = np.empty((charge.size, WHOLE_ENTRIES))
    whole[:, INVERSE_SLOPE] = 1.0 / of("tafel_slope")
    whole[:, REVERSE] = 0.0
    if parameters.back_slope is not None:
        whole[:, REVERSE] = 1.0 / of("tafel_slope") + 1.0 / of("back_slope")
    whole[:, REFERENCE] = charge * of("reference_oxygen")
    whole[:, SUPPLY] = float(SUPPLIES.index(parameters.oxygen_supply))
    whole[:, AIR], whole[:, AIR_RESISTANCE] = of("oxygen_air"), air / charge
    whole[:, LIQUID] = of("oxygen_electrolyte") / henry
    liquid = of("electrolyte_film") / (of("dissolved_diffusivity") * henry)
    whole[:, LIQUID_RESISTANCE] = liquid / charge
    whole[:, SHAPE] = float(SHAPES.index(parameters.agglomerate_shape))
    return whole


def _limits(steps: Floats, whole: Floats) -> Floats:
    """The limiting currents of uniform variants; the twin of `limit.packed_limiting_current`."""
    liquid = whole[:, SUPPLY] == 1.0
    gas = np.where(liquid, whole[:, LIQUID], whole[:, AIR])
    outside = np.where(liquid, whole[:, LIQUID_RESISTANCE], whole[:, AIR_RESISTANCE])
    row, thickness = steps[:, 0, :], steps[:, :, THICKNESS].sum(axis=1)
    with np.errstate(divide="ignore"):
        decay = np.sqrt(row[:, CHARGE] / row[:, FILM] * row[:, OXYGEN])
        inside = row[:, OXYGEN] / (decay * np.tanh(decay * thickness))
        limit: Floats = gas / (outside + inside)
    return limit


def _translated(
    steps: Floats,
    whole: Floats,
    currents: Floats,
    tolerance: float,
    workers: int,
    losses: Floats,
    errors: Floats,
    found: Ints,
) -> None:
    """Fill losses and errors by the translated solver, the variants shared out to threads."""
    walk_many = compiled.kernels()["walk_many"]
    shares = np.array([share_table(shape) for shape in SHAPES])
    tables, offsets = node_tables()
    slopes = np.empty((0, 0, kernel_slopes.SLOPES))
    parts, count = max(1, workers), whole.shape[0]
    edges = [count * part // parts for part in range(parts + 1)]

    def share(part: int) -> None:
        walk_many(
            steps, whole, currents, tolerance, tables, offsets, shares,
            edges[part], edges[part + 1], losses, errors, found, slopes,
        )  # fmt: skip

    if parts == 1:
        share(0)
    else:
        with ThreadPoolExecutor(parts) as pool:
            list(pool.map(share, range(parts)))
    for m in range(count):
        losses[m, found[m] :] = np.nan
        errors[m, found[m] :] = np.nan


def _columns(
    parameters: CathodeParameters, changes: Mapping[str, ArrayLike]
) -> tuple[dict[str, Floats], int]:
    """The changes as columns of one length, every value within its bounds."""
    if parameters.sublayers:
        raise RangeError("no batch of stepped cathodes", where="parameters", allowed="uniform")
    columns = {name: np.atleast_1d(np.asarray(v, dtype=np.float64)) for name, v in changes.items()}
    lengths = {column.size for column in columns.values()}
    if not columns or not set(columns) <= set(BOUNDS) or len(lengths) != 1:
        raise RangeError(
            "the changes are not numeric fields of one common length",
            where="changes",
            allowed=", ".join(sorted(BOUNDS)),
        )
    count = lengths.pop()
    bad = np.zeros(count, dtype=np.bool_)
    for name, column in columns.items():
        low, closed, high = BOUNDS[name]
        inside = (column >= low) if closed else (column > low)
        bad |= ~(inside & (column <= high) & (np.isfinite(column) | (name in MAY_BE_INFINITE)))
    if {"collector_depth", "thickness"} & set(columns):
        depth = columns.get("collector_depth", np.full(count, parameters.collector_depth))
        bad |= depth > columns.get("thickness", np.full(count, parameters.thickness)) * ROUNDED
    for m in np.flatnonzero(bad):
        _variant(parameters, columns, int(m))  # raises, and lists what is wrong
    if "back_slope" in columns and parameters.back_slope is None:
        raise RangeError(
            "no reverse reaction to change", where="changes", allowed="a cathode with a back_slope"
        )
    return columns, count


def _currents(current_densities: ArrayLike, count: int) -> Floats:
    currents = np.asarray(current_densities, dtype=np.float64)
    if currents.ndim == 1:
        currents = np.broadcast_to(currents, (count, currents.size))
    currents = np.array(currents, order="C")  # a writable copy: see `compiled`
    good = currents.ndim == 2 and currents.shape[0] == count and currents.shape[1] > 0
    good = good and bool(np.isfinite(currents).all()) and bool((currents > 0.0).all())
    if not good or bool((np.diff(currents, axis=1) < 0.0).any()):
        raise RangeError(
            "the currents do not rise from more than zero",
            where="current_densities",
            allowed="finite, rising, more than 0 A/m², one list or one per variant",
        )
    return currents
