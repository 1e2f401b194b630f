"""From "Blocked" to a verdict through the pages: the cell entered afterwards, and somebody's word that is kept."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode
from aerode.records.marks import Condition, Entry, Known
from aerode.records.materials import Aluminium, Electrolyte
from aerode.records.mixes import Mix
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.compare import compare

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

WARM = Condition(known=Known.MEASURED, value=294.15)
VOLTS = ((100.0, 1.10), (33.0, 0.98), (10.0, 0.72))


def _run(name: str, order: int, scale: float) -> Run:
    read = [
        Reading(load="open", voltage=1.25),
        *(Reading(load=f"{ohms:g} ohm", voltage=round(volts * scale, 3)) for ohms, volts in VOLTS),
    ]
    return Run(
        name=f"{name} loads", electrode=name, meter="meter 1", voltage_range="2 V",
        session="2026-05-09", order=order, readings=tuple(read), temperature=WARM, finished=True,
        started=f"2026-05-09T1{order}:00:00+00:00",
    )  # fmt: skip


@pytest.fixture
def measured(bench_place: Path) -> Path:
    """Two recipes, two pieces each, read one after the other; no cell is entered, no salt, no gap."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Mix(name="A"))
        bench.put(Aluminium(name="sheet 1"))
        bench.put(Electrolyte(name="brine", salt="sodium chloride", mass_fraction=Entry(value=0.1)))
        for order, name in enumerate(("A1", "B1", "B2", "A2"), start=1):
            area = Entry(value=9e-4, standard_uncertainty=1e-5)
            bench.put(Electrode(name=name, recipe=name[0], wetted_area=area))
            bench.put(_run(name, order, 1.0 if name[0] == "A" else 0.97))
    return bench_place


def _places(page: str, start: str) -> list[str]:
    return [place.replace("&amp;", "&") for place in re.findall(r'href="([^"]+)"', page) if place.startswith(start)]  # fmt: skip


def _compared(place: Path):
    with BenchFile.open(place, read_only=True) as bench:
        return compare(bench, try_changes=False)


def test_a_cell_entered_after_its_run_unblocks_by_the_links_of_the_page(
    inside: TestClient, measured: Path
) -> None:
    """Each line that blocks leads to the cell's form; four cells later nothing blocks, and it is said why."""
    blocked = inside.get("/compare").text
    assert "This blocks the comparison" in blocked
    assert "name the lot of aluminium" in blocked
    for name in ("A1", "B1", "B2", "A2"):
        place = f"/things/cell/new?electrode={name}"
        assert place in _places(blocked, "/things/cell/new")
        assert f'value="{name}"' in inside.get(place).text or f">{name}</option>" in inside.get(place).text  # fmt: skip
        told = {"name": f"cell {name}", "electrode": name, "aluminium": "sheet 1", "electrolyte": "brine", "gap": "5 mm"}  # fmt: skip
        stored = inside.post("/things/cell/new", data=told)
        assert f"Was it in cell {name}?" in stored.text
        assert f"{name} loads" in stored.text
        counts = f"{name} loads counts as taken in cell {name}: it is the only cell of {name}"
        assert counts in stored.text.replace("\N{NO-BREAK SPACE}", " ")

    after = inside.get("/compare").text
    assert "This blocks the comparison" not in after
    found = _compared(measured)
    lines = {line.key: line for line in found.conditions}
    assert lines["aluminium"].detail == "all cells name the lot sheet 1"
    assert lines["gap"].detail == "5 mm, from the cell's record"
    assert lines["salinity"].detail == "100 g/kg, from the electrolyte's record"
    assert not any(line.on_word for line in found.conditions if line.key in ("gap", "salinity"))
    assert "A1 loads names no cell and is taken to have been in cell A1: the only cell of A1 on this bench" in found.assumptions  # fmt: skip


def test_one_tap_names_the_cell_and_the_run_says_so(inside: TestClient, measured: Path) -> None:
    """Yes, it was in this cell: the run names it, with its reason in the history; another electrode's is refused."""
    told = {"name": "cell A1", "electrode": "A1", "aluminium": "sheet 1", "gap": "5 mm"}
    inside.post("/things/cell/new", data=told)
    closed = inside.get("/runs/A1 loads").text
    assert "taken: the only cell of A1 on this bench" in closed
    assert "Yes, it was in cell A1" in closed

    inside.post("/cell-runs", data={"cell": "cell A1", "run": "A1 loads"})

    with BenchFile.open(measured, read_only=True) as bench:
        assert bench.get(Run, "A1 loads").cell == "cell A1"
        assert bench.history(Run, "A1 loads")[-1].why == "it was in cell A1"
    refused = inside.post("/cell-runs", data={"cell": "cell A1", "run": "B1 loads"})
    assert refused.status_code >= 400
    assert "was of B1" in refused.text


def test_the_page_of_a_run_shows_what_the_bench_has_and_asks_nothing_twice(
    inside: TestClient, measured: Path
) -> None:
    """Salt, gap and lot stand there with their record; what is typed there goes first."""
    told = {"name": "cell A1", "electrode": "A1", "aluminium": "sheet 1", "electrolyte": "brine", "gap": "5 mm"}  # fmt: skip
    inside.post("/things/cell/new", data=told)

    for place in ("/runs/A1 loads", "/runs/A1 loads/conditions"):
        page = inside.get(place).text.replace("\N{NO-BREAK SPACE}", " ")
        assert "100 g/kg, from the electrolyte" in page
        assert "5 mm, from the cell" in page
        assert "lot sheet 1, from the cell" in page
    inside.post("/runs/A1 loads/conditions", data={"gap": "4 mm", "aluminium": "can", "temperature": "21"})  # fmt: skip
    with BenchFile.open(measured, read_only=True) as bench:
        run = bench.get(Run, "A1 loads")
    assert run.gap.value == pytest.approx(0.004)
    assert run.aluminium.text == "can"
    assert "lot can" in inside.get("/runs/A1 loads").text


