"""Old documents read by new programs: pure functions from one version of a kind to the next.

A stored document keeps its bytes and its schema ("electrode/1") for ever. When the definition of
a record changes, its version is raised here and a step is added that turns a document of the old
version into one of the new; the steps are applied on reading.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, cast

from aerode.errors import DamagedError, NewerFileError
from aerode.records import KINDS, adapter

__all__ = ["UPCASTS", "Step", "Upcasts"]

Document = dict[str, Any]
Step = Callable[[Document], Document]


@dataclass(frozen=True, kw_only=True)
class Upcasts:
    """Which version of each kind is written, and the steps that lead there.

    `versions` holds the kinds whose version is not 1; `steps[kind, n]` turns version n into n + 1.
    """

    versions: Mapping[str, int] = field(default_factory=dict[str, int])
    steps: Mapping[tuple[str, int], Step] = field(default_factory=dict[tuple[str, int], Step])

    def __post_init__(self) -> None:
        first = {kind: min((n for k, n in self.steps if k == kind), default=1) for kind in KINDS}
        for kind in KINDS:
            for version in range(first[kind], self.version(kind)):
                if (kind, version) not in self.steps:
                    raise ValueError(f"no step leads from {kind}/{version} to the next version")

    def version(self, kind: str) -> int:
        """The version of a kind that this program writes."""
        return self.versions.get(kind, 1)

    def schema(self, kind: str) -> str:
        """The schema of a kind as written into a revision: "electrode/1"."""
        return f"{kind}/{self.version(kind)}"

    def is_newer(self, schema: str) -> bool:
        """True if a newer program wrote this schema."""
        kind, version = _parts(schema)
        return kind != "withdrawn" and (kind not in KINDS or version > self.version(kind))

    def read(self, schema: str, doc: str, *, where: str) -> Any:
        """The record that a stored document holds.

        Raises
        ------
        NewerFileError
            Written by a newer program than this one.
        DamagedError
            The steps do not reach from its version to the one in use.
        """
        if self.is_newer(schema):
            raise NewerFileError(
                f"this record is of the schema {schema}, which a newer version wrote",
                where=where,
                allowed=f"up to {self._newest(schema)}",
                next_step="read it with the newer version of the program",
            )
        kind, version = _parts(schema)
        cls = cast("type[Any]", KINDS[kind])
        if version == self.version(kind):
            return adapter.read_json(cls, doc, where=where)
        document: Document = json.loads(doc)
        for step in range(version, self.version(kind)):
            if (kind, step) not in self.steps:
                raise DamagedError(f"no way leads from {kind}/{step} to the next", where=where)
            document = self.steps[kind, step](document)
        return adapter.read(cls, document, where=where)

    def _newest(self, schema: str) -> str:
        kind, _ = _parts(schema)
        return self.schema(kind) if kind in KINDS else "the kinds of this version"


def _parts(schema: str) -> tuple[str, int]:
    kind, slash, version = schema.partition("/")
    if not slash or not version.isdigit():
        raise DamagedError(f"the schema {schema!r} of a revision cannot be read")
    return kind, int(version)


def _mix_without_rest(old: Document) -> Document:
    """mix/2 says which shares are the rest; a mix of before has none that is."""
    return dict(old)


def _batch_without_plan(old: Document) -> Document:
    """batch/2 keeps what was to be weighed; of a pot of before nobody knows it."""
    return dict(old)


def _electrode_on_no_word(old: Document) -> Document:
    """electrode/2 says where its area was only said to be that of the others; before, nobody had said so."""
    return dict(old)


def _electrode_alone_on_the_scale(old: Document) -> Document:
    """electrode/3 says which pieces were weighed together; before, each was alone on the scale."""
    return dict(old)


_ON_THE_SHELF = (
    "aluminium",
    "electrolyte",
    "instrument",
    "mesh",
    "powder",
    "solution",
    "solvent",
)


def _nothing_gone(old: Document) -> Document:
    """The second version of what stands on the shelf says where it has gone; before, nothing had."""
    return dict(old)


UPCASTS = Upcasts(
    versions={"batch": 2, "electrode": 3, "mix": 2, **dict.fromkeys(_ON_THE_SHELF, 2)},
    steps={
        ("batch", 1): _batch_without_plan,
        ("electrode", 1): _electrode_on_no_word,
        ("electrode", 2): _electrode_alone_on_the_scale,
        ("mix", 1): _mix_without_rest,
        **{(kind, 1): _nothing_gone for kind in _ON_THE_SHELF},
    },
)
"""Every kind that is not named here is still at its first version."""
