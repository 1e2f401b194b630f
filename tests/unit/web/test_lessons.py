"""Class mode: a lesson fitted to its minutes, codes, refusals, slips, groups put together."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from aerode.records.electrodes import Cell, Electrode
from aerode.records.marks import Entry
from aerode.records.materials import Electrolyte, PowderLot, Solution, SolventLot
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_sheet_parts import stir
from aerode.usecases.group_codes import CODES
from aerode.usecases.lesson import (
    Goal,
    LessonQuestion,
    LessonStep,
    fit_to_minutes,
    plan_lesson,
)
from aerode.usecases.lesson_groups import groups_of
from aerode.usecases.mix import MixQuestion, what_it_dries_to

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

STEPS = st.lists(
    st.builds(
        LessonStep, key=st.uuids().map(str), title=st.just(""), do=st.just(""),
        minutes=st.integers(1, 30), rank=st.integers(0, 5), turns=st.booleans(),
    ),
    min_size=1, max_size=9,
)  # fmt: skip


@given(steps=STEPS, minutes=st.integers(15, 240), rounds=st.integers(1, 5))
def test_what_is_needed_is_always_there_and_nothing_overruns(
    steps: list[LessonStep], minutes: int, rounds: int
) -> None:
    """Every needed step, in order, without gaps; what is optional never makes it too long."""
    planned, left_out, spare = fit_to_minutes(steps, minutes, rounds)
    keys = [one.step.key for one in planned]

    assert keys == [s.key for s in steps if s.key in keys]
    assert {s.key for s in steps if s.rank == 0} <= set(keys)
    assert set(keys) | {s.key for s in left_out} == {s.key for s in steps}
    assert [one.begins for one in planned] == [sum(p.minutes for p in planned[:k]) for k in range(len(planned))]  # fmt: skip
    assert sum(one.minutes for one in planned) + spare == minutes
    assert spare >= 0 or all(one.step.rank == 0 for one in planned)
    if spare >= 0:
        assert all(s.minutes * (rounds if s.turns else 1) > 0 for s in left_out)


def test_45_and_90_minutes(tern_sound: Path) -> None:
    """With a meter for each group the short lesson measures; the long one also checks itself."""
    with BenchFile.open(tern_sound, read_only=True) as bench:
        short = plan_lesson(bench, LessonQuestion(minutes=45, groups=6, tools=6))
        long = plan_lesson(bench, LessonQuestion(minutes=90, groups=6, tools=6))

    assert short.fits
    assert long.fits
    assert {one.step.key for one in short.steps} < {one.step.key for one in long.steps}
    assert {"again", "exchange"} <= {one.step.key for one in long.steps}


def test_what_does_not_fit_says_what_would(tern_sound: Path) -> None:
    """Each way out, tried, fits."""
    with BenchFile.open(tern_sound, read_only=True) as bench:
        tight = plan_lesson(bench, LessonQuestion(minutes=45, groups=6, tools=1))
        way_out = plan_lesson(bench, LessonQuestion(minutes=int(tight.would_fit[-1].split()[0]), groups=6, tools=1))  # fmt: skip

    assert not tight.fits
    assert len(tight.would_fit) == 3
    assert way_out.fits
    assert way_out.spare == 0


def test_lye_and_aromatics_are_refused(bench_place: Path) -> None:
    """A cell with lye and a mix in toluene: named, with the way out, and out of the lesson."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Electrolyte(name="lye", salt="potassium hydroxide", mass_fraction=Entry(value=0.2)))  # fmt: skip
        bench.put(Electrode(name="E1"))
        bench.put(Cell(name="C1", electrode="E1", electrolyte="lye"))
        bench.put(SolventLot(name="thinner", substance="toluene"))
        bench.put(PowderLot(name="char A", substance="biochar", function="conductor"))  # pyright: ignore[reportArgumentType]
        bench.put(Solution(name="jar 1", polymer="PVB"))
        portions = (
            Portion(of="char A", shelf=Ingredient.POWDER, mass=Entry(value=0.01)),
            Portion(of="thinner", shelf=Ingredient.SOLVENT, mass=Entry(value=0.02)),
        )
        bench.put(Mix(name="M1", portions=portions))
        measure = plan_lesson(bench, LessonQuestion(goal=Goal.MEASURE))
        make = plan_lesson(bench, LessonQuestion(goal=Goal.MAKE))

    assert "lye" in " ".join(one.what for one in measure.refused)
    assert "E1" not in measure.electrodes
    assert "toluene" in " ".join(one.what for one in make.refused)
    assert all(one.do for one in (*measure.refused, *make.refused))
    assert "None of the mixes" in make.headline


