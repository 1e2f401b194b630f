"""The mixes in the browser: planned, seen, weighed, changed, with the cautions before the weights."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from tests.unit.web.conftest import rows_of

from aerode.records.marks import Entry, Share
from aerode.records.materials import MeshCard, Solution, SolventLot
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def test_an_empty_list_says_what_comes_first(inside: TestClient) -> None:
    """Without a mix the page leads to the powder, the binder, and the form."""
    text = inside.get("/mixes").text

    assert "No mix yet" in text
    assert "/things/powder/new" in text
    assert "/mixes/new" in text


@pytest.mark.usefixtures("stocked")
def test_the_list_says_what_each_mix_dries_to(inside: TestClient) -> None:
    """8.5 g of powder and 15 g of a 10 % solution leave 85 and 15 % (by hand: 8.5 against 1.5 g)."""
    text = inside.get("/mixes").text

    assert "1 mix" in text
    assert "85 % char A, 15 % PVB" in text
    assert "no pot made yet" in text


@pytest.mark.usefixtures("stocked")
def test_cautions_stand_above_the_weights(inside: TestClient) -> None:
    """The flammable liquid is named before the first number of the dose sheet."""
    text = inside.get("/mixes/T5", params={"area": "9 cm^2", "loading": "25 mg/cm^2"}).text

    assert text.index("flammable") < text.index('class="tight doses"')
    assert "Print the bench sheet" in text


@pytest.mark.usefixtures("stocked")
def test_while_typing_nothing_is_stored(inside: TestClient, bench_place: Path) -> None:
    """The preview tells composition and cautions; the bench stays as it was."""
    sent = rows_of(("char A", "8,5 g", ""), ("jar 1", "15 g", ""))
    with BenchFile.open(bench_place) as bench:
        before = bench.newest()
    answer = inside.post("/mixes/preview", data=sent)

    assert answer.status_code == 200
    assert "this mix dries to" in answer.text
    assert "flammable" in answer.text
    assert "<html" not in answer.text
    with BenchFile.open(bench_place) as bench:
        assert bench.newest() == before


@pytest.mark.usefixtures("stocked")
def test_scripts_off_a_button_shows_what_it_dries_to(inside: TestClient, bench_place: Path) -> None:
    """The whole form comes back with the answer in it, and nothing is stored."""
    sent = {"name": "T6", "act": "show", **rows_of(("char A", "8.5 g", ""), ("jar 1", "15 g", ""))}
    answer = inside.post("/mixes/new", data=sent)

    assert answer.status_code == 200
    assert "T6 dries to" in answer.text
    assert 'value="8.5 g"' in answer.text
    with BenchFile.open(bench_place) as bench:
        assert bench.find(Mix, "T6") is None


@pytest.mark.usefixtures("stocked")
def test_a_mix_is_stored_by_weight_and_by_share(inside: TestClient, bench_place: Path) -> None:
    """A comma is a decimal sign, a volume is taken as one, and one share may be the rest."""
    sent = {"name": "T6", "once": "x", **rows_of(("char A", "8,5 g", ""), ("bottle", "3 mL", ""))}
    first = inside.post("/mixes/new", data=sent, follow_redirects=False)
    again = inside.post("/mixes/new", data=sent, follow_redirects=False)
    wanted = {"name": "T7", **rows_of(("char A", "", "rest"), ("jar 1", "", "15 %"))}
    second = inside.post("/mixes/new", data=wanted, follow_redirects=False)

    assert (first.status_code, second.status_code) == (303, 303)
    assert again.headers["location"] == first.headers["location"]
    with BenchFile.open(bench_place) as bench:
        weighed, shares = bench.get(Mix, "T6"), bench.get(Mix, "T7")
    assert weighed.portions[0].mass is not None
    assert weighed.portions[0].mass.value == pytest.approx(8.5e-3)
    assert weighed.portions[1].volume is not None
    assert weighed.portions[1].volume.value == pytest.approx(3e-6)
    assert weighed.portions[1].shelf is Ingredient.SOLVENT
    assert {share.of: share.fraction for share in shares.wanted} == pytest.approx(
        {"char A": 0.85, "jar 1": 0.15}
    )


@pytest.mark.usefixtures("stocked")
def test_what_cannot_be_taken_is_marked(inside: TestClient) -> None:
    """An unknown name, an unreadable amount and shares beyond the whole name their fields."""
    sent = {"name": "T5", **rows_of(("chor A", "8 g", ""), ("char A", "8 apples", ""), ("black B", "", "90 %"), ("jar 1", "", "15 %"))}  # fmt: skip
    answer = inside.post("/mixes/new", data=sent)

    assert answer.status_code == 422
    for field in ("f-rows-0-of", "f-rows-1-amount", "f-rows-3-share", "f-name"):
        assert f'href="#{field}"' in answer.text, field
    assert 'value="8 apples"' in answer.text
    assert "char A" in answer.text


@pytest.mark.usefixtures("stocked")
def test_a_change_keeps_what_nobody_touched(inside: TestClient, bench_place: Path) -> None:
    """The powder keeps its digits and how it was weighed; the solution is changed."""
    shown = inside.get("/mixes/T5/edit").text
    assert 'value="8.50 g"' in shown
    assert ">kitchen scale</p>" in shown
    sent = {"name": "T5 b", "why": "slip", **rows_of(("char A", "8.50 g", ""), ("jar 1", "14.0 g", ""))}  # fmt: skip
    answer = inside.post("/mixes/T5/edit", data=sent, follow_redirects=False)

    assert answer.headers["location"].startswith("/mixes/T5%20b")
    with BenchFile.open(bench_place) as bench:
        mix = bench.get(Mix, "T5 b")
    assert mix.portions[0] == Portion(
        of="char A", mass=Entry(value=8.5e-3, text="8.50 g", how="kitchen scale")
    )
    assert mix.portions[1].mass is not None
    assert mix.portions[1].mass.value == pytest.approx(14e-3)


@pytest.mark.usefixtures("stocked")
def test_a_copy_with_another_share_says_that_the_amounts_follow(inside: TestClient) -> None:
    """One page, one mix: the headline of the copy tells the new shares."""
    sent = {"name": "T6", "after": "T5", **rows_of(("char A", "8.50 g", "rest"), ("jar 1", "15.0 g", "30 %"))}  # fmt: skip
    assert "The amounts follow the new shares" in inside.post("/mixes/preview", data=sent).text
    page = inside.post("/mixes/new", data=sent).text

    assert "Its amounts follow the new shares" in page
    assert '<a href="/claims/new">say what you want to show</a>' in page  # before two are measured
    assert "dries to 70.0 % char A" in re.sub(r"\s+", " ", html.unescape(page)).replace("\xa0", " ")


@pytest.mark.usefixtures("stocked")
def test_a_change_against_its_weights_is_asked_about(inside: TestClient, bench_place: Path) -> None:
    """Two buttons, nothing stored before one is pressed; the amounts then decide the shares."""
    sent = {"name": "T5", **rows_of(("char A", "8.50 g", "70 %"), ("jar 1", "15.0 g", "30 %"))}
    asked = inside.post("/mixes/T5/edit", data=sent)
    assert asked.status_code == 422
    assert asked.text.count('name="holds"') == 2

    inside.post("/mixes/T5/edit", data={**sent, "holds": "amounts"})
    with BenchFile.open(bench_place) as bench:
        assert bench.get(Mix, "T5").wanted == ()


@pytest.mark.usefixtures("stocked")
def test_two_tabs_do_not_overwrite_each_other(inside: TestClient, bench_place: Path) -> None:
    """The second tab is told what the first one stored; sent again, it takes its place."""
    with BenchFile.open(bench_place) as bench:
        state = bench.state(Mix, "T5").digest
    for amount in ("9 g", "7 g"):
        sent = {"name": "T5", "state": state, **rows_of(("char A", amount, ""))}
        answer = inside.post("/mixes/T5/edit", data=sent, follow_redirects=False)
    assert answer.status_code == 409
    assert "9 g" in answer.text
    assert 'value="7 g"' in answer.text


@pytest.mark.usefixtures("stocked")
def test_a_copy_says_what_it_grew_out_of(inside: TestClient) -> None:
    """The rows are there, the name is free."""
    text = inside.get("/mixes/T5/copy").text

    assert "grown out of T5" in text
    assert 'value="char A"' in text
    assert 'name="after" value="T5"' in text


@pytest.mark.usefixtures("stocked")
def test_the_figure_comes_as_a_file(inside: TestClient) -> None:
    """SVG and CSV of the composition; the share of the powder is 85 % (8.5 of 10 g, by hand)."""
    svg, table = (inside.get(f"/mixes/T5/composition.{end}") for end in ("svg", "csv"))

    assert svg.headers["content-type"] == "image/svg+xml"
    first = next(line for line in table.text.splitlines() if line.startswith("by mass"))
    assert float(first.split(",")[1]) == pytest.approx(85.0, abs=0.1)


@pytest.mark.usefixtures("stocked")
def test_a_mix_and_an_electrode_may_bear_one_name(inside: TestClient) -> None:
    """The cautions ask about the mix, not about the electrode of the same name."""
    inside.post("/things/electrode/new", data={"name": "T5"})
    assert inside.get("/mixes/T5").status_code == 200


def test_a_mix_that_is_not_there_is_not_found(inside: TestClient) -> None:
    """404, with the near names."""
    assert inside.get("/mixes/T9").status_code == 404


@pytest.mark.usefixtures("stocked")
def test_the_plain_forms_lead_here(inside: TestClient) -> None:
    """A mix or a pot asked for as a plain thing is shown on its own page."""
    inside.post("/mixes/T5/pots/new", data={"name": "pot 1", **rows_of(("char A", "8.53 g", ""))})
    led = {
        "/things/mix/new": "/mixes/new",
        "/things/mix/T5": "/mixes/T5",
        "/things/mix/T5/edit": "/mixes/T5/edit",
        "/things/batch/pot%201": "/mixes/T5/pots/pot%201",
        "/things/batch/pot%201/edit": "/mixes/T5/pots/pot%201/edit",
    }
    for asked, place in led.items():
        answer = inside.get(asked, follow_redirects=False)
        assert answer.headers["location"] == place
        assert inside.get(place).status_code == 200


@pytest.mark.usefixtures("stocked")
def test_a_name_may_hold_a_slash(inside: TestClient) -> None:
    """A mix called "a/b" and its pot "p/1" have their pages."""
    inside.post("/mixes/new", data={"name": "a/b", **rows_of(("char A", "8 g", ""))})
    made = inside.post(
        "/mixes/a%2Fb/pots/new", data={"name": "p/1", **rows_of(("char A", "8.1 g", ""))}
    )

    assert "A pot of a/b" in made.text
    for place in ("a%2Fb", "a%2Fb/edit", "a%2Fb/copy", "a%2Fb/pots/p%2F1/edit"):
        assert inside.get(f"/mixes/{place}").status_code == 200, place


@pytest.mark.usefixtures("stocked")
def test_a_bare_amount_is_grams_as_its_label_says(inside: TestClient, bench_place: Path) -> None:
    """ "How much, in g": 8,5 is 8.5 g there; what is no amount is refused and kept."""
    asked = inside.get("/mixes/new").text
    taken = inside.post("/mixes/new", data={"name": "T8", **rows_of(("char A", "8,5", ""))})
    refused = inside.post("/mixes/new", data={"name": "T9", **rows_of(("char A", "8.5 cm", ""))})
    with BenchFile.open(bench_place) as bench:
        stored = bench.get(Mix, "T8").portions[0].mass

    assert "How much, in g" in asked
    assert taken.status_code == 200
    assert stored is not None
    assert stored.value == pytest.approx(8.5e-3)
    assert refused.status_code == 422
    assert "8.5 cm" in refused.text


@pytest.mark.usefixtures("stocked")
def test_a_mix_is_weighed_before_it_is_coated(inside: TestClient) -> None:
    """Without a pot the strong act is to weigh it; with one it is the coat, and another pot is quiet."""
    coat = 'href="/things/electrode/new?layers.0.mix=T5&amp;recipe=T5">Coat an electrode with it'
    bare = inside.get("/mixes/T5").text
    assert '<a class="button" href="/mixes/T5/pots/new">Weigh the pot</a>' in bare
    assert f'<a class="button quiet" {coat}' in bare
    dosed = inside.get("/mixes/T5?area=9&loading=25&scale=0.01").text
    assert "/mixes/T5/pots/new?area=9&amp;loading=25" in dosed[dosed.index("Pots of it") :]
    inside.post("/mixes/T5/pots/new", data={"name": "T5 pot 1", **rows_of(("char A", "8.5", ""), ("jar 1", "15", ""))})  # fmt: skip
    weighed = inside.get("/mixes/T5").text
    assert f'<a class="button" {coat}' in weighed
    assert "Weigh another pot" in weighed
    assert "+ pot" not in bare + weighed


@pytest.mark.usefixtures("stocked")
def test_the_form_of_a_piece_of_a_mix_has_its_pot_and_the_only_mesh(
    inside: TestClient, bench_place: Path
) -> None:
    """One pot and one mesh are filled in and said; of two pots the newest; of two meshes none."""
    with BenchFile.open(bench_place) as bench:
        bench.put(MeshCard(name="steel 40", material="stainless steel"))
        bench.put(Batch(name="first", mix="T5", made="2026-05-02"))
    asked = {"layers.0.mix": "T5", "recipe": "T5"}
    text = inside.get("/things/electrode/new", params=asked).text
    assert 'name="layers.0.batch" value="first"' in text
    assert 'name="mesh" value="steel 40"' in text
    assert (
        "Filled in: pot first, the only one of T5; mesh steel 40, the only one on the shelf."
        in text
    )
    with BenchFile.open(bench_place) as bench:
        bench.put(MeshCard(name="nickel", material="nickel"))
        bench.put(Batch(name="second", mix="T5", made="2026-05-09"))
        bench.put(Batch(name="entered late", mix="T5", made="2026-05-01"))
    text = inside.get("/things/electrode/new", params=asked).text
    assert 'name="layers.0.batch" value="second"' in text
    assert "pot second, the newest of 3 of T5." in text
    assert 'name="mesh" value=""' in text
    named = inside.get("/things/electrode/new", params={**asked, "layers.0.batch": "first"}).text
    assert 'name="layers.0.batch" value="first"' in named
    assert "Filled in" not in inside.get("/things/electrode/new").text


@pytest.mark.usefixtures("stocked")
def test_the_page_and_its_print_state_one_amount(inside: TestClient) -> None:
    """A mix of 15 g dosed for one small piece: both speak of the ethanol of the dose, and name it.

    9 cm² at 25 mg/cm² with 10 % spare are 0.2475 g dry, 15 % of it binder in a solution of 10 %:
    0.371 g, of which 90 % is ethanol: 0.33 g (by hand; the mix itself holds 13.5 g).
    """
    asked = {"area": "9 cm^2", "loading": "25 mg/cm^2"}
    page = inside.get("/mixes/T5", params=asked).text.replace("\N{NO-BREAK SPACE}", " ")
    sheet = inside.get("/prints/sheet/T5", params=asked).text.replace("\N{NO-BREAK SPACE}", " ")

    (line,) = set(re.findall(r"0\.33 g of ethanol over 9 cm²: [^<;.]*", page))
    assert line in sheet
    assert "of ethanol" in inside.get("/mixes/T5").text
    assert "14 g of ethanol" not in page + sheet
    whole = inside.get("/mixes/T5").text.replace("\N{NO-BREAK SPACE}", " ")
    assert "14 g of ethanol" in whole


@pytest.mark.usefixtures("stocked")
def test_cautions_of_a_mix_are_a_line_each_that_opens(inside: TestClient) -> None:
    """Each FIRST folds to its line above what goes in; the heading counts them in words."""
    text = inside.get("/mixes/T5").text
    hurts = text[text.index('aria-label="What can hurt"') : text.index('id="dose"')]

    assert '<details class="caution FIRST"><summary><b>FIRST</b>' in hurts
    line = hurts[hurts.index("<summary><b>FIRST</b>") : hurts.index("</summary>")]
    act = line[line.index("<strong>") + len("<strong>") : line.index("</strong>")]
    assert act.endswith(".")
    assert f"<p><strong>{act[:-1]}" in hurts
    assert '<div class="caution FIRST">' not in hurts
    assert "to do FIRST" in text[text.index('id="hurt"') : text.index('aria-label="What can hurt"')]


def test_where_no_room_is_entered_the_way_to_it_stands_there(
    inside: TestClient, bench_place: Path
) -> None:
    """A vapour that cannot be judged leads to what decides it; with a room the link is gone."""
    with BenchFile.open(bench_place) as bench:
        bench.put(SolventLot(name="remover", substance="acetone"))
        bench.put(Mix(name="T8", portions=(
            Portion(of="char A", mass=Entry(value=10e-3)),
            Portion(of="remover", shelf=Ingredient.SOLVENT, mass=Entry(value=14e-3)),
        )))  # fmt: skip
    assert (
        '<a class="button quiet" href="/things/room/new">Enter the room</a>'
        in inside.get("/mixes/T8").text
    )
    inside.post("/things/room/new", data={"name": "shed", "volume": "60"})

    assert 'href="/things/room/new"' not in inside.get("/mixes/T8").text


def test_a_mix_asks_what_its_plastic_is_dissolved_in(inside: TestClient, stocked: Path) -> None:
    """The question of the first page, with its link, above the cautions of the mix and of its pot; once said it is gone."""
    asked = "Say what the plastic is dissolved in: jar 1. T5 holds it."
    button = '<a class="button" href="/things/solution/jar%201/edit#f-liquid">Say it of jar 1</a>'
    assert asked not in inside.get("/mixes/T5").text

    with BenchFile.open(stocked) as bench:
        bench.put(replace(bench.get(Solution, "jar 1"), liquid=()))
    first = inside.get("/").text
    assert "Say it of jar 1" in first
    why = re.search(r"T5 holds it\.[^<]*", first)
    assert why
    with BenchFile.open(stocked) as bench:
        bench.put(Batch(name="T5 pot 1", mix="T5", portions=bench.get(Mix, "T5").portions))
    for place in ("/mixes/T5", "/mixes/T5/pots/T5 pot 1"):
        above, _, _ = inside.get(place).text.partition('<h2 id="hurt">')
        assert asked in above
        assert why[0].strip() in above
        assert button in above
    assert '"f-liquid"' in inside.get("/things/solution/jar 1/edit").text


def test_a_mix_of_a_jar_of_unknown_solids_is_stored_and_its_page_opens(
    inside: TestClient, stocked: Path
) -> None:
    """The page says that it is kept, what is missing and where it is entered; cautions stand as ever."""
    with BenchFile.open(stocked) as bench:
        bench.put(Solution(name="bare jar", polymer="PVB"))
    sent = {"name": "T9", "act": "store"} | rows_of(("char A", "8.5", ""), ("bare jar", "15", ""))
    kept = inside.post("/mixes/new", data=sent, follow_redirects=True)

    assert kept.status_code == 200
    assert "T9 is kept; what it dries to cannot be said yet" in kept.text
    assert 'href="/things/solution/bare%20jar/edit#f-label_solids">The solids of bare jar<' in kept.text  # fmt: skip
    assert "Before you open a jar" in kept.text
    with BenchFile.open(stocked) as bench:
        bench.put(Batch(name="T9 pot 1", mix="T9", portions=bench.get(Mix, "T9").portions))
    for place in ("/mixes/T9/pots/T9%20pot%201", "/mixes/T9/pots/new", "/mixes/T9/copy", "/mixes"):
        assert inside.get(place).status_code == 200, place

    form = inside.get("/things/solution/bare%20jar/edit").text
    assert form.index('id="f-label_solids"') < form.index("Dried dishes")


def test_far_more_black_than_usual_is_told_on_the_page_of_the_mix(
    inside: TestClient, stocked: Path
) -> None:
    """A mix of 90 % carbon black says the range on file, typed and stored; the biochar mix says nothing."""
    with BenchFile.open(stocked) as bench:
        bench.put(Mix(name="T9", wanted=(Share(of="black B", fraction=0.9), Share(of="jar 1", fraction=0.1))))  # fmt: skip
    typed = inside.post("/mixes/preview", data={"name": "T8"} | rows_of(("black B", "", "90"), ("jar 1", "", "10")))  # fmt: skip

    for text in (inside.get("/mixes/T9").text, typed.text):
        told = html.unescape(re.sub(r"<[^>]+>", "", text)).replace("\u00a0", " ")
        assert "Far more than usual: black B (carbon black) is 90 % of the dry coat" in told
        assert "10 to 25 % of the dry layer (common practice, no source)" in told
    assert "Far more than usual" not in inside.get("/mixes/T5").text
