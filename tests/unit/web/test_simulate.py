"""What if: a change typed in fields, its prediction marked as such."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from aerode.records.electrodes import Electrode, RecipeState
from aerode.records.figures import Dash
from aerode.records.mixes import Mix
from aerode.store.bench_file import BenchFile
from aerode.usecases.simulate_change import ChangeQuestion, simulate_change
from aerode.usecases.simulate_ready import Standing
from aerode.web.words import with_signs

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

    from aerode.web.guard.middleware import Guard

CHOSEN = re.compile(r'value="([^"]*)" selected')
THICKER = {"item": "T1", "what1": "thickness", "how1": "+0,2 mm"}


def test_a_change_is_predicted_and_says_so(looking: TestClient, tern_sound: Path) -> None:
    """The headline of the use-case, the mark of a prediction, the figure with its files."""
    page = looking.get("/simulate", params=THICKER)
    with BenchFile.open(tern_sound, read_only=True) as bench:
        question = ChangeQuestion(changes=("thickness +0,2 mm",), rank=False, draws=500)
        found = simulate_change(bench, "T1", question)
    name = found.figures[0].name
    drawn = looking.get(f"/figures/simulate/{name}.csv", params=THICKER)

    assert with_signs(found.headline) in page.text
    assert "predicted, not measured" in page.text
    assert f"/figures/simulate/{name}.svg?item=T1" in page.text
    assert "predicted" in drawn.text
    assert all(s.basis.value != "measured" for s in found.figures[0].series if s.dash is not Dash.NONE)  # fmt: skip


def test_settings_gone_through(looking: TestClient) -> None:
    """A sweep alone, without a change."""
    asked = {"item": "T1", "vary": "thickness", "low": "0.2 mm", "high": "0.6 mm", "steps": "3"}
    page = looking.get("/simulate", params=asked).text

    assert "The settings gone through, predicted" in page


@pytest.mark.parametrize(
    ("field", "text"), [("at", "5 kg"), ("steps", "100"), ("known", "magic = 3"), ("how1", "a lot")]
)
def test_what_cannot_be_read_is_said(looking: TestClient, field: str, text: str) -> None:
    """The text stays in its field."""
    page = looking.get("/simulate", params={**THICKER, field: text})

    assert page.status_code == 400
    assert f'value="{text}"' in page.text


def test_an_empty_bench_says_what_it_lacks(inside: TestClient) -> None:
    """No electrode, no mix."""
    page = inside.get("/simulate")

    assert page.status_code == 200
    assert "no electrode and no mix" in page.text


def test_nothing_is_predicted_before_something_is_asked(looking: TestClient) -> None:
    """The first view is the form, at once."""
    page = looking.get("/simulate").text

    assert "predicted, not measured" not in page
    assert 'name="how1"' in page


def test_what_can_be_changed_is_said_in_words(looking: TestClient) -> None:
    """The words of the model stand beside what they mean, with printed units."""
    page = looking.get("/simulate").text

    assert "activity: how fast the catalyst works" in page
    assert "grain: radius of the wet grains, in µm" in page
    assert "[um]" not in page


def test_the_field_starts_with_a_piece_that_can_be_asked_about(
    on_tern_sound: TestClient, tern_place: Path
) -> None:
    """A newer piece without layers, or one that was bought, is not what stands in the field."""
    before = CHOSEN.findall(on_tern_sound.get("/simulate").text)
    with BenchFile.open(tern_place) as bench:
        bench.put(Electrode(name="just named"))
        bench.put(Electrode(name="bought one", recipe_state=RecipeState.BOUGHT))
    page = on_tern_sound.get("/simulate").text

    assert len(before) >= 1
    assert CHOSEN.findall(page) == before
    assert "just named" in page


def test_without_a_piece_that_can_be_asked_about_a_mix_stands_there(
    inside: TestClient, bench_place: Path
) -> None:
    """Only a nameless recipe among the pieces: the newest mix is offered first."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Mix(name="m1"))
        bench.put(Electrode(name="just named"))

    assert 'value="m1" selected' in inside.get("/simulate").text


def test_bare_numbers_have_the_units_of_their_labels(looking: TestClient) -> None:
    """+0,2 under "thickness, in mm", 2 under "in mA/cm²", 15 under "in °C": the same answer as with units."""
    full = {**THICKER, "at": "1 mA/cm2", "temperature": "15 degC"}
    bare = {**THICKER, "how1": "+0,2", "at": "1", "temperature": "15"}
    told = [looking.get("/simulate", params=asked) for asked in (full, bare)]
    heads = [re.search(r"<h1>(.*?)</h1>", page.text) for page in told]

    assert [page.status_code for page in told] == [200, 200]
    assert heads[0]
    assert heads[1]
    assert heads[0][1] == heads[1][1]


def test_what_is_lacking_leads_to_its_field(inside: TestClient, bench_place: Path) -> None:
    """No electrolyte is known: the fold with its field is open, marked, and one tap away."""
    from aerode.records.electrodes import Layer
    from aerode.records.marks import Entry
    from aerode.records.materials import Function, PowderLot, Solution
    from aerode.records.mixes import Ingredient, Portion

    with BenchFile.open(bench_place) as bench:
        bench.put(PowderLot(name="soot", substance="carbon black", function=Function.CONDUCTOR))
        bench.put(Solution(name="jar", polymer="PVB", solids=Entry(value=0.1)))
        portions = (
            Portion(of="soot", mass=Entry(value=8e-3)),
            Portion(of="jar", shelf=Ingredient.SOLUTION, mass=Entry(value=10e-3)),
        )
        bench.put(Mix(name="M7", portions=portions))
        bench.put(Electrode(name="E7", layers=(Layer(mix="M7"),), wetted_area=Entry(value=9e-4)))
    page = inside.get("/simulate", params={"item": "E7", "what1": "thickness", "how1": "+20 %"})

    assert page.status_code == 400
    assert 'href="#f-electrolyte">To the field “Electrolyte”' in page.text
    assert '<details class="later" open><summary>Under which conditions' in page.text


class _Half:
    """A solver that is half translated."""

    def standing(self) -> Standing | None:
        """The same at every look."""
        return Standing(done=13, of=26, seconds=9.7)


def test_while_the_solver_is_made_ready_the_page_says_how_far(
    inside: TestClient, app: Guard, bench_place: Path
) -> None:
    """With its parts counted, asking again by itself with and without scripts; the form is still there."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Electrode(name="T1"))
    app.app.state.settings.ready = _Half()  # pyright: ignore[reportFunctionMemberAccess]
    answer = inside.get("/simulate", params=THICKER)

    assert answer.status_code == 202
    assert "13 of 26 parts of the solver translated, 9 s so far" in answer.text
    assert '<progress id="f-ready" max="26" value="13">' in answer.text
    assert '<noscript><meta http-equiv="refresh" content="3"></noscript>' in answer.text
    assert "data-again" in answer.text
    assert 'value="+0,2 mm"' in answer.text
    assert inside.get("/simulate").status_code == 200
