"""Compare in the browser: the verdict at once, the doubts on request, claims, the order of a session."""

from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import pytest

from aerode.quantities import Basis
from aerode.records.figures import Axis, Figure, Series
from aerode.records.places import Claim, RunOrder
from aerode.store.bench_file import BenchFile
from aerode.usecases.claim_form import claim_from_texts
from aerode.usecases.compare import compare
from aerode.usecases.compare_view import Asked, asked_from_texts, doubts, view
from aerode.web.figure_files import figure_csv

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient


def test_the_verdict_is_the_one_of_the_command_line(looking: TestClient, tern_sound: Path) -> None:
    """The page says of a claim what the same use-case says, and its interval is drawn."""
    page = looking.get("/compare", params={"claim": "less binder"})
    with BenchFile.open(tern_sound, read_only=True) as bench:
        found = compare(bench, claim="less binder", try_changes=False)

    asked = next(effect for effect in found.effects if effect.asked)
    assert page.status_code == 200
    assert f"{asked.ratio:.2f} times" in page.text
    assert 'id="effects-720-t"' in page.text


def test_the_first_view_looks_for_no_changes(tern_sound: Path) -> None:
    """No input is changed in the first answer, only electrodes are left out; the second changes them."""
    with BenchFile.open(tern_sound, read_only=True) as bench:
        first = view(bench, Asked(claim="less binder"))
        second = doubts(bench, Asked(claim="less binder"))

    assert all(one.change is None for one in first.comparison.overturn)
    assert second is not None
    assert second.tables[0].rows


def test_what_would_overturn_it_is_a_page_of_its_own(looking: TestClient) -> None:
    """Without scripts a link leads there; the question goes with it and back."""
    first = looking.get("/compare", params={"at": "0.45 V", "by": "binder"})
    place = "/compare/overturn?at=0.45+V&amp;by=binder"
    second = looking.get(place.replace("&amp;", "&"))

    assert place in first.text
    assert 'id="doubts"' in second.text
    assert "in uncertainties" in second.text
    assert "/compare?at=0.45+V&amp;by=binder" in second.text


@pytest.mark.parametrize("field", ["at", "margin", "per_kelvin", "spread"])
def test_a_field_that_cannot_be_read_is_marked_and_kept(looking: TestClient, field: str) -> None:
    """Nothing is compared; the text stands in its field."""
    page = looking.get("/compare", params={field: "many apples"})

    assert page.status_code == 422
    assert 'value="many apples"' in page.text
    assert page.text.count('aria-invalid="true"') == 1


def test_only_some_electrodes(looking: TestClient) -> None:
    """Ticked electrodes are compared, the others are not on the table."""
    page = looking.get("/compare?electrode=T5&electrode=T6").text

    assert re.search(r"<h1>[^<]*T5 (gives [^<]*than|and) T6", page), page[page.index("<h1>") :][
        :200
    ]
    assert '<th scope="row">T1</th>' not in page


def test_an_empty_bench_is_told_what_to_measure(inside: TestClient) -> None:
    """No electrodes, no verdict: the page says what it takes."""
    page = inside.get("/compare")

    assert page.status_code == 200
    assert "two electrodes" in page.text


def test_figures_are_files(looking: TestClient) -> None:
    """SVG that stands alone, CSV with one line for each point; other names are not there."""
    drawn = looking.get("/figures/compare/ammeter-beside-fair.svg")
    table = looking.get("/figures/compare/ammeter-beside-fair.csv")

    assert ElementTree.fromstring(drawn.text).tag.endswith("svg")
    assert "attachment" in drawn.headers["content-disposition"]
    rows = list(csv.reader(io.StringIO(table.text)))
    assert {row[0] for row in rows[1:]} == {f"T{k}" for k in range(1, 9)}
    assert looking.get("/figures/compare/nothing.svg").status_code == 404
    assert looking.get("/figures/compare/contrasts.exe").status_code == 404


def test_a_text_that_a_spreadsheet_would_run_is_guarded() -> None:
    """A name that begins as a formula does gets an apostrophe before it; numbers get none."""
    series = Series(label="=1+1", x=(-1.0,), y=(2.0,), basis=Basis.MEASURED)
    figure = Figure(name="f", title="t", x=Axis(title="x"), y=Axis(title="y"), series=(series,), alt="a")  # fmt: skip
    row = list(csv.reader(io.StringIO(figure_csv(figure))))[1]

    assert row[0] == "'=1+1"
    assert row[1] == "-1.0"


