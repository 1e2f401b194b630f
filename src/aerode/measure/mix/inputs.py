"""The uncertain inputs of a mix, each once, and how they carry over to what is computed from them.

An input that several results share (the solids of one solution, the scale) is one variable here,
so correlations need no further thought.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from aerode.quantities import Basis, Quantity
from aerode.stats.propagation import propagate

if TYPE_CHECKING:
    from collections.abc import Callable


__all__ = ["Carried", "Inputs", "carry"]

Floats = NDArray[np.float64]

_STEP = 1e-30  # of the complex step: below any rounding, since nothing is subtracted; numerical
_WEAKEST_FIRST = (Basis.ASSUMED, Basis.PREDICTED, Basis.PUBLISHED, Basis.MEASURED)


@dataclass(slots=True)
class Inputs:
    """A growing list of inputs; adding a key that is there already gives its place again."""

    values: list[float] = field(default_factory=list[float])
    apart: list[float] = field(default_factory=list[float])
    """Standard uncertainty of each that it shares with no other input."""
    alike: list[float] = field(default_factory=list[float])
    """Standard uncertainty of each from the limit of error of the one scale."""
    bases: list[Basis] = field(default_factory=list[Basis])
    places: dict[tuple[str, str], int] = field(default_factory=dict[tuple[str, str], int])

    def add(self, key: tuple[str, str], quantity: Quantity, *, by_scale: float = 0.0) -> int:
        """The place of an input in the list.

        Parameters
        ----------
        key : tuple of str
            What it is, as in ("moisture", "biochar A").
        quantity : Quantity
            With a value.
        by_scale : float
            Standard uncertainty from the limit of error of the scale, same unit.

        Returns
        -------
        int
            Its place.
        """
        if key in self.places:
            return self.places[key]
        if quantity.value is None:
            raise ValueError(f"the input {key} has no value")
        self.places[key] = len(self.values)
        self.values.append(quantity.value)
        self.apart.append(quantity.standard_uncertainty or 0.0)
        self.alike.append(by_scale)
        self.bases.append(quantity.basis)
        return self.places[key]

    @property
    def vector(self) -> Floats:
        """All values, shape (inputs,)."""
        return np.asarray(self.values, dtype=np.float64)

    def covariance(self, *, scale_errs_alike: bool) -> Floats:
        """The covariance of the inputs, shape (inputs, inputs).

        Parameters
        ----------
        scale_errs_alike : bool
            True: the scale is off by the same amount at each weighing. False: by chance each time.
        """
        own = np.diag(np.square(np.asarray(self.apart, dtype=np.float64)))
        limit = np.asarray(self.alike, dtype=np.float64)
        return own + (np.outer(limit, limit) if scale_errs_alike else np.diag(limit**2))


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """Outputs with their covariance, for a scale that errs by chance and for one that errs alike.

    Shapes: `values` (outputs,), covariances (outputs, outputs).
    """

    values: Floats
    jacobian: Floats
    covariance_apart: Floats
    covariance_alike: Floats
    bases: tuple[Basis, ...]

    def uncertainty(self, place: int) -> float:
        """The wider of the two standard uncertainties of an output."""
        wider = max(self.covariance_apart[place, place], self.covariance_alike[place, place])
        return float(np.sqrt(max(wider, 0.0)))


def carry(model: Callable[[NDArray[Any]], NDArray[Any]], inputs: Inputs) -> Carried:
    """Give the outputs of a model with their covariance.

    Parameters
    ----------
    model : callable
        From inputs, shape (inputs,) or (inputs, draws), real or complex, to outputs, shape
        (outputs,) or (outputs, draws), by sums, products and quotients only.
    inputs : Inputs
        Values and uncertainties.

    Returns
    -------
    Carried
        First-order covariance J C Jᵀ for both readings of the scale's limit of error. The variance
        is linear in the share of that limit which is common to all weighings, so the wider of the
        two ends bounds it whatever the share is. The basis of an output is the weakest among the
        inputs that move it.

    Notes
    -----
    Law of propagation, GUM (JCGM 100:2008) 5.2.2. Slopes by the complex step, exact to rounding
    (Squire & Trapp 1998, SIAM Rev. 40:110, cited from memory). Not for a spread so wide that a
    quotient bends within it: there draw (JCGM 101).
    """
    x = inputs.vector
    slopes = _slopes(model, x)
    apart, alike = (
        propagate(
            model, x, inputs.covariance(scale_errs_alike=common),
            derivatives=lambda _: slopes,
        )
        for common in (False, True)
    )  # fmt: skip
    return Carried(
        values=apart.values,
        jacobian=slopes,
        covariance_apart=apart.covariance,
        covariance_alike=alike.covariance,
        bases=tuple(_weakest(row, inputs.bases) for row in slopes),
    )


def _slopes(model: Callable[[NDArray[Any]], NDArray[Any]], x: Floats) -> Floats:
    """∂output/∂input, shape (outputs, inputs)."""
    columns: list[Floats] = []
    for place in range(x.size):
        stepped = x.astype(np.complex128)
        stepped[place] += 1j * _STEP
        columns.append(np.asarray(np.imag(model(stepped)) / _STEP, dtype=np.float64))
    return np.stack(columns, axis=1)


def _weakest(slopes: Floats, bases: list[Basis]) -> Basis:
    moving = [basis for slope, basis in zip(slopes, bases, strict=True) if slope != 0.0]
    return min(moving, key=_WEAKEST_FIRST.index, default=Basis.MEASURED)
