"""Lines that name each of their values ("V:0.742 I:12.9", {"V": 0.742}) as rows under headings."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any, cast

from aerode.devices.table_numbers import is_number
from aerode.devices.table_text import Line, Sheet

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["unlabelled"]

_LABELLED = re.compile(r"^\s*(?P<label>[^\W\d][\w .()\[\]/°Ωµ²%-]{0,40}?)\s*[:=]\s*(?P<value>[+\-−]?[\d.,].*)$")  # fmt: skip


def unlabelled(sheet: Sheet) -> Sheet:
    """The same values under headings, where most lines name their values; else the sheet.

    A value that a line does not have is empty there.
    """
    for read, word in ((_json, "each line is a JSON object"), (_labelled, "each value stands behind its name")):  # fmt: skip
        found = [(line, read(line, sheet.delimiter)) for line in sheet.lines]
        named = [pairs for _, pairs in found if pairs]
        if len(named) >= 2 and 2 * len(named) >= len(found):
            return _sheet(sheet, found, word)
    return sheet


def _sheet(sheet: Sheet, found: Sequence[tuple[Line, dict[str, str] | None]], word: str) -> Sheet:
    labels = list(dict.fromkeys(label for _, pairs in found for label in pairs or ()))
    first = next(place for place, (_, pairs) in enumerate(found) if pairs)
    number = found[first][0].number
    head = Line(number, tuple(labels))
    above = [line for line, _ in found[:first]]
    rows = [
        Line(line.number, tuple(pairs.get(label, "") for label in labels))
        if pairs
        else Line(line.number, (" ".join(line.cells), *([""] * (len(labels) - 1))))
        for line, pairs in found[first:]
    ]
    return replace(
        sheet, lines=(*above, head, *rows), delimiter="\t", understood=(*sheet.understood, word)
    )


def _json(line: Line, delimiter: str) -> dict[str, str] | None:
    text = (delimiter or " ").join(line.cells)
    if not (text.startswith("{") and text.endswith("}")):
        return None
    # A reader of cells has taken the quotation marks of the names away where a cell began with one.
    try:
        plain: Any = json.loads(text)
    except ValueError:
        try:
            plain = json.loads(re.sub(r'([{,]\s*)"?([^\W\d][\w ]*)"?\s*:', r'\1"\2":', text))
        except ValueError:
            return None
    pairs: dict[str, str] = {}
    for key, value in cast("dict[str, Any]", plain).items():
        if isinstance(value, dict | list):
            return None
        pairs[key] = "" if value is None else value if isinstance(value, str) else json.dumps(value)
    return pairs or None


def _labelled(line: Line, delimiter: str) -> dict[str, str] | None:
    cells = [cell for cell in line.cells if cell]
    pairs: dict[str, str] = {}
    for cell in cells:
        match = _LABELLED.match(cell)
        if not match or not is_number(match["value"]) or match["label"] in pairs:
            return None
        pairs[match["label"].strip()] = match["value"].strip()
    return pairs if len(pairs) == len(cells) and cells else None
