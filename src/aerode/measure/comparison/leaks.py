"""When an air face went wet, as far as the looks tell, and what that says of the next one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scipy.special import betaincinv

from aerode import units
from aerode.errors import RangeError
from aerode.records.comparisons import LeakLine
from aerode.records.electrodes import Outcome
from aerode.records.runs import RunSort

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.electrodes import Electrode
    from aerode.records.runs import Run

__all__ = ["leak_line", "leak_lines", "leak_share", "leak_share_in_words"]

HOUR = 3600.0  # by definition


def leak_line(electrode: str, run: Run) -> LeakLine:
    """Between which two looks the air face of one electrode went wet.

    A face found wet at 9:00 after a dry look at 20:00 leaked somewhere in those 13 hours: the time
    is interval-censored. A face that never went wet is censored at the last look.

    Parameters
    ----------
    electrode : str
        Its name.
    run : Run [record]
        A seep run with observations.

    Returns
    -------
    LeakLine
        Hours since the run began.

    Examples
    --------
    >>> from aerode.records.runs import Observation, Run, RunSort
    >>> looks = (Observation(at=0.0, wet=False), Observation(at=39600.0, wet=False), Observation(at=86400.0, wet=True))
    >>> line = leak_line("T1", Run(name="s1", electrode="T1", sort=RunSort.SEEP, head=0.12, observations=looks))
    >>> line.last_dry, line.first_wet, line.detail
    (11.0, 24.0, 'went wet between 11 h and 24 h at 12 cm of water')
    """
    looks = sorted(run.observations, key=lambda look: look.at)
    wet = [look.at for look in looks if look.wet]
    first_wet = min(wet) if wet else None
    dry = [look.at for look in looks if not look.wet and (first_wet is None or look.at < first_wet)]
    last_dry = max(dry) if dry else None
    return LeakLine(
        electrode=electrode,
        last_dry=None if last_dry is None else last_dry / HOUR,
        first_wet=None if first_wet is None else first_wet / HOUR,
        detail=_in_words(last_dry, first_wet) + _head(run),
    )


def _in_words(last_dry: float | None, first_wet: float | None) -> str:
    if first_wet is None and last_dry is None:
        return "nobody looked"
    if first_wet is None:
        return f"dry to the last look at {(last_dry or 0.0) / HOUR:.3g} h; later is not known"
    if last_dry is None:
        return f"wet at the first look, {first_wet / HOUR:.3g} h; when is not known"
    return f"went wet between {last_dry / HOUR:.3g} h and {first_wet / HOUR:.3g} h"


def _head(run: Run) -> str:
    return "" if run.head is None else f" at {run.head * 100:.3g} cm of water"


def leak_lines(seeps: Sequence[tuple[Electrode, Run]]) -> tuple[LeakLine, ...]:
    """One line for each seep run, and one for each electrode that is entered as leaked without one.

    Parameters
    ----------
    seeps : sequence of (Electrode, Run) [record]
        Electrodes with their runs; runs of other kinds are passed over.

    Returns
    -------
    tuple of LeakLine
    """
    lines = [
        leak_line(electrode.name, run)
        for electrode, run in seeps
        if run.sort is RunSort.SEEP and run.observations
    ]
    told = {line.electrode for line in lines}
    for electrode, _ in seeps:
        if electrode.outcome is Outcome.LEAKED and electrode.name not in told:
            told.add(electrode.name)
            lines.append(
                LeakLine(
                    electrode=electrode.name,
                    last_dry=None,
                    first_wet=None,
                    detail="entered as leaked; when is not known",
                )
            )
    return tuple(lines)


# judgement: the usual level
def leak_share(leaked: int, of: int, confidence: float = 0.95) -> tuple[float, float]:
    """Exact limits of the share that leaks, from so many leaked of so many tried.

    With none leaked the upper limit is one-sided: 1 - (1 - confidence)^(1/n).

    Parameters
    ----------
    leaked, of : int [1]
    confidence : float [1]

    Returns
    -------
    (float, float) [1]
        Lower and upper limit.

    Raises
    ------
    RangeError
        Unless 0 <= leaked <= of and of >= 1.

    Notes
    -----
    Clopper and Pearson, Biometrika 26 (1934) 404: quantiles of the beta distribution.

    Examples
    --------
    >>> [round(x, 3) for x in leak_share(0, 8)], [round(x, 3) for x in leak_share(0, 29)]
    ([0.0, 0.312], [0.0, 0.098])
    """
    if not (of >= 1 and 0 <= leaked <= of):
        raise RangeError(f"{leaked} leaked of {of} is not a count", allowed="0 <= leaked <= of")
    tail = 1.0 - confidence
    if leaked == 0:
        return 0.0, 1.0 - tail ** (1.0 / of)
    if leaked == of:
        return tail ** (1.0 / of), 1.0
    low = float(betaincinv(leaked, of - leaked + 1, tail / 2.0))
    high = float(betaincinv(leaked + 1, of - leaked, 1.0 - tail / 2.0))
    return low, high


def leak_share_in_words(lines: Sequence[LeakLine]) -> str:
    """One sentence on the share that leaked, with its exact limits; "" where nothing was looked at.

    Parameters
    ----------
    lines : sequence of LeakLine [record]

    Returns
    -------
    str

    Examples
    --------
    >>> leak_share_in_words([LeakLine(electrode="T1", last_dry=48.0, first_wet=None, detail="")])
    '0 of 1 leaked while watched; up to 95 % of such pieces still could (95 % limit)'
    """
    looked = [line for line in lines if line.last_dry is not None or line.first_wet is not None]
    if not looked:
        return ""
    leaked = sum(line.first_wet is not None for line in looked)
    low, high = leak_share(leaked, len(looked))
    head = f"{leaked} of {len(looked)} leaked while watched; "
    if leaked == 0:
        return head + f"up to {units.per_cent(high)} of such pieces still could (95 % limit)"
    return (
        head
        + f"{units.plain(100 * low)} to {units.per_cent(high)} of such pieces would (95 % limits)"
    )
