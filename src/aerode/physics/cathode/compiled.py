"""Translates the fast solver to machine code where the optional library is installed.

The folder for translated code is chosen before anything is translated, because the library looks
for one when a function is decorated and fails on a read-only installation: the user's cache folder,
else a temporary one, else none (then translation happens anew in every process).
"""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Callable
from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from aerode.errors import MissingExtraError
from aerode.physics.cathode import (
    kernel_equations,
    kernel_mesh,
    kernel_slopes,
    kernel_walk,
    packed,
)
from aerode.physics.cathode.kernel_mesh import CUT_COUNT, MOST_PANELS, PANEL_ROOM
from aerode.physics.cathode.operators import Mesh
from aerode.physics.cathode.packed import SHAPE, SHAPES, PackedCathode
from aerode.physics.cathode.problem import State
from aerode.physics.cathode.tables import node_tables, share_table

Floats = NDArray[np.float64]

_LETTERS = 16  # numerical: letters of the digest that name the folder, four bits each

__all__ = ["available", "cache_folder", "kernels", "prepare", "slopes", "states", "values"]

_NAMES = {
    kernel_equations: (
        "build",
        "grain_share",
        "assemble",
        "exchange",
        "eliminate",
        "newton",
    ),
    kernel_mesh: (
        "assess",
        "spans",
        "live_end",
        "judge",
        "far_oxygen",
        "carry",
        "next_mesh",
        "new_mesh",
    ),
    kernel_slopes: ("slopes_of_loss",),
    kernel_walk: (
        "begin",
        "base_mesh",
        "even_guess",
        "lift",
        "front",
        "front_mesh",
        "front_guess",
        "predict",
        "remember",
        "walk",
        "walk_many",
    ),
}


def cache_folder() -> Path | None:
    """Give the folder for translated code, or None where no folder can be written.

    Returns
    -------
    Path or None
        The user's cache folder, else a temporary one of this user.

    Examples
    --------
    >>> folder = cache_folder()
    >>> folder is None or folder.is_dir()
    True
    """
    home = os.environ.get("XDG_CACHE_HOME") or os.path.join(os.path.expanduser("~"), ".cache")
    owner = str(os.getuid()) if hasattr(os, "getuid") else os.environ.get("USERNAME", "user")
    for folder in (
        Path(home) / "aerode" / "compiled",
        Path(tempfile.gettempdir()) / f"aerode-{owner}" / "compiled",
    ):
        if _writable(folder):
            return folder
    return None


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=stat.S_IRWXU)
        if hasattr(os, "getuid") and folder.stat().st_uid != os.getuid():
            return False  # somebody else's folder in a shared place: never load code from it
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


@lru_cache(maxsize=1)
def available() -> bool:
    """Tell whether the compiling library is installed and can be loaded.

    Returns
    -------
    bool
        False where only the plain solver can be used.

    Examples
    --------
    >>> isinstance(available(), bool)
    True
    """
    return _library() is not None


@lru_cache(maxsize=1)
def _library() -> Any:
    """The compiling library, or None."""
    try:
        import numba
    except ImportError:
        return None
    return numba


@lru_cache(maxsize=1)
def kernels() -> dict[str, Callable[..., Any]]:
    """Give the translated functions of the fast solver by name.

    Returns
    -------
    dict of str to callable
        At least `walk` and `walk_many`.

    Raises
    ------
    MissingExtraError
        If the compiling library is not installed.

    Examples
    --------
    >>> not available() or callable(kernels()["walk"])
    True
    """
    library = _library()
    if library is None:
        raise MissingExtraError(
            "the compiled solver needs an optional library",
            next_step="pip install 'aerode[fast]', or leave the route at 'best'",
        )
    folder = cache_folder()
    if folder is None:
        return translate(library, cached=False)
    before = library.config.CACHE_DIR
    library.config.CACHE_DIR = str(folder / _digest())
    try:
        return translate(library, cached=True)
    finally:
        library.config.CACHE_DIR = before


def _digest() -> str:
    """Names the code by its text: the library itself sees no change in a function that is called."""
    digest = sha256()
    for module in (*_NAMES, packed):
        digest.update(Path(str(module.__file__)).read_bytes())
    return digest.hexdigest()[:_LETTERS]


def prepare() -> bool:
    """Translate the fast solver now, so that the first curve does not wait half a minute for it.

    Returns
    -------
    bool
        False where the compiling library is not installed and there is nothing to do.

    Examples
    --------
    >>> prepare() == available()
    True
    """
    if not available():
        return False
    # numerical: any electrode will do, only its shape is compiled for
    steps = np.array([[1e-3, 0.5, 0.02, 1e-3, -9.0, -1e3, 0.0, 1e4, 1.0]])
    # numerical
    whole = np.array([20.0, 0.0, 0.2, 0.0, 8.5, 0.01, 0.0, 0.0, 0.0])
    values(PackedCathode(steps, whole), np.array([1.0]), 1e-7)  # numerical
    walk_many = kernels()["walk_many"]
    tables, offsets = node_tables()
    shares = np.array([share_table(shape) for shape in SHAPES])
    walk_many(
        # numerical
        steps[None].copy(), whole[None].copy(), np.ones((1, 1)), 1e-7, tables, offsets, shares,
        0, 1, np.empty((1, 1)), np.empty((1, 1)), np.ones(1, dtype=np.int64),
        np.empty((0, 0, kernel_slopes.SLOPES)),
    )  # fmt: skip
    return True


