"""A measured impedance spectrum, and whether it hangs together before anything is fitted to it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from aerode import units
from aerode.errors import CannotTellError, RangeError
from aerode.physics.impedance import Complexes
from aerode.quantities import Reason

__all__ = ["KramersKronig", "Spectrum", "kramers_kronig", "same_at_both_amplitudes"]

Floats = NDArray[np.float64]

_FEWEST = 6  # frequencies
_FLOOR = 1e-6  # relative scatter below which a spectrum is called exact [1]; numerical


@dataclass(frozen=True, slots=True, kw_only=True)
class Spectrum:
    """A measured spectrum per wetted geometric area.

    Parameters
    ----------
    frequency : array (n,)
        Above zero, no two the same [Hz].
    impedance : array (n,) of complex
        Negative imaginary part where capacitive [ohm m^2].

    Raises
    ------
    RangeError
        Shapes that do not agree, or values that are not finite.
    CannotTellError
        Fewer than six frequencies.

    Examples
    --------
    >>> f = np.geomspace(0.1, 1e4, 10)
    >>> Spectrum(frequency=f, impedance=1e-4 + 1e-3 / (1 + 1j * f)).frequency.size
    10
    """

    frequency: Floats
    impedance: Complexes

    def __post_init__(self) -> None:
        f = np.asarray(self.frequency, dtype=np.float64)
        z = np.asarray(self.impedance, dtype=np.complex128)
        if f.ndim != 1 or f.shape != z.shape:
            raise RangeError("not one impedance for each frequency", where="spectrum")
        if not (np.isfinite(f).all() and np.isfinite(z).all() and bool((f > 0.0).all())):
            raise RangeError(
                "a value is not finite, or a frequency not above zero", where="spectrum"
            )
        if bool((np.abs(z) == 0.0).any()) or np.unique(f).size != f.size:
            raise RangeError("an impedance of zero, or a frequency twice", where="spectrum")
        if f.size < _FEWEST:
            raise CannotTellError(
                str(Reason.TOO_FEW_POINTS), where=f"{f.size} frequencies, {_FEWEST} needed"
            )
        order = np.argsort(-f)
        object.__setattr__(self, "frequency", f[order])
        object.__setattr__(self, "impedance", z[order])


@dataclass(frozen=True, slots=True, kw_only=True)
class KramersKronig:
    """Whether real and imaginary part can belong to one steady, linear, causal thing.

    Parameters
    ----------
    agrees : bool
        No residual beyond the limit that was set.
    residual_real, residual_imaginary : array (n,)
        Over |Z|, from high to low frequency [1].
    worst : float
        Largest of them without its sign [1].
    worst_frequency : float
        Where it stands [Hz].
    elements : int
        Time constants used.
    words : str
        What it means and what to do.
    """

    agrees: bool
    residual_real: Floats
    residual_imaginary: Floats
    worst: float
    worst_frequency: float
    elements: int
    words: str


def kramers_kronig(spectrum: Spectrum, *, limit: float = 0.01) -> KramersKronig:  # judgement
    """Whether a spectrum hangs together, before any model is fitted to it.

    Parameters
    ----------
    spectrum : Spectrum
        Readings [ohm m^2].
    limit : float [1]
        Residual over |Z| that is still taken for scatter.

    Returns
    -------
    KramersKronig

    Raises
    ------
    RangeError
        A limit not between 0 and 1.

    Notes
    -----
    A row of resistor-capacitor pairs of fixed, evenly spread time constants, with a resistor, a
    capacitor and an inductor in line, obeys the Kramers-Kronig relations for any values, so a
    steady linear thing can be fitted by it and a drifting one cannot (Boukamp 1995, J.
    Electrochem. Soc. 142:1885; from memory, status: unverified). As many pairs are taken as
    Akaike's criterion pays for, so scatter is not fitted away. A too large amplitude can pass this test: see
    `same_at_both_amplitudes`. A drift slow against the whole sweep can pass it too.

    Examples
    --------
    >>> f = np.geomspace(0.1, 1e4, 30)
    >>> kramers_kronig(Spectrum(frequency=f, impedance=1e-4 + 1e-3 / (1 + 1j * f))).agrees
    True
    """
    if not 0.0 < limit < 1.0:
        raise RangeError(f"a limit of {limit:g}", where="limit", allowed="between 0 and 1")
    f, z = spectrum.frequency, spectrum.impedance
    residual, elements = _smallest_row(f, z)
    real, imaginary = residual.real / np.abs(z), residual.imag / np.abs(z)
    size = np.maximum(np.abs(real), np.abs(imaginary))
    at = int(size.argmax())
    worst, where = float(size[at]), float(f[at])
    agrees = worst <= limit
    return KramersKronig(
        agrees=agrees,
        residual_real=real,
        residual_imaginary=imaginary,
        worst=worst,
        worst_frequency=where,
        elements=elements,
        words=_kk_words(agrees, worst, where, where < math.sqrt(float(f[0] * f[-1]))),
    )


def _kk_words(agrees: bool, worst: float, where: float, low: bool) -> str:
    said = f"largest residual {units.per_cent(worst)} at {units.plain(where, 3)} Hz"
    if agrees:
        return f"real and imaginary part belong together ({said}); a slow drift would not show here"
    cause = (
        "the cell usually drifted while the slow readings were taken; let it settle, or shorten the sweep"
        if low
        else "usually leads, contacts or the meter's range; twist the leads and repeat"
    )
    return f"real and imaginary part do not belong together ({said}): {cause}"


def _smallest_row(f: Floats, z: Complexes) -> tuple[Complexes, int]:
    """Residual of the row of pairs that earns its length (Akaike's criterion), and that length."""
    best: tuple[float, Complexes, int] | None = None
    n = 2 * f.size
    for elements in range(3, f.size):
        residual = _row(f, z, elements)
        square = float(np.sum(np.abs(residual / z) ** 2))
        k = elements + 4
        if n - k - 1 <= 0:
            break
        score = n * math.log(max(square, n * _FLOOR**2) / n) + 2.0 * k * n / (n - k - 1)
        if best is None or score < best[0]:
            best = (score, residual, elements)
    assert best is not None
    return best[1], best[2]


def _row(f: Floats, z: Complexes, elements: int) -> Complexes:
    omega = np.asarray(2.0 * math.pi * f, dtype=np.float64)
    fastest, slowest = 1.0 / float(omega.max()), 1.0 / float(omega.min())
    tau = np.asarray(np.geomspace(fastest, slowest, elements), dtype=np.float64)
    pairs = 1.0 / (1.0 + 1j * omega[:, None] * tau)
    line = np.column_stack(
        [np.ones_like(omega), 1j * omega * fastest, 1.0 / (1j * omega * slowest)]
    )
    columns = np.asarray(np.hstack([line, pairs]), dtype=np.complex128)
    weighed = columns / np.abs(z)[:, None]
    table = np.vstack([weighed.real, weighed.imag])
    known = np.concatenate([(z / np.abs(z)).real, (z / np.abs(z)).imag])
    # numerical
    values = np.asarray(np.linalg.lstsq(table, known, rcond=1e-12)[0], dtype=np.float64)
    return np.asarray(z - columns @ values, dtype=np.complex128)


# judgement
def same_at_both_amplitudes(small: Spectrum, large: Spectrum, *, limit: float = 0.01) -> bool:
    """Whether two spectra at different amplitudes are the same, as they must be when linear.

    Parameters
    ----------
    small, large : Spectrum
        At the same frequencies [ohm m^2].
    limit : float [1]
        Difference over |Z| that is still taken for scatter.

    Returns
    -------
    bool

    Raises
    ------
    RangeError
        Frequencies that are not the same.

    Notes
    -----
    The Kramers-Kronig test does not see a too large amplitude; this does.

    Examples
    --------
    >>> f = np.geomspace(0.1, 1e4, 10)
    >>> one = Spectrum(frequency=f, impedance=1e-4 + 1e-3 / (1 + 1j * f))
    >>> same_at_both_amplitudes(one, one)
    True
    """
    if small.frequency.shape != large.frequency.shape or not np.allclose(
        small.frequency, large.frequency, rtol=1e-6
    ):
        raise RangeError("not the same frequencies", where="spectra")
    difference = np.abs(large.impedance - small.impedance) / np.abs(small.impedance)
    return bool(difference.max() <= limit)
