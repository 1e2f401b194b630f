"""The history of a record: what changed, back to a state, two states settled."""

from __future__ import annotations

import re
import shutil
from typing import TYPE_CHECKING

from aerode.records.materials import PowderLot
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_merge import merge

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

HERE = "/history/powder/char A"


def _note(bench_place: Path, text: str, why: str = "") -> None:
    from dataclasses import replace

    with BenchFile.open(bench_place) as bench:
        bench.put(replace(bench.get(PowderLot, "char A"), note=text), why=why)


def test_every_state_says_when_why_and_what(inside: TestClient, bench_place: Path) -> None:
    """Newest first, each with what it changed."""
    _note(bench_place, "from the blue sack", "looked at the label")
    page = inside.get(HERE).text

    assert "char A has 2 states" in page
    assert "looked at the label" in page
    assert "from the blue sack" in page
    assert page.index("looked at the label") < page.index("first stored")


def test_a_typo_is_undone_and_that_too(inside: TestClient, bench_place: Path) -> None:
    """Back to the state before, as a new state; back again; nothing is lost."""
    _note(bench_place, "right")
    _note(bench_place, "wrnog")
    inside.post(f"{HERE}/undo", data={"why": "typed badly"})
    with BenchFile.open(bench_place) as bench:
        assert bench.get(PowderLot, "char A").note == "right"
    inside.post(f"{HERE}/undo", data={})
    with BenchFile.open(bench_place) as bench:
        assert bench.get(PowderLot, "char A").note == "wrnog"
        assert len(bench.history(PowderLot, "char A")) == 5


def test_back_to_any_state(inside: TestClient, bench_place: Path) -> None:
    """The form of a state names it; a second press does nothing more."""
    for text in ("one", "two", "three"):
        _note(bench_place, text)
    page = inside.get(HERE).text
    to = re.findall(r'name="to" value="([0-9a-f]+)"', page)[1]  # newest first, without the newest
    sent = {"to": to, "once": "z"}
    inside.post(f"{HERE}/undo", data=sent)
    inside.post(f"{HERE}/undo", data=sent)

    with BenchFile.open(bench_place) as bench:
        assert bench.get(PowderLot, "char A").note == "one"
        assert len(bench.history(PowderLot, "char A")) == 5


def test_two_states_stand_side_by_side_and_are_settled_by_field(
    inside: TestClient, bench_place: Path, tmp_path: Path
) -> None:
    """A bench changed in two places: both texts are shown; one state is kept, one field of the other taken."""
    from dataclasses import replace

    other = tmp_path / "laptop.aerode"
    shutil.copyfile(bench_place, other)
    _note(bench_place, "here")
    with BenchFile.open(other) as bench:
        lot = bench.get(PowderLot, "char A")
        bench.put(replace(lot, note="there", supplier="the mill"))
    with BenchFile.open(bench_place) as bench:
        merge(bench, other)
    page = inside.get(HERE).text

    assert "which one stands?" in page
    assert "here" in page
    assert "there" in page
    assert "stands in two states" in inside.get("/data").text
    keeps = re.findall(r'name="keep" value="([0-9a-f]+)"', page)
    with BenchFile.open(bench_place) as bench:
        mine = next(d for d in keeps if bench.read(bench.by_digest(d)).note == "here")
    theirs = next(d for d in keeps if d != mine)
    inside.post(f"{HERE}/settle", data={"keep": mine, "field.supplier": theirs, "field.note": ""})

    with BenchFile.open(bench_place) as bench:
        lot = bench.get(PowderLot, "char A")
        assert bench.conflicts() == []
    assert (lot.note, lot.supplier) == ("here", "the mill")


def test_the_bench_has_one_history(inside: TestClient) -> None:
    """Every record that was stored stands in it."""
    page = inside.get("/history").text

    assert "powder char A" in page
    assert "instrument meter 1" in page


def test_the_history_of_the_bench_leads_back_to_a_page_that_is_there(inside: TestClient) -> None:
    """The bench has no page of its own among its things."""
    page = inside.get("/history/bench/bench")

    assert page.status_code == 200
    assert "/things/bench" not in page.text
    assert 'href="/history"' in page.text


def test_what_never_was_is_not_there(inside: TestClient) -> None:
    """The near names are said."""
    assert inside.get("/history/powder/nothing").status_code == 404


def test_what_came_in_together_stands_together(inside: TestClient, bench_place: Path) -> None:
    """States of one minute and one reason are one entry; the date is written in words."""
    from dataclasses import replace

    with BenchFile.open(bench_place) as bench:
        lot = bench.get(PowderLot, "char A")
        bench.put_all([replace(lot, name=f"char {n}", note="") for n in range(5)])
    page = inside.get("/history").text

    together = next(one for one in page.split("<li>") if "char 4" in one)
    assert together.count("First stored:") == 1
    assert together.count("/history/powder/char%20") >= 5
    assert not re.search(r"\d{4}-\d{2}-\d{2}", together)


def test_what_was_added_is_said(inside: TestClient, bench_place: Path) -> None:
    """A field that was filled, with its unit; never a count of parts."""
    from dataclasses import replace

    from aerode.records.marks import Entry

    with BenchFile.open(bench_place) as bench:
        lot = bench.get(PowderLot, "char A")
        bench.put(replace(lot, largest_grain=Entry(value=9e-5, how="sieve")))
    page = inside.get(HERE).text

    assert "largest grain" in page
    assert "90 µm (sieve)" in page
    assert "parts" not in page.split('<ol class="states">')[1]


def test_the_first_state_stays_while_others_rest_on_it(inside: TestClient, bench_place: Path) -> None:  # fmt: skip
    """Undoing it would take the powder off the lists under its mix: refused, with the mix named."""
    from aerode.records.marks import Share
    from aerode.records.mixes import Mix

    with BenchFile.open(bench_place) as bench:
        bench.put(Mix(name="T9", wanted=(Share(of="char A", fraction=1.0),)))
    refused = inside.post(f"{HERE}/undo", data={})

    assert refused.status_code == 400
    assert "T9 rests on char A" in refused.text
    with BenchFile.open(bench_place) as bench:
        assert bench.find(PowderLot, "char A") is not None
