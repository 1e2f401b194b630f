"""A change as people say it, put into the words and signs that the model reads."""

from __future__ import annotations

import re

__all__ = ["as_typed"]

_AMOUNT = r"(?P<amount>a half|half|a third|a quarter|a tenth|\d[\d.,]*\s*(?:%|[a-zµμ/]+)?)"
_PARTS = {"a half": "50 %", "half": "50 %", "a third": "33.333 %", "a quarter": "25 %", "a tenth": "10 %"}  # fmt: skip
_SAID: tuple[tuple[str, str], ...] = (
    (rf"{_AMOUNT} (?:thicker|more thickness)", "thickness +{amount}"),
    (rf"{_AMOUNT} (?:thinner|less thickness)", "thickness -{amount}"),
    (rf"thicker(?: by)? {_AMOUNT}", "thickness +{amount}"),
    (rf"thinner(?: by)? {_AMOUNT}", "thickness -{amount}"),
    (rf"{_AMOUNT} more (?P<what>.+)", "{what} +{amount}"),
    (rf"{_AMOUNT} less (?P<what>.+)", "{what} -{amount}"),
    (r"(?:twice|double) (?:the |as much )?(?P<what>.+)", "{what} x2"),
    (r"(?:half the|half as much|halve) (?P<what>.+)", "{what} x0.5"),
    (rf"flood(?:ed|ing)? ?(?:by|to)? {_AMOUNT}", "saturation {amount}"),
    (rf"{_AMOUNT} flooded", "saturation {amount}"),
    (r"flood(?:ed|ing)? (?P<amount>[-+−x×].+)", "saturation {amount}"),
)
"""What is said, and what it is read as; a pore space flooded by half is half full of liquid."""


def as_typed(text: str) -> str:
    """The words of a change in the order that the model reads; others come back as they are.

    Parameters
    ----------
    text : str
        As typed.

    Returns
    -------
    str

    Examples
    --------
    >>> as_typed("200 um thicker"), as_typed("20 % more binder"), as_typed("flooded by half")
    ('thickness +200 um', 'binder +20 %', 'saturation 50 %')
    >>> as_typed("thickness +200 um")
    'thickness +200 um'
    """
    words = " ".join(text.split())
    for said, read in _SAID:
        found = re.fullmatch(said, words, re.IGNORECASE)
        if found is None:
            continue
        parts = found.groupdict()
        if amount := parts.get("amount"):
            parts["amount"] = _PARTS.get(amount.casefold(), amount)
        return read.format(**parts)
    return text
