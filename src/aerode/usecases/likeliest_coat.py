"""What a new piece of a mix is likeliest coated with and on: its pot, and the only mesh."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from aerode.records.materials import MeshCard
from aerode.records.mixes import Batch
from aerode.usecases.off_shelf import offered

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.store.bench_file import BenchFile

__all__ = ["LikeliestCoat", "likeliest_coat"]

_MIX, _POT, _MESH = "layers.0.mix", "layers.0.batch", "mesh"


class LikeliestCoat(NamedTuple):
    """Fields that can be filled in already, and why, in words."""

    texts: dict[str, str]
    said: tuple[str, ...]


def likeliest_coat(bench: BenchFile, texts: Mapping[str, str]) -> LikeliestCoat:
    """The pot and the mesh of a new piece whose mix is named.

    Parameters
    ----------
    bench : BenchFile
        Open.
    texts : mapping of str to str
        Of the form, by the path of the field; what was typed there holds.

    Returns
    -------
    LikeliestCoat
        The only pot of the mix, else its newest; the mesh where one stands on the shelf. Empty where no
        mix is named: a bought piece has neither.
    """
    mix = texts.get(_MIX, "").strip()
    found: dict[str, str] = {}
    said: list[str] = []
    if not mix:
        return LikeliestCoat(found, ())
    pots = bench.all(Batch, of=mix)
    if pots and not texts.get(_POT, "").strip():
        newest = max(enumerate(pots), key=lambda one: (one[1].made[:10], one[0]))[1]
        found[_POT] = newest.name
        which = "the only one" if len(pots) == 1 else f"the newest of {len(pots)}"
        said.append(f"pot {newest.name}, {which} of {mix}")
    meshes = offered(bench, MeshCard)
    if len(meshes) == 1 and not texts.get(_MESH, "").strip():
        found[_MESH] = meshes[0].name
        said.append(f"mesh {meshes[0].name}, the only one on the shelf")
    return LikeliestCoat(found, tuple(said))