def translate(library: Any, *, cached: bool) -> dict[str, Callable[..., Any]]:
    """Translate the loops in order, each seeing the translated ones before it.

    Parameters
    ----------
    library : module
        The compiling library.
    cached : bool
        Whether to keep the machine code on disk.

    Returns
    -------
    dict of str to callable
        Translated functions by name. The modules themselves keep their plain ones.

    Examples
    --------
    See `kernels`.
    """
    made: dict[str, Callable[..., Any]] = {}
    for module, names in _NAMES.items():
        # Copies whose globals hold the translated functions, so that calls between them find those.
        scope = vars(module) | made
        for name in names:
            plain = getattr(module, name)
            copy = type(plain)(plain.__code__, scope, name, plain.__defaults__, plain.__closure__)
            copy.__module__, copy.__qualname__ = module.__name__, name
            translated = library.njit(copy, cache=cached, nogil=True, error_model="numpy")
            made[name] = scope[name] = translated
    return made


def values(
    cathode: PackedCathode, currents: Floats, tolerance: float
) -> tuple[Floats, Floats, int]:
    """Give losses and error estimates at rising currents from the translated solver.

    Parameters
    ----------
    cathode : PackedCathode
        A cathode whose oxygen comes from one face.
    currents : ndarray, shape (K,)
        Rising [A/m²].
    tolerance : float
        Largest estimated error [V].

    Returns
    -------
    tuple of ndarray, ndarray, int
        Losses and estimates, shape (K,) each, valid as far as the count that follows [V].

    Raises
    ------
    MissingExtraError
        If the compiling library is not installed.

    Examples
    --------
    See `aerode.physics.cathode.polarization`.
    """
    losses, errors = np.empty(currents.size), np.empty(currents.size)
    found = _walk(cathode, currents, tolerance, losses, errors, _NOTHING, _NO_SLOPES)
    return losses, errors, found


def slopes(
    cathode: PackedCathode, currents: Floats, tolerance: float
) -> tuple[Floats, Floats, Floats, int]:
    """Give losses, error estimates and derivatives of the loss by the packed numbers.

    Parameters
    ----------
    cathode : PackedCathode
        A cathode whose oxygen comes from one face.
    currents : ndarray, shape (K,)
        Rising [A/m²].
    tolerance : float
        Largest estimated error [V].

    Returns
    -------
    tuple of ndarray, ndarray, ndarray, int
        Losses and estimates, shape (K,) each [V], derivatives, shape (K, 13), see
        `kernel_slopes`, and for how many currents they are valid.

    Raises
    ------
    MissingExtraError
        If the compiling library is not installed.

    Examples
    --------
    See `aerode.physics.cathode.sensitivities`.
    """
    losses, errors = np.empty(currents.size), np.empty(currents.size)
    by = np.empty((currents.size, kernel_slopes.SLOPES))
    found = _walk(cathode, currents, tolerance, losses, errors, _NOTHING, by)
    return losses, errors, by, found


def states(cathode: PackedCathode, currents: Floats, tolerance: float) -> tuple[State | None, ...]:
    """Give the solutions at rising currents from the translated solver, as `plain.trace` does.

    Parameters
    ----------
    cathode : PackedCathode
        A cathode whose oxygen comes from one face.
    currents : ndarray, shape (K,)
        Rising [A/m²].
    tolerance : float
        Largest estimated error [V].

    Returns
    -------
    tuple of State or None
        One per current; after the first None all are None.

    Raises
    ------
    MissingExtraError
        If the compiling library is not installed.

    Examples
    --------
    See `aerode.physics.cathode.operating_point`.
    """
    count = currents.size
    room = MOST_PANELS * CUT_COUNT + 2
    kept = (
        np.empty((count, 3, PANEL_ROOM)),
        np.empty((count, room)),
        np.empty((count, 2), dtype=np.int64),
    )
    losses, errors = np.empty(count), np.empty(count)
    found = _walk(cathode, currents, tolerance, losses, errors, kept, _NO_SLOPES)
    made: list[State | None] = [None] * count
    for k in range(found):
        panels, nodes = (int(v) for v in kept[2][k])
        width, step, live = kept[0][k, :, :panels].copy()
        mesh = Mesh(width, step.astype(np.int64), live != 0.0, nodes)
        made[k] = State(mesh, kept[1][k, : mesh.size + 2].copy(), float(currents[k]))
    return tuple(made)


_NO_SLOPES = np.empty((0, kernel_slopes.SLOPES))
_NOTHING = (np.empty((0, 3, 1)), np.empty((0, 1)), np.empty((0, 2), dtype=np.int64))


def _walk(
    cathode: PackedCathode,
    currents: Floats,
    tolerance: float,
    losses: Floats,
    errors: Floats,
    kept: tuple[Floats, Floats, NDArray[np.int64]],
    by: Floats,
) -> int:
    """The translated walk, with little room first and all of it where that is too small."""
    walk = kernels()["walk"]
    tables, offsets = node_tables()
    shares = share_table(SHAPES[int(cathode.whole[SHAPE])])
    # Copies: read-only arrays would be another type and be translated once more.
    steps, whole, currents = cathode.steps.copy(), cathode.whole.copy(), np.array(currents)
    small = 24 * steps.shape[0]
    found = -1
    for room in (small, MOST_PANELS * CUT_COUNT):
        found = walk(
            steps,
            whole,
            currents,
            tolerance,
            tables,
            offsets,
            shares,
            room,
            losses,
            errors,
            *kept,
            by,
        )
        if found >= 0:
            break
    return int(found)