def test_a_group_is_known_by_its_code_and_its_slips_are_flagged(on_tern_sound: TestClient, tern_place: Path) -> None:  # fmt: skip
    """A doubted reading and a corrected one stand with the group, the mended one marked."""
    readings = (
        Reading(load="22 ohm", voltage=5.2, text="5.2", doubt="more than this cell can give"),
        Reading(load="220 ohm", voltage=0.06, text="0.06"),
        Reading(load="220 ohm", voltage=0.6, text="0.6", replaces=1),
    )
    with BenchFile.open(tern_place) as bench:
        bench.put(Electrode(name="gull 1"))
        bench.put(Electrode(name="gullet"))
        bench.put(Run(name="gull 1 a", electrode="gull 1", readings=readings))
        gull = groups_of(bench, ("gull",))[0]
    page = on_tern_sound.get("/class").text

    assert gull.electrodes == ("gull 1",)
    assert [(slip.load, slip.mended) for slip in gull.slips] == [("22 ohm", False), ("220 ohm", True)]  # fmt: skip
    assert "more than this cell can give" in page
    assert "(mended)" in page


def test_groups_are_put_together_as_a_comparison(on_tern_sound: TestClient, tern_place: Path) -> None:  # fmt: skip
    """Two groups with readings: the link compares their pieces, by code."""
    with BenchFile.open(tern_place) as bench:
        for k, code in enumerate(("gull", "eel"), start=1):
            bench.put(replace(bench.get(Electrode, f"T{k}"), name=f"{code} 1", build=""))
            run = next(r for r in bench.all(Run) if r.name == f"T{k} loads")
            bench.put(replace(run, name=f"{code} run", electrode=f"{code} 1", cell=""))
    page = on_tern_sound.get("/class").text

    place = "/compare?electrode=gull+1&amp;electrode=eel+1"
    assert place in page
    assert on_tern_sound.get(place.replace("&amp;", "&")).status_code == 200


def test_worksheets_hold_codes_and_no_names(on_tern_sound: TestClient) -> None:
    """One for each group; loads of the bench in the table."""
    page = on_tern_sound.get("/class/worksheet", params={"groups": "3", "minutes": "45"}).text

    assert page.count("Worksheet of ") == 3
    assert all(f"Worksheet of {code}" in page for code in CODES[:3])
    assert "220 ohm" in page


def test_a_worksheet_says_the_minutes_that_its_steps_take(on_tern_sound: TestClient) -> None:
    """A lesson that overruns is told to the teacher; the paper names no length it does not keep."""
    page = on_tern_sound.get("/class/worksheet", params={"groups": "6", "minutes": "45"}).text
    last = max(int(minute) for minute in re.findall(r"–(\d+) min\)", page))

    assert last > 45
    assert f"the steps below go on to minute {last}" in page
    assert f", {last} minutes</span>" in page
    assert ", 45 minutes</span>" not in page


def test_paper_without_a_rule_says_that_this_is_no_clearance(on_tern_sound: TestClient) -> None:
    """Each group's sheet begins with what can hurt, or with the word that nothing on file speaks of it."""
    page = on_tern_sound.get("/class/worksheet", params={"groups": "3", "minutes": "90"}).text
    sheets = page.split("Worksheet of ")[1:]

    assert len(sheets) == 3
    assert all(0 < sheet.find('class="caution ') < sheet.find('class="boxes"') for sheet in sheets)


@pytest.mark.parametrize(("field", "text"), [("minutes", "5"), ("groups", "99"), ("minutes", "x"), ("tools", "-1")])  # fmt: skip
def test_what_cannot_be_planned_is_said_at_its_field(inside: TestClient, field: str, text: str) -> None:  # fmt: skip
    """The text stays."""
    page = inside.get("/class", params={field: text})

    assert page.status_code == 422
    assert 'aria-invalid="true"' in page.text


