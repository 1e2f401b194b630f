"""`aerode log … --from FILE` as a person types it."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest

from aerode.cli import main
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile

TABLE = "date,time,U (mV)\n2025-05-03,10:00:00,742\n2025-05-03,10:00:10,741\n*** moved ***\n2025-05-03,10:00:20,OL\n"


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A bench with two electrodes and a resistor, and a table beside it."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("AERODE_BENCH", "b.aerode")
    with BenchFile.create("b.aerode", title="test") as bench:
        bench.put_all([Electrode(name="T6"), Electrode(name="T7")])
        bench.put(Instrument(name="R15", sort=Sort.RESISTOR, nominal_resistance=15.0))
    (tmp_path / "day.csv").write_text(TABLE, "utf-8")
    return tmp_path


def _log(*words: str) -> int:
    with pytest.raises(SystemExit) as end:
        main(["log", *words])
    return int(end.value.code or 0)


def _runs() -> list[str]:
    with BenchFile.open("b.aerode") as bench:
        return bench.names(Run)


def test_it_is_shown_and_not_taken(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without a terminal and without --yes nothing is stored, and the way to take it is named."""
    assert _log("T6", "--from", "day.csv") == 0
    shown = capsys.readouterr().out

    assert shown.splitlines()[0] == "day.csv: 3 rows understood, 1 rows and 1 cells refused; nothing is stored yet"  # fmt: skip
    for words in ("'U (mV)': voltage in mV of T6, 0.741 to 0.742 V", "first in line 4", "first in line 5",
                  "Becomes: T6 log 2025-05-03, 2 readings", "--yes"):  # fmt: skip
        assert words in shown
    assert all(len(line) <= 100 for line in shown.splitlines())
    assert _runs() == []


def test_it_is_taken_with_yes(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The run is there; the same file again is refused with the name of the run."""
    assert _log("T6", "--from", "day.csv", "--yes", "--load", "R15", "--temperature", "21 °C") == 0
    assert 'aerode bench show run "T6 log 2025-05-03"' in capsys.readouterr().out
    with BenchFile.open("b.aerode") as bench:
        run = bench.get(Run, "T6 log 2025-05-03")
    assert [r.load for r in run.readings] == ["R15", "R15"]
    assert run.temperature.value == pytest.approx(294.15)

    assert _log("T7", "--from", "day.csv", "--yes") == 1
    assert "taken before, as T6 log 2025-05-03" in capsys.readouterr().err


@pytest.mark.parametrize(("answer", "count"), [("y\n", 1), ("n\n", 0)])
def test_it_is_asked_for_at_a_terminal(
    place: Path, monkeypatch: pytest.MonkeyPatch, answer: str, count: int
) -> None:
    """A yes takes it, a no leaves the bench as it was."""
    terminal = io.StringIO(answer)
    monkeypatch.setattr(terminal, "isatty", lambda: True)
    monkeypatch.setattr("sys.stdin", terminal)

    assert _log("T6", "--from", "day.csv") == 0
    assert len(_runs()) == count


def test_json_is_the_record(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same record before and after, with the schema first."""
    assert _log("T6", "--from", "day.csv", "--json") == 0
    shown = json.loads(capsys.readouterr().out)
    assert next(iter(shown)) == "schema"
    assert (shown["schema"], shown["confirmed"]) == ("aerode.table/1", False)
    assert _runs() == []

    assert _log("T6", "--from", "day.csv", "--json", "--yes") == 0
    taken = json.loads(capsys.readouterr().out)
    assert taken["confirmed"]
    assert taken["runs"] == shown["runs"]


def test_a_notebook(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A line for each electrode and date, all of them at once."""
    (place / "old.csv").write_text("electrode;date;U (V);R (ohm)\nT6;3.5.2025;0,42;15\nT7;;0,39;\n", "utf-8")  # fmt: skip
    assert _log("--from", "old.csv", "--plan", "retro", "--yes") == 0
    assert "2 old lines" in capsys.readouterr().out
    assert _runs() == ["T6 retro 2025-05-03", "T7 retro"]


def test_a_long_log_is_drawn(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A few thousand rows become a series; its figure is a file, or a record."""
    rows = "".join(f"{n},{0.7 + n % 9 / 1000:.3f}\n" for n in range(3000))
    (place / "long.csv").write_text(f"t (s),U (V)\n{rows}", "utf-8")
    assert _log("T6", "--from", "long.csv", "--yes") == 0
    name = _runs()[0]
    assert f'aerode log --draw "{name}"' in capsys.readouterr().out

    assert _log("--draw", name) == 0
    assert "lowest 0.7" in capsys.readouterr().out
    assert (place / f"{name}.svg").read_text("utf-8").startswith("<svg")
    assert _log("--draw", name, "--json") == 0
    assert json.loads(capsys.readouterr().out)["schema"] == "aerode.log-figure/1"


def test_how_long_a_log_held(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Hours to the usual levels, or to those that are asked for."""
    rows = "".join(f"{60 * n},{0.9 - 0.5 * n / 600:.4f}\n" for n in range(601))
    (place / "long.csv").write_text(f"t (s),U (V)\n{rows}", "utf-8")
    assert _log("T6", "--from", "long.csv", "--yes", "--load", "15 ohm") == 0
    name = _runs()[0]
    capsys.readouterr()

    assert _log("--draw", name) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "Under 0.6 V after 6 h" in shown
    assert "Counted from the first reading at 15 ohm" in shown
    assert _log("--draw", name, "--under", "0.5 V") == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "Under 0.5 V after 8 h" in shown
    assert "Under 0.6 V" not in shown


def test_wrong_usage(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing named at all; more than the electrode beside --from."""
    assert _log() == 2
    assert _log("T6", "0.4 V", "--from", "day.csv") == 2
    assert "only the electrode" in capsys.readouterr().err
    assert _log("--from", "gone.csv") == 1
    assert "cannot be read" in capsys.readouterr().err
