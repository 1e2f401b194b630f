"""The sentences of the answer: short, with the level named and no word the numbers do not bear."""

from __future__ import annotations

import difflib
import math
from typing import TYPE_CHECKING

from aerode.records.comparisons import Verdict
from aerode.records.results import Level

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "did_you_mean",
    "first_that_fits",
    "headline_effect",
    "headline_many",
    "headline_of",
    "ratio_text",
    "shortened",
]

LONGEST = 100  # judgement: one line

_OPENING = {
    Verdict.SHOWN: "Shown",
    Verdict.SHOWN_SMALL: "Shown, but smaller than matters",
    Verdict.EQUIVALENT: "Equivalent",
    Verdict.NOT_SHOWN: "Not shown",
    Verdict.BLOCKED: "Blocked",
}


def ratio_text(ratio: float, interval: tuple[float, float] | None) -> str:
    """A ratio with its interval, to the digits that the interval bears.

    Parameters
    ----------
    ratio : float [1]
    interval : (float, float) or None [1]

    Returns
    -------
    str

    Examples
    --------
    >>> ratio_text(0.7843, (0.6871, 0.8952)), ratio_text(1.0123, (1.0101, 1.0145))
    ('0.78 [0.69, 0.90]', '1.012 [1.010, 1.014]')
    """
    if interval is None:
        return f"{ratio:.3g}"
    low, high = interval
    width = max(high - low, 1e-6)  # numerical
    # judgement: digits worth showing
    places = min(4, max(1, 2 - math.floor(math.log10(width / 0.02)) if width < 0.02 else 2))
    if width >= 3.0:
        places = 1
    return f"{ratio:.{places}f} [{low:.{places}f}, {high:.{places}f}]"


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """ "did you mean X? " for what looks most like a word; "" where nothing does.

    >>> did_you_mean("salinty", ["salinity", "gap"]), did_you_mean("colour", ["salinity", "gap"])
    ('did you mean salinity? ', '')
    """
    near = difflib.get_close_matches(word.casefold(), list(known), n=1)
    return f"did you mean {near[0]}? " if near else ""


def shortened(text: str, length: int = LONGEST) -> str:
    """The text, cut at a word where it is too long; never within an interval, nor between it and its number.

    >>> shortened("one two three", 9)
    'one two…'
    >>> shortened("B1 over A1 1.28 [0.96, 1.70].", 24)
    'B1 over A1…'
    """
    if len(text) <= length:
        return text
    cut = text[: length - 1].rsplit(" ", 1)[0] if " " in text[: length - 1] else text[: length - 1]
    if cut.count("[") > cut.count("]"):
        cut = cut[: cut.rindex("[")].rstrip()
    if text[len(cut) :].lstrip().startswith("[") and " " in cut:
        cut = cut.rsplit(" ", 1)[0]
    return cut.rstrip(" ,;:") + "…"


def first_that_fits(*candidates: str) -> str:
    """The first of several wordings, longest first, that stands on one line.

    >>> first_that_fits("a " * 60, "short")
    'short'
    """
    return next((c for c in candidates if len(c) <= LONGEST), shortened(candidates[-1]))


def _opening(verdict: Verdict, only_just: bool) -> str:
    """The verdict as the first words of a line; "only just" where one believable error alone undoes it."""
    return f"{_OPENING[verdict]}, only just" if only_just else _OPENING[verdict]


def headline_of(
    verdict: Verdict,
    level: Level,
    what: str,
    ratio: float,
    interval: tuple[float, float],
    *,
    response: str,
    tail: str = "",
    only_just: bool = False,
) -> str:
    """One line: the verdict, at which level, on what, the ratio and its interval.

    Parameters
    ----------
    verdict : Verdict
    level : Level
    what : str
        "A over B" or "binder, 0.1 to 0.2".
    ratio : float [1]
    interval : (float, float) [1]
    response : str
        "in current density at 0.45 V".
    tail : str
        Something more, dropped first where the line gets too long.
    only_just : bool
        Whether one believable error alone would undo it.

    Returns
    -------
    str
        At most 100 characters.

    Examples
    --------
    >>> headline_of(Verdict.SHOWN, Level.RECIPES, "A over B", 1.18, (1.04, 1.34), response="at 0.45 V")
    'Shown (recipes): A over B, ratio 1.18 [1.04, 1.34] at 0.45 V.'
    """
    head = f"{_opening(verdict, only_just)} ({level}): {what}, ratio {ratio_text(ratio, interval)}"
    more = f" {tail}" if tail else ""
    return first_that_fits(f"{head} {response}.{more}", f"{head} {response}.", f"{head}.")


def headline_effect(
    verdict: Verdict,
    words: tuple[str, str, str],
    ratio: float,
    interval: tuple[float, float],
    response: str,
    *,
    only_just: bool = False,
) -> str:
    """The line where the effect of a factor was asked for.

    Parameters
    ----------
    verdict : Verdict
    words : (str, str, str)
        The factor, its low and its high setting.
    ratio : float [1]
        High over low.
    interval : (float, float) [1]
    response : str
        "current density at 0.45 V".
    only_just : bool
        Whether one believable error alone would undo it.

    Returns
    -------
    str
        At most 100 characters.

    Examples
    --------
    >>> headline_effect(Verdict.SHOWN, ("binder", "10 %", "20 %"), 0.8, (0.7, 0.9), "current at 0.45 V")
    'Shown: binder 10 % → 20 % gives 0.80 [0.70, 0.90] times the current at 0.45 V (recipes).'
    """
    factor, low, high = words
    head = f"{_opening(verdict, only_just)}: {factor} {low} → {high} gives {ratio_text(ratio, interval)} times the"
    short = response.split(" at ")[0]
    return first_that_fits(
        f"{head} {response} (recipes).",
        f"{head} {response}.",
        f"{head} {short} (recipes).",
        f"{head} {short}.",
    )


def headline_many(
    verdict: Verdict, best: str, second: str, ratio: float, interval: tuple[float, float], of: int,
    *, only_just: bool = False,
) -> str:  # fmt: skip
    """The line where more than two recipes are compared: who leads, and whether that is shown.

    Parameters
    ----------
    verdict : Verdict
        On the best over the second.
    best, second : str
    ratio : float [1]
    interval : (float, float) [1]
    of : int [1]
        Number of recipes.
    only_just : bool
        Whether one believable error alone would undo it.

    Returns
    -------
    str
        At most 100 characters.

    Examples
    --------
    >>> headline_many(Verdict.NOT_SHOWN, "A", "B", 1.04, (0.91, 1.19), 5)
    'No recipe of 5 is shown to be best: A leads B by a ratio of 1.04 [0.91, 1.19].'
    """
    numbers, opening = ratio_text(ratio, interval), _opening(verdict, only_just)
    if verdict is Verdict.SHOWN:
        return first_that_fits(
            f"{opening} (recipes): {best} leads all {of}, over {second} by a ratio of {numbers}.",
            f"{opening} (recipes): {best} leads, ratio {numbers}.",
        )
    if verdict in (Verdict.EQUIVALENT, Verdict.SHOWN_SMALL):
        return first_that_fits(
            f"The two best of {of} recipes do not differ enough to matter: {best} over {second} {numbers}.",
            f"The two best of {of} recipes differ by less than matters: {numbers}.",
        )
    return first_that_fits(
        f"No recipe of {of} is shown to be best: {best} leads {second} by a ratio of {numbers}.",
        f"No recipe of {of} is shown to be best: the first two differ by a ratio of {numbers}.",
    )
