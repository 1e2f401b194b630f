"""Where one more electrode of a recipe is begun: its mix, its pot, the form with its layers."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from aerode.records.electrodes import Cell, Electrode
from aerode.records.mixes import Batch, Mix
from aerode.usecases.entering import texts_of
from aerode.web.rendering import address

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["cell_like", "one_like", "one_more_of", "ways_to_build"]


def one_more_of(found: Electrode) -> str:
    """The form of one more electrode of the recipe and the layers of one that is there."""
    layers: dict[str, str] = {}
    for place, layer in enumerate(found.layers):
        told = {"role": layer.role.value, "mix": layer.mix, "batch": layer.batch, "how": layer.how}
        layers |= {f"layers.{place}.{field}": text for field, text in told.items()}
    return address("things", "electrode", "new", recipe=found.recipe, **layers)


_OF_THE_KIND = ("recipe", "recipe_state", "wetted_area", "mesh")


def one_like(found: Electrode) -> str:
    """The form of one more piece of the same pot, mesh and area; what is weighed or done to it stays empty."""
    texts = texts_of(found)
    kept = {
        path: text
        for path, text in texts.items()
        if path in _OF_THE_KIND
        or path.startswith("factors.")
        or (path.startswith("layers.") and path.split(".")[2] in {"role", "mix", "batch", "how"})
    }
    if area := kept.get("wetted_area"):
        kept["wetted_area"] = _without_how(area)
    return address("things", "electrode", "new", **kept)


_OF_A_CELL = ("aluminium", "electrolyte", "aluminium_area", "gap", "sensing")


def cell_like(found: Cell) -> dict[str, str]:
    """The fields of one more cell of the same aluminium, water and holder; name and piece stay empty."""
    texts = texts_of(found)
    return {path: _without_how(texts[path]) for path in _OF_A_CELL if texts.get(path)}


def _without_how(text: str) -> str:
    """The figure alone: how it was found, and how well, holds for the other piece."""
    return re.split(r"\s*[±(]", text, maxsplit=1)[0]


def ways_to_build(bench: BenchFile, recipe: str) -> list[tuple[str, str]]:
    """The steps to one more electrode of a recipe, the first one first: words and places.

    A recipe of a mix begins with its pot; where a pot is there already, the electrode can be coated
    from it. A recipe without a mix leads to the form of an electrode like the newest of it.
    """
    own = [one for one in bench.all(Electrode) if recipe in (one.recipe, one.name)]
    mix = bench.find(Mix, recipe)
    if mix is None and own:
        named = next((layer.mix for layer in own[-1].layers if layer.mix), "")
        mix = bench.find(Mix, named) if named else None
    ways: list[tuple[str, str]] = []
    if mix is not None:
        pots = bench.all(Batch, of=mix.name)
        ways.append(
            (
                f"Weigh {'a new' if pots else 'the'} pot of {mix.name}",
                address("mixes", mix.name, "pots", "new"),
            )
        )
        if pots and not own:
            layer = {"layers.0.mix": mix.name, "layers.0.batch": pots[-1].name}
            ways.append(
                (
                    f"Coat one from {pots[-1].name}",
                    address("things", "electrode", "new", recipe=recipe, **layer),
                )
            )
    if own:
        ways.append((f"Enter one more like {own[-1].name}", one_more_of(own[-1])))
    return ways or [("Enter an electrode", address("things", "electrode", "new", recipe=recipe))]
