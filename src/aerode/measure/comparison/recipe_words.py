"""What a recipe's short name stands for, in the fewest words: "10 % binder, no magnetite, plate 100 °C"."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode import units
from aerode.errors import UnitError
from aerode.measure.comparison.entrants import recipe_of
from aerode.records.comparisons import RecipeWords

if TYPE_CHECKING:
    from aerode.measure.comparison.study import Study
    from aerode.records.electrodes import Electrode
    from aerode.records.mixes import Mix

__all__ = ["recipes_in_words", "setting_in_words"]


def setting_in_words(factor: str, setting: float | str) -> str:
    """One setting of a factor.

    Examples
    --------
    >>> setting_in_words("binder", "10 %"), setting_in_words("magnetite", "0 %")
    ('10 % binder', 'no magnetite')
    >>> setting_in_words("plate temperature", "100 °C"), setting_in_words("brand", "house")
    ('plate temperature 100 °C', 'brand house')
    """
    if not isinstance(setting, str):
        return f"no {factor}" if setting == 0.0 else f"{factor} {setting:g}"
    try:
        number, unit = units.read_number(setting)
    except UnitError:
        return f"{factor} {setting}"
    if unit == "%":
        return f"{number:g} % {factor}" if number else f"no {factor}"
    return f"{factor} {setting}"


def recipes_in_words(study: Study) -> tuple[RecipeWords, ...]:
    """Every recipe of the electrodes that has a name of its own, with what is in it.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of RecipeWords
        From the factors that were varied on purpose, else from what the mix was meant to be; a
        recipe of which neither is known is left out.
    """
    members: dict[str, list[Electrode]] = {}
    for electrode in study.electrodes:
        if electrode.recipe:
            members.setdefault(recipe_of(electrode), []).append(electrode)
    told = {name: _words(of[0], dict(study.mixes)) for name, of in members.items()}
    return tuple(
        RecipeWords(recipe=name, words=told[name], electrodes=tuple(e.name for e in of))
        for name, of in members.items()
        if told[name] and told[name] != name
    )


def _words(electrode: Electrode, mixes: dict[str, Mix]) -> str:
    if electrode.factors:
        return ", ".join(setting_in_words(name, s) for name, s in electrode.factors.items())
    known = [mixes[layer.mix] for layer in electrode.layers if layer.mix in mixes]
    wanted = [share for mix in known for share in mix.wanted if share.fraction > 0.0]
    return ", ".join(f"{100.0 * share.fraction:.3g} % {share.of}" for share in wanted)
