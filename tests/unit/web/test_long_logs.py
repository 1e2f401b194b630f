"""A run-down logged over the JSON interface for hours: every row kept, none twice, shown on its page."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest
from starlette.testclient import TestClient
from tests.unit.web.conftest import NOON, ORIGIN, PORT

from aerode.measure.comparison.air_or_battery import charge_drawn
from aerode.records.electrodes import Cell, Electrode
from aerode.records.marks import Entry
from aerode.records.runs import Run, RunSort
from aerode.store import series_tail
from aerode.store.bench_file import BenchFile
from aerode.store.series import outline
from aerode.usecases import bench_copies
from aerode.usecases.compare_study import study_of
from aerode.web.app import create_app
from aerode.web.guard.doors import Doors, Scope
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path


def _volts(n: int, of: int) -> float:
    """A slow fall in whole millivolts, with a spike of one second."""
    return 0.12 if n == of // 3 else round(1.31 - 0.4 * n / of, 3)


@pytest.fixture
def piece(bench_place: Path) -> Path:
    """The bench with an electrode in its cell."""
    with BenchFile.open(bench_place) as bench:
        bench.put(Electrode(name="T6"))
        bench.put(Cell(name="cell T6", electrode="T6"))
    return bench_place


def _begin(browser: TestClient, **said: str) -> str:
    answer = browser.post("/json/runs", json={"electrode": "T6", "kind": "run-down", "load": "15 ohm", **said})  # fmt: skip
    assert answer.status_code == 201, answer.text
    return answer.json()["run"]


def _post(browser: TestClient, run: str, readings: list[dict[str, Any]], **more: Any) -> Any:
    return browser.post(f"/json/runs/{run}/readings", json={"readings": readings}, **more)


def logged_for(seconds: int, place: Path) -> dict[str, Any]:
    """Log one reading a second in messages of ten minutes, with the program started again at half time.

    The new program knows no counters, and the sender was not answered: it sends the last message again.
    """
    settings = Settings(bench=str(place), port=PORT, clock=lambda: NOON)

    def started() -> TestClient:
        doors = Doors(clock=lambda: NOON)
        browser = TestClient(
            create_app(settings, doors), base_url=ORIGIN, headers={"origin": ORIGIN}
        )
        browser.get("/enter", params={"link": doors.new_link()})
        return browser

    def ten_minutes(begin: int) -> list[dict[str, Any]]:
        return [
            {"count": n, "voltage": _volts(n, seconds), "waited": float(n)}
            for n in range(begin, begin + 600)
        ]

    browser = started()
    run = _begin(browser)
    size = place.stat().st_size
    said = ""
    for begin in range(0, seconds, 600):
        if begin == seconds // 2:
            browser = started()
            assert _post(browser, run, ten_minutes(begin - 600)).status_code == 200
        answer = _post(browser, run, ten_minutes(begin))
        assert answer.status_code == 200, answer.text
        said = answer.json()["headline"]
    closed = browser.post(f"/json/runs/{run}/acts/finish", json={"note": ""})
    assert closed.json()["headline"].endswith("closed.")
    return {"run": run, "said": said, "grown": place.stat().st_size - size, "page": browser.get(f"/runs/{run}").text}  # fmt: skip


def expected(seconds: int) -> tuple[list[float], list[float]]:
    """Times and voltages as they were sent."""
    return [float(n) for n in range(seconds)], [_volts(n, seconds) for n in range(seconds)]


def test_one_reading_a_second_for_two_hours(piece: Path) -> None:
    """All rows, each once, closed and drawn with its spike; `tests/faults/` logs a whole day."""
    told = logged_for(7200, piece)
    with BenchFile.open(piece) as bench:
        series = bench.series(told["run"])
        kept = bench.get(Run, told["run"])
        assert bench.check().whole
        lowest = outline(bench, told["run"]).ranges["voltage"][0]

    assert told["said"] == "T6 run-down: 7,200 readings over 7199 s."
    assert (series["time"], series["voltage"]) == expected(7200)
    assert lowest == 0.12
    assert (kept.sort, kept.note, kept.cell, kept.finished) == (RunSort.RUN_DOWN, "load 15 ohm", "cell T6", True)  # fmt: skip
    assert "lowest 0.12" in told["page"]
    assert "<svg" in told["page"]


def test_rows_that_cannot_be_taken_are_each_named(inside: TestClient, piece: Path) -> None:
    """A time that goes backwards, no voltage, one that cannot be, another load: nothing of the message is kept."""
    run = _begin(inside)
    assert _post(inside, run, [{"voltage": 1.3, "waited": 5.0}]).status_code == 200
    refused = _post(inside, run, [
        {"voltage": 1.2, "waited": 6.0}, {"voltage": 1.2, "waited": 4.0}, {"waited": 7.0},
        {"voltage": 7.4, "waited": 8.0},
    ])  # fmt: skip
    other = _post(inside, run, [{"voltage": 1.2, "waited": 9.0, "load": "33 ohm"}])
    kept = _post(inside, run, [{"voltage": 7.4, "waited": 8.0, "keep_doubtful": True}])

    assert refused.status_code == 400
    assert [f["field"] for f in refused.json()["faults"]] == ["readings.1.waited", "readings.2.voltage", "readings.3.voltage"]  # fmt: skip
    assert other.status_code == 409
    assert kept.json()["headline"] == "T6 run-down: 2 readings over 8 s."


def test_a_key_of_a_logger_on_a_page_of_its_run(
    inside: TestClient,
    outside: TestClient,
    doors: Doors,
    piece: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Begun from the form; watched on its page, in the list and by the key alone; closed by a button."""
    monkeypatch.setattr(series_tail, "PACKED_AT", 5)
    unsaid = inside.post("/runs/start", data={"electrode": "T6", "kind": "run-down"})
    begun = inside.post(
        "/runs/start", data={"electrode": "T6", "kind": "run-down", "load": "100 ohm"}, follow_redirects=False
    )  # fmt: skip
    run = begun.headers["location"].rpartition("/")[2].replace("%20", " ")
    again = inside.post("/runs/start", data={"electrode": "T6", "kind": "run-down", "load": "100 ohm"}, follow_redirects=False)  # fmt: skip
    key = doors.new_key(label="pico", scope=Scope.READINGS, run=run)
    bare = TestClient(inside.app, base_url=ORIGIN)
    for n in range(7):
        sent = _post(
            bare, run, [{"voltage": 1.3 - n / 100}], headers={"authorization": f"Bearer {key}"}
        )
        assert sent.status_code == 200, sent.text
    page = inside.get(f"/runs/{run}").text

    assert unsaid.status_code == 422
    assert "resistor that is on all the time" in unsaid.text
    assert again.headers["location"] == begun.headers["location"]
    assert "7 readings" in page
    assert "at 100 ohm" in page
    assert "Close the run" in page
    assert "being logged" in inside.get("/runs").text
    assert run in inside.get("/loggers").text
    assert re.search(r"from 1\.3 to 1\.24 V", page)
    csv = inside.get(f"/figures/runs/{run}/series.csv")
    assert csv.status_code == 200
    closed = inside.post(f"/runs/{run}", data={"act": "finish"})
    assert closed.status_code == 200
    assert (
        _post(bare, run, [{"voltage": 1.0}], headers={"authorization": f"Bearer {key}"}).status_code
        == 409
    )
    with BenchFile.open(piece) as bench:
        assert len(bench.series(run)["time"]) == 7


