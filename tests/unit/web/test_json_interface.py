"""The JSON interface: records as the command line prints them, readings off a logger, keys."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner
from tests.unit.web.alone import to_its_end

from aerode.records.electrodes import Electrode
from aerode.records.marks import Entry
from aerode.records.runs import Reading, Run, Settling
from aerode.store.bench_file import BenchFile
from aerode.web.guard.doors import Doors, Scope
from aerode.web.run_stream import MOST, Standing, events, standing_of
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from starlette.testclient import TestClient

    from aerode.web.guard.middleware import Guard

RUN = "/json/runs/T1%20loads"


@pytest.fixture
def begun(inside: TestClient) -> TestClient:
    """A run that a program began."""
    made = inside.post("/json/runs", json={"electrode": "T1"})
    assert made.status_code == 201
    assert made.json()["next_step"]["load"] == "open"
    return inside


@pytest.fixture
def measured(bench_place: Path) -> Path:
    """Two electrodes with a curve each."""
    with BenchFile.open(bench_place) as bench:
        for name, scale in (("T1", 1.0), ("T2", 0.9)):
            loads = (("open", 0.742), ("100 ohm", 0.66), ("33 ohm", 0.56), ("10 ohm", 0.4))
            readings = tuple(
                Reading(load=load, voltage=scale * v, text=f"{v}") for load, v in loads
            )
            bench.put(Electrode(name=name, wetted_area=Entry(value=9.5e-4, how="photo")))
            bench.put(Run(name=f"{name} loads", electrode=name, readings=readings, finished=True))
    return bench_place


def _run(place: Path, name: str = "T1 loads") -> Run:
    with BenchFile.open(place) as bench:
        return bench.get(Run, name)


@pytest.mark.parametrize(
    ("words", "place"),
    [(["fit", "T1 loads"], f"{RUN}/fit"), (["symptom", "leak"], "/json/symptoms?text=leak"), (["bench", "show"], "/json/bench"), (["bench", "history"], "/json/history"), (["compare"], "/json/compare")],
)  # fmt: skip
def test_answers_are_those_of_the_command_line(
    inside: TestClient, measured: Path, words: list[str], place: str
) -> None:
    """The same record, key by key, as `--json` prints."""
    from importlib import import_module

    from aerode.cli import VERBS

    command: Any = import_module(VERBS[words[0]][0]).command
    ran = CliRunner().invoke(command, [*words[1:], "--bench", str(measured), "--json"])
    answer = inside.get(place)

    assert answer.status_code == 200
    if ran.exit_code == 2:
        pytest.fail(ran.output)
    assert answer.json() == json.loads(ran.output)


def test_a_record_goes_round_in_si(inside: TestClient) -> None:
    """Stored as a document, read, changed by text, refused when it changed meanwhile, taken off, brought back."""
    place = "/json/records/electrode/T%20%2F1"
    made = inside.put(place, json={"name": "T /1", "wetted_area": {"value": 9.5e-4}})
    first = inside.get(place).json()
    changed = inside.patch(place, json={"note": "wavy"}, params={"state": first["state"]})
    late = inside.put(place, json={"name": "T /1"}, params={"state": first["state"]})
    gone = inside.delete(place)
    missing = inside.get(place)
    back = inside.post("/json/undo/electrode/T%20%2F1")

    assert made.status_code == 200
    assert first["record"]["wetted_area"]["value"] == 9.5e-4
    assert changed.json()["record"]["note"] == "wavy"
    assert late.status_code == 409
    assert gone.status_code == 204
    assert missing.status_code == 404
    assert back.json()["record"]["note"] == "wavy"


def test_a_thing_that_records_rest_on_is_not_taken_off(inside: TestClient) -> None:
    """As on the pages; it goes where nothing names it any more."""
    inside.post("/json/records/mesh", json={"name": "gauze", "material": "nickel"})
    inside.post("/json/records/electrode", json={"name": "T1", "mesh": "gauze"})
    refused = inside.delete("/json/records/mesh/gauze")
    assert refused.status_code == 400
    assert "electrode T1 rests on gauze" in refused.json()["what"]

    inside.patch("/json/records/electrode/T1", json={"mesh": ""})
    assert inside.delete("/json/records/mesh/gauze").status_code == 204


def test_what_was_made_is_not_taken_off_under_what_rests_on_it(inside: TestClient) -> None:
    """A mix with a pot, a pot with a piece, a piece with a cell: each goes after what names it, and not before."""
    for kind, made in (
        ("powder", {"name": "char", "substance": "biochar", "function": "active carbon"}),
        ("mix", {"name": "T5", "wanted": "char: 100 %"}),
        ("batch", {"name": "T5 pot", "mix": "T5"}),
        ("electrode", {"name": "T1", "build": "T1", "layers.0.batch": "T5 pot"}),
        ("cell", {"name": "jar", "electrode": "T1"}),
    ):
        assert inside.post(f"/json/records/{kind}", json=made).status_code == 201
    rests = {"mix/T5": "batch T5 pot", "batch/T5 pot": "electrode T1", "electrode/T1": "cell jar"}
    for place, user in rests.items():
        refused = inside.delete(f"/json/records/{place}")
        assert refused.status_code == 400
        assert f"{user} rests on {place.partition('/')[2]}" in refused.json()["what"]
        assert inside.get(f"/json/records/{place}").status_code == 200

    for place in ("cell/jar", *reversed(rests)):
        assert inside.delete(f"/json/records/{place}").status_code == 204


def test_the_way_back_does_not_take_off_what_others_rest_on(inside: TestClient) -> None:
    """Undoing a first state is a removal, and is refused in the words of one; so is going back to a withdrawn state."""
    inside.post("/json/records/mesh", json={"name": "gauze", "material": "nickel"})
    gone = inside.post("/json/undo/mesh/gauze").json()["state"]
    inside.post("/json/undo/mesh/gauze")
    inside.post("/json/records/electrode", json={"name": "T1", "mesh": "gauze"})
    inside.post("/json/records/cell", json={"name": "jar", "electrode": "T1"})
    removal = inside.delete("/json/records/electrode/T1").json()
    undone = inside.post("/json/undo/electrode/T1")
    assert undone.status_code == 400
    assert {key: undone.json()[key] for key in removal} == removal
    assert "cell jar rests on T1" in removal["what"]
    for to in ("", gone):
        refused = inside.post("/json/undo/mesh/gauze", params={"to": to})
        assert "electrode T1 rests on gauze" in refused.json()["what"]
    assert inside.get("/json/records/mesh/gauze").status_code == 200
    assert inside.delete("/json/records/bench/bench").status_code == 400
    assert "title of the bench" in inside.post("/json/undo/bench/bench").json()["what"]

    assert inside.post("/json/undo/cell/jar").status_code == 200
    assert inside.post("/json/undo/electrode/T1").status_code == 200


def test_amounts_and_shares_of_a_mix_that_disagree_are_refused(inside: TestClient) -> None:
    """8 g and 2 g are no 50 and 50 %: by text, as a whole record and as a change; 80 and 20 % are taken."""
    for name in ("char", "black"):
        made = {"name": name, "substance": "biochar", "function": "conductor"}
        inside.post("/json/records/powder", json=made)
    amounts = {"portions": "char: 8.00 g; black: 2.00 g"}
    refused = inside.post("/json/records/mix", json={"name": "M", **amounts, "wanted": "char: 50 %; black: 50 %"})  # fmt: skip
    assert refused.status_code == 400
    assert "char is 80 % of the dry coat by the amounts, and 50 % by its share" in refused.text
    assert "an amount or a share of each" in refused.text
    assert inside.get("/json/records/mix/M").status_code == 404

    taken = {"name": "M", **amounts, "wanted": "char: 80 %; black: 20 %"}
    assert inside.post("/json/records/mix", json=taken).status_code == 201
    record = inside.get("/json/records/mix/M").json()["record"]
    record["wanted"] = [{"of": "char", "fraction": 0.5}, {"of": "black", "fraction": 0.5}]
    assert inside.put("/json/records/mix/M", json=record).status_code == 400
    changed = inside.patch("/json/records/mix/M", json={"wanted": "char: 50 %; black: 50 %"})
    assert changed.status_code == 400
    assert inside.get("/json/records/mix/M").json()["record"]["wanted"][0]["fraction"] == 0.8
    assert inside.patch("/json/records/mix/M", json={"note": "stirred"}).status_code == 200


def test_a_clash_of_one_field_is_asked_about(inside: TestClient) -> None:
    """Two programs changed the same field from the same state."""
    inside.post("/json/records/electrode", json={"name": "T1", "note": "flat"})
    state = inside.get("/json/records/electrode/T1").json()["state"]
    inside.patch("/json/records/electrode/T1", json={"note": "wavy"})
    clash = inside.patch(
        "/json/records/electrode/T1", json={"note": "torn"}, params={"state": state}
    )

    assert clash.status_code == 409
    assert "wavy" in clash.json()["what"]


def test_every_bad_field_is_named(inside: TestClient) -> None:
    """Bounds and units are those of the record; a strange field is refused; nothing is stored."""
    document = {"name": "T1", "wetted_area": {"value": "x"}, "colour": "blue"}
    refused = inside.put("/json/records/electrode/T1", json=document)
    typed = inside.post("/json/records/electrode", json={"name": "T1", "wetted_area": "9 apples"})
    other = inside.put("/json/records/electrode/T2", json={"name": "T1"})

    assert refused.status_code == 400
    assert {f["field"] for f in refused.json()["faults"]} >= {"wetted_area.value", "colour"}
    assert typed.status_code == 400
    assert typed.json()["faults"][0]["field"] == "wetted_area"
    assert other.status_code == 400
    assert inside.get("/json/records/electrode").json()["total"] == 0


def test_a_logger_posts_and_is_not_heard_twice(
    begun: TestClient, outside: TestClient, doors: Doors, bench_place: Path
) -> None:
    """With a key of that run alone: watched, taken, and what is sent again is passed over."""
    secret = doors.new_key(label="pico", scope=Scope.READINGS, run="T1 loads")
    outside.cookies.clear()
    bearer = {"authorization": f"Bearer {secret}"}
    watched = {
        "readings": [{"count": k, "voltage": 0.742, "waited": 20.0 * k} for k in range(1, 5)]
    }  # fmt: skip
    taken = {"readings": [{"count": 5, "voltage": 0.742, "waited": 120.0, "take": True}]}
    for sent in (watched, watched, taken, taken):
        answer = outside.post(f"{RUN}/readings", headers=bearer, json=sent)
        assert answer.status_code == 200, answer.text

    run = _run(bench_place)
    assert len(run.readings) == 1
    assert len(run.readings[0].trace) == 5
    assert run.readings[0].settling is Settling.SETTLED
    assert answer.json()["next_step"]["load"] == "100 ohm"
    with BenchFile.open(bench_place) as bench:
        assert bench.history()[-1].who == "pico"


def test_all_of_a_message_is_taken_or_nothing(begun: TestClient, bench_place: Path) -> None:
    """One reading that cannot be: each such is named, nothing is stored; with leave it is kept, doubted."""
    sent = [
        {"count": 1, "voltage": 0.742, "take": True},
        {"count": 2, "voltage": 742.0, "take": True},
    ]
    refused = begun.post(f"{RUN}/readings", json={"readings": sent})
    before = len(_run(bench_place).readings)
    kept = begun.post(
        f"{RUN}/readings", json={"readings": [sent[0], {**sent[1], "keep_doubtful": True}]}
    )

    assert refused.status_code == 400
    assert refused.json()["faults"][0]["field"] == "readings.1.voltage"
    assert before == 0
    assert kept.status_code == 200
    readings = _run(bench_place).readings
    assert readings[0].doubt == ""
    assert "742" in readings[1].doubt


def test_what_was_stored_before_a_refusal_is_not_taken_twice(
    begun: TestClient, bench_place: Path
) -> None:
    """A second reading that cannot be beside the first stops there; sent again, the first is passed over."""
    first = {"count": 1, "voltage": 0.742, "take": True}
    more = {"count": 2, "voltage": 0.9, "take": True}
    refused = begun.post(f"{RUN}/readings", json={"readings": [first, more]})
    begun.post(f"{RUN}/readings", json={"readings": [first, {**more, "voltage": 0.66}]})

    assert refused.status_code == 400
    assert [r.voltage for r in _run(bench_place).readings] == [0.742, 0.66]


def test_a_fast_logger_is_one_line_of_the_history(begun: TestClient, bench_place: Path) -> None:
    """Two hundred timed readings of one message are one state, bounded, and not called settled for being alike."""
    sent = [{"count": k, "voltage": 0.742, "waited": 0.05 * k} for k in range(200)]
    begun.post(f"{RUN}/readings", json={"readings": sent})
    with BenchFile.open(bench_place) as bench:
        states = len(bench.history(Run, "T1 loads"))
    page = begun.get("/runs/T1%20loads").text
    too_many = [{"count": 200 + k, "voltage": 0.742} for k in range(100)]
    full = begun.post(f"{RUN}/readings", json={"readings": too_many})

    assert states == 2
    assert len(_run(bench_place).readings[0].trace) == 240
    assert full.status_code == 400
    assert "take the reading now" not in page


def test_a_closed_run_takes_nothing(begun: TestClient) -> None:
    """409, and what to do; a run that is not there is 404."""
    begun.post(f"{RUN}/acts/finish", json={})
    sent = {"readings": [{"voltage": 0.742}]}

    assert begun.post(f"{RUN}/readings", json=sent).status_code == 409
    assert begun.post("/json/runs/none/readings", json=sent).status_code == 404


def test_a_reading_far_off_is_refused_or_kept_doubted_and_taken_back(
    begun: TestClient, bench_place: Path
) -> None:
    """As on the page: asked about, kept on request; the last one back, and put back."""
    begun.post(f"{RUN}/readings", json={"readings": [{"voltage": 1.25, "take": True}]})
    slip = {"voltage": 0.108, "take": True}
    refused = begun.post(f"{RUN}/readings", json={"readings": [slip]})
    assert refused.status_code in {400, 409, 422}
    assert "1.08 V" in refused.text
    begun.post(f"{RUN}/readings", json={"readings": [{**slip, "keep_doubtful": True}]})
    back = begun.post(f"{RUN}/acts/back", json={}).json()
    assert back["next_step"]["load"] == "100 ohm"
    put = begun.post(f"{RUN}/acts/put", json={}).json()
    assert put["next_step"]["load"] == "33 ohm"

    with BenchFile.open(bench_place) as bench:
        readings = bench.get(Run, "T1 loads").readings
    assert [r.voltage for r in readings] == [1.25, 0.108]
    assert "is expected at 100 ohm" in readings[1].doubt  # put back with the doubt it had


def test_a_run_by_program_alone(begun: TestClient, bench_place: Path) -> None:
    """Read, correct, doubt, skip, note conditions, close, fit, figures."""
    for volts in (0.742, 0.66, 0.56):
        sent = {"readings": [{"voltage": volts, "take": True, "waited": 120.0}]}
        begun.post(f"{RUN}/readings", json=sent)
    begun.post(f"{RUN}/readings/2/correction", json={"text": "565 mV"})
    begun.post(f"{RUN}/readings/0/doubt", json={"why": "lead"})
    begun.post(f"{RUN}/readings/0/doubt", json={"doubted": False})
    growing = begun.get(f"{RUN}/figures").json()["figures"]
    begun.put(f"{RUN}/conditions", json={"temperature": "21 °C"})
    begun.post(f"{RUN}/readings", json={"readings": [{"voltage": 0.4, "take": True}]})
    begun.post(f"{RUN}/acts/skip", json={"note": "enough"})
    begun.post(f"{RUN}/acts/finish", json={})

    run = _run(bench_place)
    assert run.finished
    assert run.readings[3].replaces == 2
    assert run.temperature.value == pytest.approx(294.15)
    assert growing[0]["name"] == "growing"
    assert begun.get(f"{RUN}/fit").json()["schema"] == "aerode.fit/1"
    assert {f["name"] for f in begun.get(f"{RUN}/figures").json()["figures"]} >= {"curves"}
    assert begun.get("/json/runs").json()["runs"][0]["name"] == "T1 loads"


def test_the_tray_by_program(inside: TestClient, bench_place: Path) -> None:
    """Filed and placed."""
    inside.post("/json/records/electrode", json={"name": "T1"})
    filed = inside.post("/json/tray", json={"reading": "742 15 ohm"})
    placed = inside.post("/json/tray/reading%201/place", json={"electrode": "T1"})

    assert filed.status_code == 201
    assert _run(bench_place, placed.json()["run"]).readings[0].resistance == 15.0


def test_questions_have_the_fields_of_the_command_line(inside: TestClient) -> None:
    """Process, property, symptom, next, schema; a strange field is refused."""
    sent = {"solvents": ["ethanol"], "wet": "1.4 g", "solids": "18%", "area": "36 cm^2"}
    drying = inside.post("/json/ask/drying", json=sent)
    strange = inside.post("/json/ask/drying", json={**sent, "colour": "blue"})
    made = inside.post(
        "/json/ask/property", json={"quantity": "density", "of": "ethanol", "strength": {}}
    )

    assert drying.json()["schema"].startswith("aerode.process")
    assert strange.status_code == 422
    assert "colour" in strange.json()["faults"][0]["field"]
    assert made.status_code == 200
    assert inside.get("/json/next").json()["schema"] == "aerode.what-next/1"
    assert inside.get("/json/schemas/electrode").json()["$id"] == "electrode/3"


@pytest.mark.parametrize(
    "text", ['{"name": NaN}', "{", "[]", '"x"', '{"a": 1e999}', '{"name": "\\ud800"}']
)
def test_a_body_that_is_no_document_is_refused(inside: TestClient, text: str) -> None:
    """With a sentence, never a fault."""
    kind = {"content-type": "application/json"}
    answer = inside.put("/json/records/electrode/T1", content=text.encode(), headers=kind)

    assert answer.status_code in {400, 422}
    assert answer.json()["schema"] == "aerode.refusal/1"


def test_the_document_is_served_here_and_listed(inside: TestClient) -> None:
    """OpenAPI of our own, and a plain page made from it; no outside page of docs."""
    document = inside.get("/json/openapi.json").json()
    page = inside.get("/json").text

    assert document["openapi"].startswith("3.")
    assert all(path.startswith("/json/") for path in document["paths"])
    for path in document["paths"]:
        assert path in page
    assert inside.get("/docs").status_code == 404
    assert inside.get("/redoc").status_code == 404


def test_a_key_is_shown_once_and_taken_back(begun: TestClient, doors: Doors) -> None:
    """The page of making shows it with a line to try; the list does not; taken back it opens nothing."""
    made = begun.post("/loggers", data={"label": "pico", "scope": "readings", "run": "T1 loads"})
    listed = begun.get("/loggers").text
    secret = made.text.split("Bearer ")[1].split("&#39;")[0].split("'")[0]
    number = doors.keys()[0].number
    known = doors.key(secret)
    begun.post(f"/loggers/{number}/drop")

    assert known is not None
    assert known.run == "T1 loads"
    assert "curl -X POST" in made.text
    assert secret not in listed
    assert "pico" in listed
    assert doors.key(secret) is None
    assert begun.post(f"/loggers/{number}/drop").status_code == 404


def test_a_key_without_a_run_or_a_name_is_not_made(begun: TestClient, doors: Doors) -> None:
    """The form says what is missing."""
    assert begun.post("/loggers", data={"label": "", "run": "T1 loads"}).status_code == 422
    assert begun.post("/loggers", data={"label": "pico", "run": "none"}).status_code == 422
    assert doors.keys() == []


def _gathered(lines: AsyncIterator[bytes]) -> list[str]:
    async def gather() -> list[str]:
        return [line.decode() async for line in lines]

    return to_its_end(gather())


def test_a_stream_tells_of_each_change_and_ends_with_the_run() -> None:
    """One event for each state, none while nothing was written, the last one when the run is closed."""
    states = iter(
        [
            Standing("a", 0, False),
            Standing("a", 0, False),
            Standing("b", 1, False),
            Standing("c", 1, True),
        ]
    )
    marks = iter([0, 0, 1, 1, 2, 3])
    looks: list[Standing] = []

    async def look() -> Standing:
        looks.append(next(states))
        return looks[-1]

    async def pause() -> None:
        return None

    said = _gathered(events(look, changed=lambda: next(marks), pause=pause))

    assert [line.split("\n")[-4] if "retry" not in line else "first" for line in said] == ["first", "event: reading", "event: reading", "event: closed"]  # fmt: skip
    assert '"state": "b"' in said[1]
    assert len(looks) == 4


def test_a_quiet_stream_says_that_it_is_there_and_ends_by_itself() -> None:
    """A line now and then keeps the connection; after its looks it ends, and the browser asks again."""

    async def look() -> Standing:
        return Standing("a", 0, False)

    async def pause() -> None:
        return None

    said = _gathered(events(look, changed=lambda: 0, pause=pause, looks=31))

    assert said[1:] == [": still here\n\n"] * 2


def test_a_look_holds_no_connection(begun: TestClient, bench_place: Path) -> None:
    """The file can be moved away right after it: nothing has it open."""
    settings = Settings(bench=str(bench_place), port=1)
    found = standing_of(settings, "T1 loads")

    assert found.readings == 0
    assert not bench_place.with_name(f"{bench_place.name}-wal").exists()


def test_streams_are_bounded(begun: TestClient, app: Guard) -> None:
    """One more than may be open is sent away with 503; a run that is not there with 404."""
    inner: Any = app.app
    inner.state.streams = MOST
    full = begun.get("/runs/T1%20loads/stream")
    inner.state.streams = 0

    assert full.status_code == 503
    assert begun.get("/json/runs/none/stream").status_code == 404
    assert inner.state.streams == 0


def test_a_stream_of_a_closed_run_ends_at_once(begun: TestClient, app: Guard) -> None:
    """The page is told, and the place is free again."""
    begun.post(f"{RUN}/acts/finish", json={})
    answer = begun.get("/runs/T1%20loads/stream")
    inner: Any = app.app

    assert answer.headers["content-type"].startswith("text/event-stream")
    assert "event: closed" in answer.text
    assert inner.state.streams == 0


def test_a_stream_ends_for_who_is_shown_out(begun: TestClient, app: Guard, doors: Doors) -> None:
    """Nothing more is sent to a visitor who is out; the place of the stream is free again."""
    from types import SimpleNamespace

    from starlette.responses import StreamingResponse

    from aerode.web.run_stream import run_stream

    inner: Any = app.app
    visitor = doors.visitors()[0]
    doors.show_out(visitor.number)
    request: Any = SimpleNamespace(app=inner, scope={"state": {"visitor": visitor, "key": None}})

    async def gather() -> list[Any]:
        answer = await run_stream(request, "T1 loads")
        assert isinstance(answer, StreamingResponse)
        return [line async for line in answer.body_iterator]

    assert to_its_end(gather()) == []
    assert inner.state.streams == 0


def test_a_whole_document_that_cannot_be_true_is_refused(inside: TestClient) -> None:
    """An electrode lighter than its mesh, a run at 210 °C: named by the field, as in the forms."""
    light = {"name": "T8", "mass": {"value": 1e-3}, "mesh_mass": {"value": 2e-3}}
    hot = {"name": "R8", "electrode": "T1", "temperature": {"known": "measured", "value": 483.15}}
    for kind, document, field in (("electrode", light, "mass"), ("run", hot, "temperature")):
        refused = inside.put(f"/json/records/{kind}/{document['name']}", json=document)

        assert refused.status_code in {400, 422}
        assert field in refused.text
        assert inside.get(f"/json/records/{kind}/{document['name']}").status_code == 404
