"""The joint model: recipes, builds, run order and control readings in one fit on logarithms.

    log value = level of its recipe + build + drift × place in the session + session
                (+ ageing × place, for readings of the control) + measurement errors

The build spread is unknown and estimated. The rest are errors of known size: what the meter, the
resistors, the areas and the curve leave open (handed in as one covariance), a drift and a session
shift that may be anything within a wide band, and the ageing of the control itself. Readings of the
control carry the drift; nothing is subtracted beforehand.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from aerode.errors import CannotTellError, RangeError
from aerode.quantities import Reason
from aerode.stats.comparison import (
    LinearFit,
    generalised_least_squares,
    generalised_least_squares_with_build_variance,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

__all__ = [
    "Disturbance",
    "JointFit",
    "Observations",
    "Priors",
    "disturbances",
    "fit_design",
    "fit_pieces",
    "fit_recipes",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Priors:
    """How large the disturbances may be that the readings alone may not tell; standard deviations.

    `control_ageing` is the one that matters where a control was read; the other two are wide, so
    that the readings decide. All are judgements, printed with the answer.
    """

    drift: float = 0.05  # judgement
    """Per place in the order [1]."""
    control_ageing: float = 0.01  # judgement
    """Of the control itself, per place in the order [1]."""
    session: float = 0.10  # judgement
    """Between sessions [1]."""
    ageing_measured: bool = False
    """Whether the control's ageing is what earlier days have shown of it, and no judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Observations:
    """What was read: n logarithms with their labels and the covariance of their known errors.

    Parameters
    ----------
    value : array (n,) [1]
        Natural logarithms of the fair value of each run.
    known : array (n, n) [1]
        Covariance of their measurement errors, shared ones included.
    electrode : tuple of str, n
        The electrode (in one state of its life) of each run.
    piece : tuple of str, n
        The piece of matter: a washed electrode is the same piece.
    recipe : tuple of str, n
    order : array (n,) [1]
        Place in its session, the control's runs counted.
    session : tuple of str, n
    control : tuple of bool, n
        Whether it is a reading of the control.
    """

    value: NDArray[np.float64]
    known: NDArray[np.float64]
    electrode: tuple[str, ...]
    piece: tuple[str, ...]
    recipe: tuple[str, ...]
    order: NDArray[np.float64]
    session: tuple[str, ...]
    control: tuple[bool, ...]

    def __post_init__(self) -> None:
        n = self.value.size
        labels = (self.electrode, self.piece, self.recipe, self.session, self.control)
        if (
            self.known.shape != (n, n)
            or self.order.shape != (n,)
            or {len(x) for x in labels} != {n}
        ):
            raise RangeError(
                "values, covariance and labels have different lengths", where="Observations"
            )

    @property
    def size(self) -> int:
        """Number of runs n."""
        return self.value.size

    def keep(self, chosen: NDArray[np.bool_]) -> Observations:
        """Only the chosen runs."""
        at = np.flatnonzero(chosen)

        def pick(labels: Sequence[str]) -> tuple[str, ...]:
            return tuple(labels[int(i)] for i in at)

        return Observations(
            value=self.value[at],
            known=self.known[np.ix_(at, at)],
            electrode=pick(self.electrode),
            piece=pick(self.piece),
            recipe=pick(self.recipe),
            order=self.order[at],
            session=pick(self.session),
            control=tuple(self.control[int(i)] for i in at),
        )

    def moved(self, shift: NDArray[np.float64]) -> Observations:
        """The same runs with every logarithm moved by `shift`."""
        return replace(self, value=self.value + shift)


@dataclass(frozen=True, slots=True)
class Disturbance:
    """One error of known size that several runs share: its name, its column, its standard deviation."""

    name: str
    column: NDArray[np.float64]
    standard_deviation: float


@dataclass(frozen=True, slots=True)
class JointFit:
    """The fitted levels, in the order of `names`, and what the readings say of the disturbances."""

    names: tuple[str, ...]
    fit: LinearFit
    covariance: NDArray[np.float64] = field(repr=False)
    design: NDArray[np.float64] = field(repr=False)
    value: NDArray[np.float64] = field(repr=False)

    def weights(self, plus: str, minus: str) -> NDArray[np.float64]:
        """Weights of the levels for "plus over minus"."""
        c = np.zeros(len(self.names))
        c[self.names.index(plus)] += 1.0
        c[self.names.index(minus)] -= 1.0
        return c

    def told_of(self, disturbance: Disturbance) -> tuple[float, float]:
        """The most likely size of a disturbance and its standard deviation, given the readings.

        Notes
        -----
        Best linear unbiased prediction (Henderson, Biometrics 31 (1975) 423): tau^2 z'P y, with
        variance tau^2 - tau^4 z'P z and P the projection that takes the levels out.
        """
        inverse_x = np.linalg.solve(self.covariance, self.design)
        inverse_z = np.linalg.solve(self.covariance, disturbance.column)
        levels = np.linalg.solve(self.design.T @ inverse_x, inverse_x.T @ disturbance.column)
        projected = inverse_z - inverse_x @ levels
        square = disturbance.standard_deviation**2
        left = square - square**2 * float(disturbance.column @ projected)
        return square * float(projected @ self.value), float(np.sqrt(max(left, 0.0)))


