"""The usual words on lye, said before it is weighed or poured."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from aerode.cautions.lookup import known_name
from aerode.cautions.policy import LYES
from aerode.records.materials import Electrolyte
from aerode.usecases.usual_words import BEFORE_MEASURING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.store.bench_file import BenchFile

__all__ = ["LYE_WORDS", "WET_SOLVENT_WORDS", "is_lye", "words_before", "words_before_wetting"]

_LYE = re.compile(r"\b(koh|naoh|lye|hydroxide|caustic|drain cleaner)\b", re.IGNORECASE)

LYE_WORDS = (
    "Lye (KOH, NaOH) burns skin and blinds: goggles and gloves on before it is "
    "weighed, running water within reach.",
    "Lye into cold water, slowly; never water onto lye. It heats up, and strong lye can boil.",
    "Plastic vessels that stand heat, no glass, no aluminium, never capped while warm.",
    "Never with aluminium in a closed vessel: it gives off hydrogen.",
)
"""Common practice, no source; the safety data sheet of the lye comes first."""

WET_SOLVENT_WORDS = (
    "Solvent gives off vapour that can burn and must not be breathed in: dry the dishes in the open or "
    "in moving air, no flame, no spark, no hot plate near them.",
)
"""Common practice, no source; the safety data sheet of the solvent comes first."""


def is_lye(salt: str) -> bool:
    """Whether a salt as typed is lye: by name, alias or CAS number, or a word of it ("KOH, flakes")."""
    return known_name(salt) in LYES or _LYE.search(salt) is not None


def words_before(bench: BenchFile, kind: str, typed: Mapping[str, str]) -> tuple[str, ...]:
    """What to read before a record of this kind is made, empty where nothing usual can hurt.

    Parameters
    ----------
    bench : BenchFile
        Open.
    kind : str
        "electrolyte", "cell", "solution"; any other has no such words.
    typed : mapping of str to str
        The fields as far as they are filled.

    Returns
    -------
    tuple of str
        Of an electrolyte whose salt is lye or not yet said; of a cell filled with lye, or not said with
        what while lye stands on the bench; of a solution always. Common practice, no source.
    """
    if kind == "electrolyte":
        salt = typed.get("salt", "").strip()
        return LYE_WORDS if not salt or is_lye(salt) else ()
    if kind == "cell":
        name = typed.get("electrolyte", "").strip()
        held = bench.find(Electrolyte, name) if name else None
        salts = [held.salt if held else name] if name else [e.salt for e in bench.all(Electrolyte)]
        return LYE_WORDS if any(is_lye(salt) for salt in salts) else ()
    return WET_SOLVENT_WORDS if kind == "solution" else ()


def words_before_wetting(bench: BenchFile, typed: Mapping[str, str]) -> tuple[str, ...]:
    """The usual words before a cell is filled, beside those on lye that `words_before` gives.

    Parameters
    ----------
    bench : BenchFile
        Open.
    typed : mapping of str to str
        The fields of the cell as far as they are filled.

    Returns
    -------
    tuple of str
        That on lye only where the electrolyte is not said and nothing else speaks of lye. Common
        practice, no source.
    """
    told = bool(typed.get("electrolyte", "").strip() or words_before(bench, "cell", typed))
    hydrogen, lye, hot = BEFORE_MEASURING
    return (hydrogen, hot) if told else (hydrogen, lye, hot)
