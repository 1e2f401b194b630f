"""The verb `schema`: the JSON Schema of answers and kinds, with units."""

from __future__ import annotations

import json

import pytest

from aerode.cli.console import run
from aerode.records import KINDS
from aerode.store.upcasts import UPCASTS


def test_names(capsys: pytest.CaptureFixture[str]) -> None:
    """Without a name: all answers and all stored kinds."""
    assert run(["schema"]) == 0
    headline, *names = capsys.readouterr().out.splitlines()
    names = [name.strip() for name in names]

    assert headline.endswith(f"{len(KINDS)} kinds of record")

    assert {UPCASTS.schema(kind) for kind in KINDS} <= set(names)
    assert {"aerode.fit/1", "aerode.compare/1", "aerode.mix/1", "aerode.bench-check/1"} <= set(
        names
    )


@pytest.mark.parametrize("name", ["electrode", "electrode/3"])
def test_a_stored_kind(capsys: pytest.CaptureFixture[str], name: str) -> None:
    """Fields with their units, unknown fields refused."""
    run(["schema", name])
    schema = json.loads(capsys.readouterr().out)

    assert schema["$id"] == "electrode/3"
    assert "m^2" in json.dumps(schema["properties"]["wetted_area"])
    assert schema["additionalProperties"] is False


@pytest.mark.parametrize("name", ["fit", "fit/1", "aerode.fit", "aerode.fit/1"])
def test_an_answer(capsys: pytest.CaptureFixture[str], name: str) -> None:
    """By its whole name or the word of the verb."""
    run(["schema", name])
    assert json.loads(capsys.readouterr().out)["$id"] == "aerode.fit/1"


def test_every_name_has_a_schema(capsys: pytest.CaptureFixture[str]) -> None:
    """No name on the list leads nowhere."""
    run(["schema", "--json"])
    for name in json.loads(capsys.readouterr().out)["names"]:
        assert run(["schema", name]) == 0
        assert json.loads(capsys.readouterr().out)["$id"] == name


def test_near_misses(capsys: pytest.CaptureFixture[str]) -> None:
    """A wrong name is answered with the near ones."""
    assert run(["schema", "electrod"]) == 1
    assert "electrode" in capsys.readouterr().err