def test_a_ticked_word_is_kept_until_it_is_taken_back(inside: TestClient, measured: Path) -> None:
    """Now, Compare, the report and the command line know it; taken back, it blocks again."""
    keys = re.findall(r'type="checkbox" name="same" value="(\w+)"', inside.get("/compare").text.split("<details")[0])  # fmt: skip
    assert {"salinity", "aluminium", "gap"} <= set(keys)
    kept = inside.post("/compare/same", data={"same": keys})
    assert "Kept on the bench" in kept.text

    word = "This rests on somebody's word: salt in the water; aluminium, its lot and surface; gap between the plates were taken as the same for all"  # fmt: skip
    for place in ("/", "/compare", "/report"):
        page = inside.get(place).text.replace("&#39;", "'").replace("\xa0", " ")
        assert word in page, place
        assert "Blocked" not in page
    found = _compared(measured)
    assert any(
        line.startswith("salt in the water: taken as the same") for line in found.assumptions
    )
    with BenchFile.open(measured, read_only=True) as bench:
        run = bench.get(Run, "B2 loads")
        assert run.salinity.known is Known.SAME
        assert "2026-05-09" in run.salinity.how
        assert "not measured" in bench.history(Run, "B2 loads")[-1].why

    back = inside.post("/compare/same", data={"back": "salinity"})
    assert "Taken back" in back.text
    assert "This blocks the comparison" in back.text
    assert _compared(measured).conditions[0].key == "area"
    assert [line.key for line in _compared(measured).conditions if line.blocks] == ["salinity"]


def test_what_is_measured_afterwards_goes_before_the_word(
    inside: TestClient, measured: Path
) -> None:
    """A gap that was taken as the same and is measured on every run rests on nobody's word any more."""
    inside.post("/compare/same", data={"same": ["salinity", "aluminium", "gap"]})
    for name in ("A1", "B1", "B2", "A2"):
        inside.post(f"/runs/{name} loads/conditions", data={"gap": "5 mm"})

    line = next(one for one in _compared(measured).conditions if one.key == "gap")
    assert (line.known, line.on_word, line.detail) == (Known.MEASURED, False, "5 mm")


def test_a_run_taken_later_has_nobodys_word(inside: TestClient, measured: Path) -> None:
    """The word holds for the runs it was given of: a new piece blocks, and alone."""
    inside.post("/compare/same", data={"same": ["salinity", "aluminium", "gap"]})
    with BenchFile.open(measured) as bench:
        bench.put(Electrode(name="A3", recipe="A", wetted_area=Entry(value=9e-4)))
        bench.put(_run("A3", 5, 1.01))

    lacking = {line.key: line.runs for line in _compared(measured).conditions if line.blocks}
    assert lacking == dict.fromkeys(("salinity", "aluminium", "gap"), ("A3 loads",))


def test_programs_keep_a_word_and_name_a_cell_alike(inside: TestClient, measured: Path) -> None:
    """The JSON interface does what the page does, and tells the comparison as it stands then."""
    told = inside.post("/json/compare/same", json={"same": ["rest"]}).json()
    assert told["verdict"] != "blocked"
    assert {line["key"] for line in told["conditions"] if line.get("on_word")} == {"salinity", "aluminium", "gap"}  # fmt: skip
    back = inside.post("/json/compare/same", json={"take_back": ["gap"]}).json()
    assert back["verdict"] == "blocked"

    inside.post("/things/cell/new", data={"name": "cell A1", "electrode": "A1", "gap": "5 mm"})
    named = inside.post("/json/cells/cell A1/runs", json={"runs": ["A1 loads"]})
    assert named.json() == {"runs": ["A1 loads"]}
    assert inside.post("/json/compare/same", json={"same": ["salinty"]}).status_code >= 400


def test_build_one_more_leads_to_the_pot_and_the_electrode_of_that_recipe(
    inside: TestClient, measured: Path
) -> None:
    """One build of each: the next act has its buttons on Compare and on the first page."""
    with BenchFile.open(measured) as bench:
        for name in ("A2", "B2"):
            bench.withdraw(Run, f"{name} loads")
            bench.withdraw(Electrode, name)
    inside.post("/compare/same", data={"same": ["salinity", "aluminium", "gap"]})

    for place in ("/compare", "/"):
        page = inside.get(place).text.replace("\xa0", " ")
        assert "Next: build one more of A" in page
        assert "/mixes/A/pots/new" in _places(page, "/mixes")
        assert "/things/electrode/new?recipe=A" in _places(page, "/things/electrode/new")
        assert "current density at" in page.split("</h1>")[0].split("<h1>")[1]
        assert "…" not in page.split("</h1>")[0]


def test_no_ammeter_no_word_of_its_order_and_each_fold_says_what_it_holds(
    inside: TestClient, measured: Path
) -> None:
    """No column of dashes, no order of an ammeter nobody read; every fold of an answer names what is inside."""
    inside.post("/compare/same", data={"same": ["salinity", "aluminium", "gap"]})
    page = inside.get("/compare").text
    assert "order is not the fair one" not in page
    assert "ammeter [mA]" not in page
    for name in ("verdicts", "why", "conditions", "assumptions"):
        fold = page.split(f'id="{name}"')[1].split("</summary>")[0]
        assert re.search(r"Inside: (the figure )?“[A-Z]|Inside: (one|\d+) sentence", fold), name
    report = inside.get("/report").text
    assert "So the report begins" not in report
