"""A script written against an answer's schema keeps working: frozen examples of each are still read.

A new optional field is no new version; a field that goes or changes its meaning is.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from aerode.records.adapter import read_json, write_whole
from aerode.usecases import bench_schema

FROZEN = sorted((Path(__file__).parent / "frozen_answers").glob("*.json"))


def _keys(node: object, path: str = "") -> set[str]:
    if isinstance(node, dict):
        return {
            k
            for key, value in node.items()
            for k in ({f"{path}.{key}"} | _keys(value, f"{path}.{key}"))
        }
    if isinstance(node, list):
        return {k for value in node for k in _keys(value, f"{path}[]")}
    return set()


@pytest.mark.parametrize("path", FROZEN, ids=[p.stem for p in FROZEN])
def test_an_old_answer_is_still_read(path: Path) -> None:
    """The frozen example fits today's record, and no key of it has gone."""
    text = path.read_text("utf-8")
    old = json.loads(text)
    record_class = bench_schema._classes()[old["schema"]]  # pyright: ignore[reportPrivateUsage]
    again = write_whole(read_json(record_class, text))

    assert next(iter(old)) == "schema"
    assert _keys(old) <= _keys(again)


def test_the_main_answers_are_frozen() -> None:
    """Each verb of the main job has its example."""
    schemas = {json.loads(p.read_text("utf-8"))["schema"] for p in FROZEN}

    assert {
        f"aerode.{verb}/1" for verb in ("fit", "compare", "mix", "cautions", "log", "claim")
    } <= schemas