def test_a_backup_holds_the_rows_that_wait(inside: TestClient, piece: Path) -> None:
    """They are packed before the copy is made; put back, the log goes on where the copy ends."""
    run = _begin(inside)
    _post(inside, run, [{"voltage": 1.3, "waited": float(n)} for n in range(3)])
    made = bench_copies.back_up(piece, moment=NOON - timedelta(hours=1))
    _post(inside, run, [{"voltage": 1.2, "waited": float(n)} for n in range(3, 5)])
    with BenchFile.open(made.path, read_only=True) as copy:
        assert copy.series(run)["time"] == [0.0, 1.0, 2.0]

    name = made.path.rpartition("/")[2]
    done = inside.post("/data/restore/do", data={"backup": name, "word": "shed"})
    assert done.status_code == 200, done.text
    answer = _post(inside, run, [{"voltage": 1.1, "waited": 3.5}])
    assert answer.json()["headline"] == "T6 run-down: 4 readings over 4 s."


def test_a_run_down_tells_what_it_drew_and_compare_counts_it(
    inside: TestClient, piece: Path
) -> None:
    """Ten hours at 0.6 V and 15 ohm (5 %): 400 mAh ± 2.9 %, 0.24 Wh; 20 mV in between is doubted; the time begins at 0; the charge counts as drawn."""
    with BenchFile.open(piece) as bench:
        bench.put(Electrode(name="T6", wetted_area=Entry(value=1e-3)))
    run = _begin(inside)
    rows = [
        {"count": n, "voltage": 0.02 if n == 300 else 0.6, "waited": 60.0 * n} for n in range(601)
    ]
    assert _post(inside, run, rows).status_code == 200
    page = inside.get(f"/runs/{run}").text.replace("\N{NO-BREAK SPACE}", " ")

    assert "It drew 400 ± 12 mAh (40.0 ± 1.2 mAh/cm²) and gave 240.0 ± 7.1 mWh to the end of the log" in page  # fmt: skip
    assert "lowest 0.02 V, highest 0.6 V" in page
    assert "One reading near nothing, the first at 5 h after 0.6 V, is doubtful" in page
    answer = page[page.index('class="answer"') :]
    assert answer[: answer.index("</p>")].count(" h, ") == 1  # how long it is, is said once
    ticks = re.findall(r'text-anchor="(?:middle|start)">(−?\d+)</text>', page)
    assert ticks
    assert ticks[0] == "0"
    with BenchFile.open(piece) as bench:
        study = study_of(bench, ("T6",))
        drawn = charge_drawn(study.runs_of_piece(bench.get(Electrode, "T6")), study.load_of, study.logged)  # fmt: skip
    assert drawn.charge == pytest.approx(1440.0, rel=1e-3)


def test_a_run_down_tells_how_long_its_voltage_held(inside: TestClient, piece: Path) -> None:
    """Hours to the usual levels, then to those that are asked for, with what they rest on; no voltage is refused in words."""
    run = _begin(inside)
    rows = [{"count": n, "voltage": round(0.9 - 0.05 * n / 60.0, 4), "waited": 60.0 * n} for n in range(601)]  # fmt: skip
    assert _post(inside, run, rows).status_code == 200
    page = inside.get(f"/runs/{run}").text.replace("\u00a0", " ")

    assert "Under 0.8 V after 2 h (1." in page  # both ends in the unit of the log
    assert "Under 0.6 V after 6" in page
    assert "Not under 0.4 V in 10 h: the lowest reading is 0.4 V" in page
    assert "Counted from the first reading at 15 ohm, with a reading every 60 s" in page
    asked = inside.get(f"/runs/{run}", params={"under": "0,5 V; 650 mV"}).text.replace(
        "\u00a0", " "
    )
    assert "Under 0.65 V after 5" in asked
    assert "Under 0.5 V after 8" in asked
    assert "Under 0.8 V" not in asked
    wrong = inside.get(f"/runs/{run}", params={"under": "soon"}).text
    assert 'aria-invalid="true"' in wrong
