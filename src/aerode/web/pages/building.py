"""Where one more electrode of a recipe is begun: its mix, its pot, the form with its layers."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from aerode.records.electrodes import Cell, Electrode
from aerode.records.materials import MeshCard
from aerode.records.mixes import Batch, Mix
from aerode.usecases.entering import texts_of
from aerode.usecases.newest_pieces import RECENT
from aerode.usecases.off_shelf import offered
from aerode.usecases.what_lacks import unused_pot
from aerode.web.rendering import address

if TYPE_CHECKING:
    from aerode.store.bench_file import BenchFile

__all__ = ["cell_like", "first_of", "one_like", "one_more_of", "ways_to_build"]


def one_more_of(bench: BenchFile, found: Electrode) -> str:
    """The form of one more electrode of the recipe and the layers of one that is there, each of the pot whose turn it is."""
    return address("things", "electrode", "new", recipe=found.recipe, **_layers_of(bench, found))


def first_of(bench: BenchFile, mix: str) -> str:
    """The form of an electrode of a mix: the pot whose turn it is, and the mesh used last."""
    layers = {"layers.0.mix": mix, "layers.0.batch": _pot_in_turn(bench, mix)}
    return address("things", "electrode", "new", recipe=mix, **layers, **_mesh_at_hand(bench))


def _layers_of(bench: BenchFile, found: Electrode) -> dict[str, str]:
    layers: dict[str, str] = {}
    for place, layer in enumerate(found.layers):
        pot = _pot_in_turn(bench, layer.mix) if layer.mix else ""
        told = {"role": layer.role.value, "mix": layer.mix, "batch": pot or layer.batch, "how": layer.how}  # fmt: skip
        layers |= {f"layers.{place}.{field}": text for field, text in told.items()}
    return layers


def _pot_in_turn(bench: BenchFile, mix: str) -> str:
    """The newest pot of a mix that no piece is coated from, else the newest one; "" for none."""
    newest = next((pot.name for pot in bench.all(Batch, of=mix)[::-1]), "")
    return unused_pot(bench, mix) or newest


def _mesh_at_hand(bench: BenchFile) -> dict[str, str]:
    """The mesh used last, else the only one there is."""
    meshes = {one.name for one in offered(bench, MeshCard)}
    used = [one.mesh for one in bench.latest(Electrode, count=RECENT) if one.mesh in meshes]
    mesh = used[0] if used else (meshes.pop() if len(meshes) == 1 else "")
    return {"mesh": mesh} if mesh else {}


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

    A recipe of a mix begins with its pot; a pot that no piece is coated from is coated from first. A
    recipe without a mix leads to the form of an electrode like the newest of it.
    """
    own = [one for one in bench.all(Electrode) if recipe in (one.recipe, one.name)]
    mix = bench.find(Mix, recipe)
    if mix is None and own:
        named = next((layer.mix for layer in own[-1].layers if layer.mix), "")
        mix = bench.find(Mix, named) if named else None
    ways: list[tuple[str, str]] = []
    like = [(f"Enter one more like {own[-1].name}", one_more_of(bench, own[-1]))] if own else []
    if mix is not None:
        pots = bench.all(Batch, of=mix.name)
        weigh = (
            f"Weigh {'a new' if pots else 'the'} pot of {mix.name}",
            address("mixes", mix.name, "pots", "new"),
        )
        fresh = unused_pot(bench, mix.name)
        coat = [(f"Coat a piece of {fresh}", _coated_from(bench, recipe, mix.name, own))] if fresh else []  # fmt: skip
        if pots and not fresh and not own:
            like = [(f"Coat one from {pots[-1].name}", _coated_from(bench, recipe, mix.name, own))]
        ways = [*coat, *like, weigh] if fresh else [weigh, *like]
    return ways or like or [("Enter an electrode", address("things", "electrode", "new", recipe=recipe))]  # fmt: skip


def _coated_from(bench: BenchFile, recipe: str, mix: str, own: list[Electrode]) -> str:
    """The form of an electrode of the pot whose turn it is, with the layers of the newest one and the mesh."""
    if own:
        layers = _layers_of(bench, own[-1])
    else:
        layers = {"layers.0.mix": mix, "layers.0.batch": _pot_in_turn(bench, mix)}
    named = own[-1].recipe if own else recipe
    return address("things", "electrode", "new", recipe=named, **layers, **_mesh_at_hand(bench))