def test_a_claim_is_kept_with_its_date(on_tern_sound: TestClient, tern_place: Path) -> None:
    """What was typed comes in as on the command line; the page says what its builds can reach."""
    sent = {"name": "wax", "question": "Does wax help?", "at": "450 mV", "margin": "15 %", "builds": "12"}  # fmt: skip
    made = on_tern_sound.post("/claims/new", data=sent, follow_redirects=False)
    page = on_tern_sound.get(made.headers["location"])

    with BenchFile.open(tern_place) as bench:
        claim = bench.get(Claim, "wax")
    assert (claim.at, claim.margin, claim.builds, claim.made) == (0.45, 1.15, 12, "2026-05-09")
    assert "6 + 6 builds" in page.text


def test_a_claim_can_be_tried_without_keeping_it(inside: TestClient, bench_place: Path) -> None:
    """A GET shows the reach and stores nothing."""
    page = inside.get("/claims/new", params={"builds": "8", "margin": "10 %", "spread": "10 %"})

    assert "1.27" in page.text
    with BenchFile.open(bench_place) as bench:
        assert bench.all(Claim) == []


def test_a_claim_says_what_an_empty_point_does_and_where_its_order_is_drawn(
    inside: TestClient,
) -> None:
    """Which of voltage and current to choose, what empty does; the order has its button on the empty page of Compare too."""
    page = inside.get("/claims/new", params={"builds": "8", "margin": "20"}).text
    told = page.split('id="f-at-e">')[1].split("</p>")[0]

    assert "leave empty: what suits all that were read" in told
    assert "for a battery that must hold it" in told
    assert "for an equal load" in told
    assert "A difference of just 1.2 times would mostly" in page
    assert 'href="/compare/order"' in inside.get("/compare").text


def test_a_claim_with_faults_names_each(inside: TestClient) -> None:
    """Every bad field is marked at once and keeps its text."""
    sent = {"name": "", "at": "5 kg", "builds": "some", "margin": "a bit"}
    page = inside.post("/claims/new", data=sent)

    assert page.status_code == 422
    assert page.text.count('aria-invalid="true"') == 4
    assert 'value="5 kg"' in page.text


def test_a_bare_margin_is_per_cent(inside: TestClient, bench_place: Path) -> None:
    """15 in a field of per cent is 15 %; 1.1 may be a ratio, and is asked about in the field's words."""
    inside.post("/claims/new", data={"name": "wax", "margin": "15"})
    claims = inside.get("/claims").text.replace("\N{NO-BREAK SPACE}", " ")
    assert "worth having from 15 %" in claims
    with BenchFile.open(bench_place) as bench:
        assert bench.get(Claim, "wax").margin == pytest.approx(1.15)

    page = inside.post("/claims/new", data={"name": "wax 2", "margin": "1.1"})
    assert "1.1 may be 1.1 % or 10 %" in page.text.replace("\N{NO-BREAK SPACE}", " ")
    far = inside.post("/claims/new", data={"name": "wax 2", "margin": "900"}).text
    assert "Smallest difference worth having</a>: &#39;900 %&#39; is no difference" in far
    assert "0.1 % to 400 %" in far.replace("\N{NO-BREAK SPACE}", " ")


def test_a_name_is_claimed_once(on_tern_sound: TestClient) -> None:
    """A claim that stands is not silently overwritten by a second one of its name."""
    page = on_tern_sound.post("/claims/new", data={"name": "less binder"})

    assert page.status_code == 422
    assert "stands on the bench already" in page.text


def test_claim_at_a_current_density_asks_for_a_voltage() -> None:
    """The unit of the point says which response is meant."""
    claim, spread, faults = claim_from_texts({"name": "c", "at": "2 mA/cm^2", "spread": "12 %"}, made="")  # fmt: skip

    assert not faults
    assert claim is not None
    assert claim.at == 20.0
    assert claim.response.startswith("voltage")
    assert spread == 0.12


