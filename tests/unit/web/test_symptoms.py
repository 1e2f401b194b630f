"""Trouble by symptom: rows by any words, and the answer kept with the piece."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.symptoms import Symptom
from aerode.store.bench_file import BenchFile
from aerode.usecases.symptom import what_it_may_be

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def test_all_of_them_stand_on_the_first_page(inside: TestClient) -> None:
    """Every row on file can be touched."""
    page = inside.get("/symptoms").text

    for row in what_it_may_be().rows:
        assert row.key in page


def test_any_words_find_the_row_with_its_test(inside: TestClient) -> None:
    """Causes with what tells them apart, the minutes of the test."""
    page = inside.get("/symptoms", params={"seen": "the liquid turns black"}).text
    row = what_it_may_be("the liquid turns black").rows[0]

    assert f"{row.minutes:g} min" in page
    assert page.count("<li><b>") >= len(row.causes)


def test_words_that_fit_nothing_are_kept(inside: TestClient) -> None:
    """The box keeps what was typed, and all rows are offered."""
    page = inside.get("/symptoms", params={"seen": "zzqx <b>"})

    assert page.status_code == 200
    assert 'value="zzqx &lt;b&gt;"' in page.text
    assert "all that are on file" in page.text


def test_it_was_this_is_kept_with_the_electrode(
    on_tern_sound: TestClient, tern_place: Path
) -> None:
    """The cause by its place in the list; the second press keeps nothing twice; it is shown next time."""
    row = what_it_may_be("wet air face").rows[0]
    sent = {"symptom": row.key, "on": "T1", "showed": "tissue 0.3 g", "cause": "1", "once": "m"}
    made = on_tern_sound.post("/symptoms/keep", data=sent, follow_redirects=False)
    on_tern_sound.post("/symptoms/keep", data=sent)
    page = on_tern_sound.get(made.headers["location"]).text

    with BenchFile.open(tern_place) as bench:
        kept = [one for one in bench.all(Symptom) if one.electrode == "T1"]
    assert [(one.symptom, one.cause, one.settled) for one in kept] == [(row.key, row.causes[0], True)]  # fmt: skip
    assert "Kept with T1" in page
    assert "tissue 0.3 g" in page


def test_what_was_said_or_found_leads(on_tern_sound: TestClient) -> None:
    """Water at the edge comes round it; found there once, it leads again, under its own number."""
    edge = "liquid comes round the edge"
    page = on_tern_sound.get("/symptoms", params={"seen": "water drips out at the edge"}).text
    assert f"Leak: wet air face: likely {edge}" in page
    assert page.index(f"<b>{edge}") < page.index("<b>liquid weeps")
    assert 'value="2"> <span>liquid comes round' in page

    before = on_tern_sound.get("/symptoms", params={"seen": "wet air face", "on": "T1"}).text
    assert "likely liquid weeps through the layer" in before
    sent = {"symptom": "wet air face", "on": "T1", "showed": "the ring gained", "cause": "2"}
    after = on_tern_sound.post("/symptoms/keep", data=sent).text
    assert f"likely {edge}" in after
    assert 'href="/electrodes/T1#outcome"' in after


def test_own_words_win_over_the_list(on_tern_sound: TestClient, tern_place: Path) -> None:
    """What was typed is the cause."""
    sent = {"symptom": "wet air face", "on": "T2", "other": "I dropped it", "cause": "1"}
    on_tern_sound.post("/symptoms/keep", data=sent)

    with BenchFile.open(tern_place) as bench:
        assert [one.cause for one in bench.all(Symptom)] == ["I dropped it"]


def test_nothing_to_keep_is_refused_and_nothing_is_lost(on_tern_sound: TestClient) -> None:
    """No piece chosen: the reason stands there, the text stays."""
    sent = {"symptom": "wet air face", "on": "", "showed": "a drop"}
    page = on_tern_sound.post("/symptoms/keep", data=sent)

    assert page.status_code == 400
    assert 'value="a drop"' in page.text
    assert 'role="alert"' in page.text


def test_a_weak_match_is_offered_and_not_told(inside: TestClient) -> None:
    """One near row is a question with a way on; its danger is said all the same."""
    page = inside.get("/symptoms", params={"seen": "smells of bleach"}).text

    assert "<h1>Is it one of these?</h1>" in page
    assert "likely" not in page.split("<main")[1]
    assert "“smells of bleach” fits nothing on file for sure" in page
    assert '<a href="/symptoms?seen=bubbles+at+the+cathode">' in page
    assert 0 < page.find("a reversed cell makes hydrogen, and in brine chlorine") < page.find('class="cards"')  # fmt: skip


def test_a_danger_links_to_the_cautions_and_names_no_command(inside: TestClient) -> None:
    """What the terminal asks for by a command is a link here."""
    page = inside.get("/symptoms", params={"seen": "smell at the press"}).text

    assert "aerode cautions" not in page
    assert '<a href="/cautions">' in page
