"""Old documents: a fake first version of a kind, read through a step to the second."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from aerode.errors import DamagedError, NewerFileError
from aerode.records.marks import Entry, Share
from aerode.records.materials import Function, PowderLot, SolventLot
from aerode.records.mixes import Mix
from aerode.store.bench_file import BenchFile
from aerode.store.upcasts import UPCASTS, Upcasts


def _name_the_substance(old: dict[str, Any]) -> dict[str, Any]:
    """The invented older definition called the substance `liquid`."""
    return {"name": old["name"], "substance": old["liquid"]}


LATER = Upcasts(versions={"solvent": 1}, steps={("solvent", 0): _name_the_substance})
FIRST = Upcasts()
"""As it was when every kind stood at its first version."""


def test_an_old_document_is_read_through_the_step() -> None:
    """Version 0 becomes version 1 on reading; version 1 is read as it is."""
    expected = SolventLot(name="b", substance="ethanol")

    assert expected == LATER.read("solvent/0", '{"name":"b","liquid":"ethanol"}', where="")
    assert expected == LATER.read("solvent/1", '{"name":"b","substance":"ethanol"}', where="")


def test_stored_bytes_stay(tmp_path: Path) -> None:
    """A bench written in version 1 is read by a program at version 2; the old row is untouched."""

    def doubled(old: dict[str, Any]) -> dict[str, Any]:
        return {**old, "note": "from version 1"}

    with BenchFile.create(tmp_path / "a", title="x", upcasts=FIRST) as bench:
        before = bench.put(SolventLot(name="b", substance="ethanol"))
    second = Upcasts(versions={"solvent": 2}, steps={("solvent", 1): doubled})

    with BenchFile.open(tmp_path / "a", upcasts=second) as bench:
        assert bench.get(SolventLot, "b").note == "from version 1"
        assert [before] == bench.history(SolventLot)
        after = bench.put(bench.get(SolventLot, "b"))
        assert (before.schema, after.schema) == ("solvent/1", "solvent/2")
        assert bench.check().whole


def test_a_newer_document_is_refused_for_writing_and_read_where_it_can(tmp_path: Path) -> None:
    """The older program reads what it knows, names what it does not, and writes nothing."""
    newer = Upcasts(versions={"solvent": 3}, steps={("solvent", 2): dict})
    with BenchFile.create(tmp_path / "a", title="x", upcasts=newer) as bench:
        bench.put(SolventLot(name="b", substance="ethanol"))
        bench.put(PowderLot(name="soot", substance="lamp black", function=Function.CONDUCTOR))

    with pytest.raises(NewerFileError, match="reading only"):
        BenchFile.open(tmp_path / "a")
    with BenchFile.open(tmp_path / "a", read_only=True) as bench:
        assert [one.name for one in bench.all(PowderLot)] == ["soot"]
        with pytest.raises(NewerFileError, match="solvent/2"):
            bench.get(SolventLot, "b")


def test_a_missing_step_is_told() -> None:
    """A way that does not reach is refused when it is written down, and when it is walked."""
    with pytest.raises(ValueError, match="solvent/2"):
        Upcasts(versions={"solvent": 3}, steps={("solvent", 1): dict})
    with pytest.raises(DamagedError, match="solvent/0"):
        UPCASTS.read("solvent/0", "{}", where="")
    with pytest.raises(DamagedError, match="cannot be read"):
        UPCASTS.read("solvent", "{}", where="")


MIX_1 = (
    '{"name":"T5","portions":[{"mass":{"text":"8.50 g","value":0.0085},"of":"char A"}],'
    '"wanted":[{"fraction":0.85,"of":"char A"},{"fraction":0.15,"of":"jar 1"}]}'
)
"""A document of mix/1, byte for byte as that version wrote it."""


def test_a_mix_of_the_first_version_has_no_rest() -> None:
    """Its shares stay plain numbers, its portions keep what was typed."""
    mix = UPCASTS.read("mix/1", MIX_1, where="")

    assert isinstance(mix, Mix)
    assert (mix.rest, [s.fraction for s in mix.wanted]) == ((), [0.85, 0.15])
    assert mix.portions[0].mass == Entry(value=0.0085, text="8.50 g")
    assert UPCASTS.schema("mix") == "mix/2"


def test_a_mix_with_a_rest_is_of_the_second_version(tmp_path: Path) -> None:
    """A changed old mix is written as mix/2; its old state keeps its bytes."""
    old = Upcasts()
    mix = Mix(name="T5", wanted=(Share(of="a", fraction=0.85), Share(of="b", fraction=0.15)))
    with BenchFile.create(tmp_path / "a", title="x", upcasts=old) as bench:
        bench.put(mix)
    with BenchFile.open(tmp_path / "a") as bench:
        bench.put(replace(mix, rest=("a",)))
        first, second = bench.history(Mix, "T5")
        assert (first.schema, second.schema) == ("mix/1", "mix/2")
        assert bench.get(Mix, "T5").rest == ("a",)
        assert bench.check().whole
    with (
        BenchFile.open(tmp_path / "a", read_only=True, upcasts=old) as bench,
        pytest.raises(NewerFileError, match="mix/2"),
    ):
        bench.get(Mix, "T5")


@pytest.mark.parametrize(
    "kind", ["aluminium", "electrolyte", "instrument", "mesh", "powder", "solution", "solvent"]
)
def test_a_thing_of_the_first_version_still_stands_on_the_shelf(kind: str) -> None:
    """Its first document is read as it was; what is gone is written as the second version."""
    more = {"powder": '"substance":"char","function":"catalyst"', "solution": '"polymer":"PVB"',
            "solvent": '"substance":"ethanol"', "mesh": '"material":"steel"', "electrolyte": '"salt":"KOH"',
            "aluminium": '"grade":"foil"', "instrument": '"sort":"scale"'}  # fmt: skip
    found = UPCASTS.read(f"{kind}/1", f'{{"name":"b",{more[kind]}}}', where="")

    assert (found.name, found.gone) == ("b", None)
    assert UPCASTS.schema(kind) == f"{kind}/2"


def test_an_electrode_of_the_first_version_has_nobodys_word() -> None:
    """Its document is read as it was, through both steps; a word on its area came with electrode/2."""
    found = UPCASTS.read("electrode/1", '{"name":"T6","wetted_area":{"value":0.00095}}', where="")

    assert (found.name, found.area_alike) == ("T6", False)
    assert UPCASTS.schema("electrode") == "electrode/3"


def test_an_electrode_of_the_second_version_was_weighed_alone() -> None:
    """Its weighings are read as they were; pieces weighed together came with electrode/3."""
    doc = '{"name":"T6","area_alike":true,"weighings":[{"mass":0.01243,"after":900.0}]}'
    found = UPCASTS.read("electrode/2", doc, where="")

    assert found.area_alike
    assert [(one.mass, one.beside, one.pieces) for one in found.weighings] == [(0.01243, (), 1)]