def test_the_order_of_a_session_is_drawn_once(on_tern_sound: TestClient, tern_place: Path) -> None:
    """Control first, in the middle and last; the second press of the button draws nothing more."""
    sent = {"session": "2026-06-01", "control": "C0", "electrode": ["T1", "T2", "T3"], "once": "k"}
    first = on_tern_sound.post("/compare/order", data=sent, follow_redirects=False)
    second = on_tern_sound.post("/compare/order", data=sent, follow_redirects=False)
    page = on_tern_sound.get(first.headers["location"])

    with BenchFile.open(tern_place) as bench:
        orders = [one for one in bench.all(RunOrder) if one.session == "2026-06-01"]
    assert len(orders) == 1
    assert (orders[0].electrodes[0], orders[0].electrodes[-1]) == ("C0", "C0")
    assert second.headers["location"] == first.headers["location"]
    assert "The order for 2026-06-01" in page.text


def test_an_order_of_one_is_refused_and_keeps_the_ticks(on_tern_sound: TestClient) -> None:
    """The reason stands on the page, the form as it was."""
    page = on_tern_sound.post("/compare/order", data={"session": "s", "electrode": "T1"})

    assert page.status_code == 400
    assert 'value="T1" checked' in page.text


def test_asked_holds_no_field_that_cannot_be_read() -> None:
    """What could not be read is left out of the question and named."""
    asked, faults = asked_from_texts({"at": "0.45 V", "margin": "x"}, ["T1"])

    assert asked.at == "0.45 V"
    assert asked.margin == ""
    assert list(faults) == ["margin"]


def test_one_next_act_said_alike_everywhere(looking: TestClient, tern_sound: Path) -> None:
    """Home, compare and report name the act of the record, once each, and no other act beside it."""
    with BenchFile.open(tern_sound, read_only=True) as bench:
        found = compare(bench, try_changes=False)
    act = found.next_act
    assert act is not None
    home, page = looking.get("/").text, looking.get("/compare").text
    whole = looking.get("/report/whole?at=").text
    plain = [re.sub(r"\s+", " ", text.replace("\u00a0", " ")) for text in (home, page, whole)]

    assert all(text.count(act.do) == 1 for text in plain), [text.count(act.do) for text in plain]
    assert f"Next: {act.do}" in plain[0]
    assert f"Next: {act.do}" in plain[1]
    assert all(act.why in text or act.why.capitalize() in text for text in plain)


def test_the_words_of_a_statistician_stand_in_their_own_fold(looking: TestClient) -> None:
    """Levels, degrees of freedom and standard deviations are there, folded, and nowhere else."""
    page = looking.get("/compare").text
    fold = page[page.index('id="statistician"') :]
    fold = fold[: fold.index('<details class="fold')]
    rest = page.replace(fold, "")

    for word in ("degrees of freedom", "level", "multiplicative"):
        assert word in fold
        assert word not in re.sub(r"<[^>]*>", " ", rest), word


def test_what_is_below_the_answer_is_folded_and_nothing_is_lost(looking: TestClient) -> None:
    """Every section is in the page without a script; all but the answer opens on demand."""
    page = looking.get("/compare").text

    for name in ("verdicts", "why", "air", "leaks", "conditions", "not-measured", "assumptions"):
        assert f'<details class="fold" id="{name}"' in page, name
    assert page.index("Next: ") < page.index('<details class="fold"')
    assert 'id="ask"' in page


def test_what_was_claimed_beforehand_leads_on_the_first_page_and_on_compare(looking: TestClient) -> None:  # fmt: skip
    """One bench, one answer: the claim's verdict is the heading, the open comparison follows it."""
    for place in ("/", "/compare"):
        text = looking.get(place).text
        head = text.split("<h1>")[1].split("</h1>")[0].replace("\xa0", " ")
        assert head.startswith("It is shown that raising the binder from 10 % to 20 % lowers")
        assert "Stated beforehand, as the claim “less binder”" in text
        assert "Besides, without a claim" in text
        assert "No claim was written down beforehand" not in text
    assert "Stated beforehand" not in looking.get("/compare?at=0.5 V").text


def test_what_could_not_be_read_is_told_with_the_range_that_suits_all(looking: TestClient) -> None:
    """0.9 V lies above every run: each electrode with what was measured, and the range for all."""
    text = looking.get("/compare?at=0.9 V").text.replace("\xa0", " ")
    assert "0 of 8 electrodes could be read. A comparison needs two." in text
    assert "<b>T6</b>: measured 0.34 to 0.70 V." in text
    assert "choose a voltage from 0.34 to 0.67 V" in text
