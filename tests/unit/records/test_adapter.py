"""The one reader and writer of records."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from aerode.errors import RecordError
from aerode.records import KINDS
from aerode.records.adapter import (
    canonical,
    read,
    read_json,
    schema,
    schema_name,
    write,
    write_whole,
)
from aerode.records.electrodes import Electrode
from aerode.records.marks import Condition, Entry, Known, Share
from aerode.records.mixes import Mix, Portion
from aerode.records.runs import Reading, Run
from aerode.virtual.tern_sound import build

FROZEN = Path(__file__).parent / "frozen_shapes.json"


def test_all_faults_at_once_with_their_paths() -> None:
    """Unknown field, NaN and a negative length are all named in one refusal."""
    with pytest.raises(RecordError) as refusal:
        read(
            Electrode,
            {"name": "x", "colour": 1, "wetted_area": {"value": float("nan")}, "thickness": [-1]},
            where="row 2",
        )

    assert {f.field for f in refusal.value.faults} == {"colour", "wetted_area.value", "thickness.0"}
    assert refusal.value.where == "row 2"


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity"])
def test_no_number_that_is_none(number: str) -> None:
    """JSON's spellings of NaN and infinity are refused."""
    with pytest.raises(RecordError):
        read_json(Run, f'{{"name":"r","readings":[{{"voltage":{number}}}]}}')


def test_units_stand_in_the_schema() -> None:
    """A script can read the unit of a field from the JSON Schema."""

    def unit(cls: type, field: str) -> str:
        node = schema(cls)["properties"][field]
        return next(part["unit"] for part in (node, *node.get("anyOf", ())) if "unit" in part)

    assert unit(Reading, "voltage") == "V"
    assert unit(Reading, "temperature") == "K"
    assert unit(Electrode, "wetted_area") == "m^2"
    assert unit(Run, "temperature") == "K"


def test_canonical_text_is_one() -> None:
    """Equal records have equal texts, and the text gives the record back."""
    a = Electrode(name="T6", factors={"b": 1.0, "a": "x"}, wetted_area=Entry(value=9e-4))
    b = Electrode(name="T6", factors={"a": "x", "b": 1.0}, wetted_area=Entry(value=9e-4))

    assert canonical(a) == canonical(b)
    assert read_json(Electrode, canonical(a)) == a


def test_short_and_whole_forms_agree() -> None:
    """Leaving defaults out loses nothing."""
    electrode = Electrode(name="T6")

    assert write(electrode) == {"name": "T6"}
    assert read(Electrode, write_whole(electrode)) == electrode


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_has_a_schema_and_a_name(kind: str) -> None:
    """Each stored kind can be described and found back from its class."""
    assert schema(KINDS[kind])["additionalProperties"] is False
    assert schema_name(KINDS[kind]) == kind


def test_shapes_of_stored_kinds_are_frozen() -> None:
    """A changed stored shape needs a new schema version and an upcast; this file shows the first one.

    Documents leave defaults out, so a changed default is a changed shape too: the JSON Schema holds
    the defaults. To renew it on purpose: write the new version, its upcast and a frozen example, then
    replace the entry.
    """
    frozen = json.loads(FROZEN.read_text("utf-8"))

    assert {kind: _shape(schema(cls)) for kind, cls in KINDS.items()} == frozen


def _shape(node: object) -> object:
    """The schema without its prose."""
    if isinstance(node, dict):
        return {
            k: _shape(v)
            for k, v in node.items()
            if k not in {"description", "title"} or isinstance(v, dict)
        }
    if isinstance(node, list):
        return [_shape(v) for v in node]
    return node


def test_a_portion_has_one_amount() -> None:
    """Mass and volume together, or neither, is refused."""
    with pytest.raises(ValueError, match="mass or a volume"):
        Portion(of="x")
    with pytest.raises(ValueError, match="mass or a volume"):
        Portion(of="x", mass=Entry(value=1.0), volume=Entry(value=1.0))


def test_wanted_fractions_add_up() -> None:
    """Dry fractions that do not add up to one are refused with their sum."""
    with pytest.raises(ValueError, match=r"0\.9"):
        Mix(name="m", wanted=(Share(of="a", fraction=0.5), Share(of="b", fraction=0.4)))


def test_a_measured_condition_has_a_value() -> None:
    """Measured without a value is a contradiction."""
    with pytest.raises(ValueError, match="needs its value"):
        Condition(known=Known.MEASURED)


def test_every_demo_record_has_one_text() -> None:
    """All kinds in use survive text and back."""
    import numpy as np

    for record in build(np.random.default_rng(3)).records:
        assert canonical(read_json(type(record), canonical(record))) == canonical(record)
