"""What can be asked of the reference figures, and what serves for what on the bench."""

from __future__ import annotations

import difflib

from aerode import properties, reference
from aerode.errors import InputError
from aerode.records.properties import (
    KnownSubstance,
    MaterialUse,
    PropertyList,
    PropertyUses,
    WettedBy,
)
from aerode.reference.process_figures import process_rows
from aerode.usecases.property_words import WORKED_OUT, cut, known_words, word_of

__all__ = ["what_can_be_asked", "what_serves"]


def what_can_be_asked(quantity: str = "", of: str = "") -> PropertyList:
    """The quantities and substances on file: all, those of one substance, or those with one quantity.

    Parameters
    ----------
    quantity : str
        Only substances that have it.
    of : str
        Only this substance.

    Returns
    -------
    PropertyList

    Raises
    ------
    ReferenceDataError
        An unknown quantity or substance; near ones are named.

    Examples
    --------
    >>> what_can_be_asked(of="toluene").substances[0].cas
    ('108-88-3',)
    """
    words = known_words()
    word = word_of(quantity) if quantity else ""
    name = reference.resolve(of) if of else ""
    found: list[KnownSubstance] = []
    for entry in reference.substances().values():
        has = properties.properties_of(entry.name)
        if (name in ("", entry.name)) and (not word or word in has):
            found.append(
                KnownSubstance(
                    name=entry.name, kind=entry.kind, also=entry.aliases, cas=entry.cas, quantities=has
                )
            )  # fmt: skip
    if word and not name:
        seen = {row.substance for row in process_rows() if row.quantity == word}
        known = {one.name for one in found}
        found += [
            KnownSubstance(name=one, kind="process", quantities=(word,))
            for one in sorted(seen - known)
        ]
    if name:
        asked = {one: words[one] for one in found[0].quantities if one in words} if found else {}
    else:
        asked = {word: words[word]} if word else words
    return PropertyList(
        headline=_list_headline(word, name, asked, found),
        quantities=asked,
        substances=tuple(found),
        functions=reference.BENCH_FUNCTIONS,
    )


def _list_headline(word: str, name: str, asked: dict[str, str], found: list[KnownSubstance]) -> str:
    if name:
        return f"{name}: {len(asked)} quantities on file"
    if word:
        where = f"; worked out for {WORKED_OUT[word][2]}" if word in WORKED_OUT else ""
        return cut(f"{word.replace('_', ' ')}: on file for {len(found)} substances{where}")
    return f"{len(asked)} quantities, {len(found)} substances on file, each with source and status"


def what_serves(function: str, of: str = "") -> PropertyUses:
    """What serves for a bench function, how to confirm it at home, and what must not replace it.

    Parameters
    ----------
    function : str
        "conductor", "binder", "collector" ...; "" with `of` lists what that material serves for.
    of : str
        Only this material.

    Returns
    -------
    PropertyUses
        Metals carry what chloride and lye do to them, wet and unloaded, and under load.

    Raises
    ------
    InputError
        An unknown function; the known ones are named.
    ReferenceDataError
        An unknown material.

    Examples
    --------
    >>> what_serves("conductor").uses[0].material
    'carbon black'
    """
    word = function.strip().casefold()
    if word and word not in reference.BENCH_FUNCTIONS:
        near = difflib.get_close_matches(word, reference.BENCH_FUNCTIONS, n=3, cutoff=0.4)
        raise InputError(
            f"no bench function {function!r}", where="for",
            allowed=", ".join(near or reference.BENCH_FUNCTIONS), next_step="take one of those",
        )  # fmt: skip
    uses = reference.bench_uses(of, function=word)
    kept = tuple(
        MaterialUse(
            material=use.material,
            function=use.function,
            serves=use.serves,
            home_test=use.home_test,
            mistaken_for=use.mistaken_for,
            must_not_replace=use.must_not_replace,
            source=use.source,
            status=use.status.value,
            wetted=tuple(
                WettedBy(
                    electrolyte=metal.electrolyte, unloaded=metal.unloaded, loaded=metal.loaded,
                    effect=metal.effect, source=metal.source, status=metal.status.value,
                )
                for metal in reference.wetted_metals(use.material)
            ),
        )
        for use in uses
    )  # fmt: skip
    what = word or f"uses of {reference.resolve(of)}"
    return PropertyUses(headline=f"{what}: {len(kept)} on file, with a home test each", uses=kept)