def disturbances(seen: Observations, priors: Priors) -> tuple[Disturbance, ...]:
    """The drift of each session, the shift between sessions, and the ageing of each control.

    Parameters
    ----------
    seen : Observations
    priors : Priors

    Returns
    -------
    tuple of Disturbance
        A drift where a session has more than one place; a shift where there is more than one
        session; an ageing for each control piece that was read more than once.
    """
    sessions = list(dict.fromkeys(seen.session))
    label = np.array(seen.session)
    found: list[Disturbance] = []
    for session in sessions:
        here = label == session
        column = np.where(here, seen.order - seen.order[here].mean(), 0.0)
        if np.ptp(column[here]) > 0:
            found.append(Disturbance(f"drift in {session}", column, priors.drift))
        if len(sessions) > 1:
            found.append(Disturbance(f"level of {session}", here.astype(float), priors.session))
    return tuple(found) + _ageing(seen, sessions, priors)


def _ageing(seen: Observations, sessions: list[str], priors: Priors) -> tuple[Disturbance, ...]:
    """Ageing counts from the first reading of the control, in places of the order, over all sessions."""
    start, place = 0.0, np.zeros(seen.size)
    for session in sessions:
        here = np.array([s == session for s in seen.session])
        place[here] = start + seen.order[here] - seen.order[here].min()
        start = float(place[here].max()) + 1.0
    found: list[Disturbance] = []
    for piece in dict.fromkeys(p for p, c in zip(seen.piece, seen.control, strict=True) if c):
        mine = np.array([p == piece for p in seen.piece])
        if mine.sum() > 1:
            column = np.where(mine, place - place[mine].min(), 0.0)
            found.append(Disturbance(f"ageing of {piece}", column, priors.control_ageing))
    return tuple(found)


def _covariance(seen: Observations, shared: Sequence[Disturbance]) -> NDArray[np.float64]:
    total = seen.known.copy()
    for part in shared:
        scaled = part.column * part.standard_deviation
        total += np.outer(scaled, scaled)
    return total


def _levels(labels: Sequence[str]) -> tuple[tuple[str, ...], NDArray[np.float64]]:
    names = tuple(dict.fromkeys(labels))
    design = np.array([[float(label == name) for name in names] for label in labels])
    return names, design


def fit_pieces(seen: Observations, priors: Priors | None = None) -> JointFit:
    """The level of every electrode as it is: measurement errors alone, no spread between builds.

    It can show that these pieces differ; it never shows that their recipes do.

    Parameters
    ----------
    seen : Observations
    priors : Priors, optional

    Returns
    -------
    JointFit
        One level for each electrode.

    Raises
    ------
    CannotTellError
        If a run has no error of its own.
    """
    names, design = _levels(seen.electrode)
    covariance = _covariance(seen, disturbances(seen, priors or Priors()))
    fit = generalised_least_squares(seen.value, design, covariance)
    return JointFit(names, fit, covariance, design, seen.value)


def fit_recipes(
    seen: Observations,
    priors: Priors | None = None,
    *,
    past_spread: tuple[float, float] = (0.0, 0.0),
) -> JointFit:
    """The level of every recipe, with the spread between separately built pieces estimated.

    Parameters
    ----------
    seen : Observations
        Later states of one piece left out: they are no replicates.
    priors : Priors, optional
    past_spread : (float, float) [1, 1]
        Standard deviation between builds from earlier work on this bench, and its degrees of
        freedom; (0, 0) is none.

    Returns
    -------
    JointFit
        One level for each recipe (a control that is no compared recipe has one of its own).

    Raises
    ------
    CannotTellError
        If no recipe has two builds and there is no past spread.
    """
    built = {(recipe, piece) for recipe, piece in zip(seen.recipe, seen.piece, strict=True)}
    if len(built) == len(set(seen.recipe)) and past_spread[1] <= 0:
        raise CannotTellError(
            str(Reason.TOO_FEW_BUILDS),
            where="builds",
            next_step="build one more of a recipe you have",
        )
    names, design = _levels(seen.recipe)
    return fit_design(seen, names, design, priors, past_spread=past_spread)


def fit_design(
    seen: Observations,
    names: tuple[str, ...],
    design: NDArray[np.float64],
    priors: Priors | None = None,
    *,
    past_spread: tuple[float, float] = (0.0, 0.0),
) -> JointFit:
    """The same for any columns: what each is worth, with the spread between builds estimated.

    Parameters
    ----------
    seen : Observations
    names : tuple of p str
        A name for each column.
    design : array (n, p) [1]
    priors, past_spread
        As for `fit_recipes`.

    Returns
    -------
    JointFit

    Raises
    ------
    CannotTellError
        If there is nothing to tell the spread between builds from.

    Notes
    -----
    Pieces first, then recipes: with a known covariance the levels of the pieces and their
    covariance hold all that the readings say of recipes and of the spread between builds, so that
    nothing is lost, and repeats of one piece cannot pass for builds. A design must be the same for
    all readings of a piece.
    """
    shared = _covariance(seen, disturbances(seen, priors or Priors()))
    pieces, piece_of = _levels(seen.piece)
    as_they_are = generalised_least_squares(seen.value, piece_of, shared)
    first = [seen.piece.index(piece) for piece in pieces]
    fit = generalised_least_squares_with_build_variance(
        as_they_are.coefficients,
        design[first],
        as_they_are.covariance,
        np.arange(len(pieces)),
        past_build_variance=past_spread[0] ** 2,
        past_degrees_of_freedom=past_spread[1],
    )
    covariance = shared + fit.build_variance * piece_of @ piece_of.T
    return JointFit(names, fit, covariance, design, seen.value)