def test_an_empty_bench_is_told_what_it_lacks(inside: TestClient) -> None:
    """Electrodes for the groups."""
    assert "Still needed: 6 more whole electrodes" in inside.get("/class").text


@pytest.mark.parametrize("page", ["/class", "/class/worksheet"])
def test_what_is_to_be_read_aloud_stands_there(inside: TestClient, page: str) -> None:
    """On an empty bench too: the usual words before the first step, and those of making for making."""
    measuring = inside.get(page).text
    making = inside.get(page, params={"goal": "MAKE"}).text

    assert "Read the cautions aloud" in measuring
    for told in ("gives off hydrogen", "A small resistor gets hot", "Lye is not for a class"):
        assert 0 < measuring.find(told) < measuring.find("Read the cautions aloud")
    assert 0 < making.find("Solvent gives off vapour that can burn") < making.find("Read the cautions aloud")  # fmt: skip
    assert "A small resistor gets hot" not in making


def test_the_hydrogen_of_the_cells_of_the_bench_is_read_aloud(on_tern_sound: TestClient) -> None:
    """The figure of its own cells beside the usual words."""
    page = on_tern_sound.get("/class", params={"minutes": "90", "groups": "2", "tools": "2"}).text
    assert "of hydrogen an hour" in page
    assert "^" not in page.split("<main")[1]


def test_powder_and_liquid_meet_in_one_order(tern_sound: Path) -> None:
    """The lesson says what the bench sheet says: the liquid wets the powder in the jar."""
    with BenchFile.open(tern_sound) as bench:
        plan = plan_lesson(bench, LessonQuestion(goal=Goal.MAKE, minutes=120))
        dose = what_it_dries_to(
            bench, "b10 m16 70C", MixQuestion(area="9 cm^2", loading="45 mg/cm^2")
        ).dose
    assert dose is not None
    told = [one.step.do for one in plan.steps if one.step.key == "mix"] + [stir(dose).steps[0].act]
    assert all(re.match(r"Powders into the jar( \(.*\))?; wet them with a little of ", one) for one in told)  # fmt: skip


def test_the_worksheet_has_a_row_for_every_reading_of_the_plan(looking: TestClient) -> None:
    """No load, each load, two by hand, the first load again, the ammeter in mA, the other group's cell."""
    asked = "minutes=90&groups=1&goal=MEASURE&tools=1"
    page = looking.get(f"/class/worksheet?{asked}").text
    rows = re.findall(r'<tr><th scope="row">([^<]*)</th><td class="unit">([^<]*)</td>', page)

    assert rows == [
        ("no load", "V"), ("220 ohm", "V"), ("22 ohm", "V"), ("6.8 ohm", "V"), ("________", "V"),
        ("________", "V"), ("220 ohm again", "V"), ("ammeter", "mA"), ("other cell: 220 ohm", "V"),
        ("other cell: 22 ohm", "V"), ("other cell: 6.8 ohm", "V"),
    ]  # fmt: skip


def test_the_class_page_begins_with_its_form_and_refuses_nothing_unasked(looking: TestClient) -> None:  # fmt: skip
    """Six groups with one meter need more than 45 minutes: a length that fits stands in the field."""
    page = looking.get("/class").text

    assert page.index('id="f-minutes"') < page.index("Measuring fits into")
    assert "It does not fit" not in page
    assert "It does not fit into 45 minutes" in looking.get("/class?minutes=45&groups=6").text
    assert "/prints/labels?electrode=" in page
    assert "/prints/resistors?electrode=" in page


def test_usual_words_give_way_to_what_the_bench_says_of_the_same(tern_sound: Path) -> None:
    """A sheet of paper is short: where its own cautions speak of dust and rags, the usual words do not."""
    with BenchFile.open(tern_sound) as bench:
        plan = plan_lesson(bench, LessonQuestion(goal=Goal.MAKE, minutes=120, groups=2))
    assert {"dust", "flammable liquid"} <= {one.hazard for one in plan.cautions}
    assert [line for line in plan.usual if line.startswith(("Powders", "Wet rags"))] == []
    assert plan.usual
