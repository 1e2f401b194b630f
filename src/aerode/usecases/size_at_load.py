"""What a load with nothing before it gets from a sized battery, in words; what is too much, and which battery gives less."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.cautions.overvoltage import TOLERATED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.sizes import SizeOption

__all__ = ["at_the_load", "gentler_words", "too_much_words"]


def too_much_words(chosen: SizeOption, load: float | None) -> str:
    """That a fresh row gives the load too many volts, in the headline; "" where it does not."""
    if chosen.load_fresh is None or not _is_too_much(chosen, load):
        return ""
    give = "it gives" if chosen.in_series == 1 else "they give"
    return (
        f"; fresh {give} {units.plain(chosen.load_fresh, 2)} V, not {units.plain(load or 0.0, 3)} V"
    )


def _is_too_much(one: SizeOption, load: float | None) -> bool:
    return bool(load) and (one.load_fresh_high or 0.0) > TOLERATED * (load or 0.0)


def gentler_words(options: Sequence[SizeOption], load: float | None) -> str:
    """Of the other batteries the one with the fewest electrodes that starts within what a load takes, in words.

    Where none does, the one that starts lowest; "" where that is the one chosen.
    """
    able = [one for one in options if one.load_fresh is not None and not one.past_the_top]
    kept = [one for one in able if not _is_too_much(one, load)]
    lowest = sorted(able, key=lambda one: one.load_fresh or 0.0)[:1]
    best = min(kept or lowest, key=lambda one: one.in_series * one.electrodes, default=None)
    if best is None or best.chosen:
        return ""
    row = "1 cell" if best.in_series == 1 else f"{best.in_series} cells"
    return f"{row} of {best.electrodes} electrodes start{'s' if best.in_series == 1 else ''} at {units.plain(best.load_fresh or 0.0, 2)} V"


def at_the_load(one: SizeOption) -> str:
    """What the load gets from a row, fresh and at the end; "" where something stands between.

    Parameters
    ----------
    one : SizeOption

    Returns
    -------
    str
    """
    if one.load_fresh is None or one.load_fresh_high is None:
        return ""
    end = "" if one.load_end is None else f", about {units.plain(one.load_end, 3)} V at the end"
    return f"about {units.plain(one.load_fresh, 3)} V fresh, up to {units.plain(one.load_fresh_high, 3)} V{end}"
