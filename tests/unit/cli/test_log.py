"""`aerode log` as a person types it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from aerode.cli import main
from aerode.records.electrodes import Electrode
from aerode.records.instruments import Instrument, Sort
from aerode.records.runs import Run, Settling, Unsorted
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path


def _type(monkeypatch: pytest.MonkeyPatch, text: str, *arguments: str) -> int:
    import io

    monkeypatch.setattr("sys.stdin", io.StringIO(text))
    with pytest.raises(SystemExit) as end:
        main(["log", *arguments])
    return int(end.value.code or 0)


@pytest.fixture
def place(tmp_path: Path) -> str:
    """A bench file with one electrode and two resistors."""
    path = tmp_path / "b.aerode"
    with BenchFile.create(path, title="test") as bench:
        bench.put(Electrode(name="E1"))
        for r in (100.0, 10.0):
            bench.put(Instrument(name=f"{r:g} ohm", sort=Sort.RESISTOR, nominal_resistance=r))
    return str(path)


def test_a_whole_run(
    place: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Conditions, three readings, one taken again: all there, and the next command is named."""
    code = _type(monkeypatch, "21 °C\nsame\n\n742\n0,65\nback\n0.66\n0.45\n", "E1", "-b", place)

    shown = capsys.readouterr().out
    with BenchFile.open(place) as bench:
        run = bench.get(Run, "E1 loads")
    assert code == 0
    assert [r.voltage for r in run.readings] == [0.742, 0.65, 0.66, 0.45]
    assert run.finished
    assert run.temperature.value == pytest.approx(294.15)
    assert 'aerode fit "E1 loads"' in shown
    assert all(len(line) <= 80 for line in shown.splitlines() if "  " not in line.strip())


def test_a_reading_typed_at_once_says_what_may_still_come(
    place: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Typed at a terminal within a second it may still move; numbers out of a file come without their moments."""
    monkeypatch.setattr("aerode.cli.log._typed_at_once", lambda: True)
    _type(monkeypatch, "742\n0.66\n0.45\n", "E1", "--no-questions", "-b", place)
    shown = " ".join(capsys.readouterr().out.split())
    with BenchFile.open(place) as bench:
        run = bench.get(Run, "E1 loads")

    assert "and may still move by about 10 mV; the curve counts that" in shown
    assert run.readings[1].settling is Settling.NOT_KNOWN
    assert "Read it after two minutes" in shown
    monkeypatch.setattr("aerode.cli.log._typed_at_once", lambda: False)
    _type(monkeypatch, "742\n0.66\n0.45\n", "E1", "--no-questions", "-b", place)
    assert "may still move" not in capsys.readouterr().out


def test_input_that_ends_loses_nothing(place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the input ends, or Ctrl-C is pressed, what was taken stays."""
    code = _type(monkeypatch, "742\n", "E1", "--no-questions", "-b", place)

    with BenchFile.open(place) as bench:
        assert len(bench.get(Run, "E1 loads").readings) == 1
    assert code == 1


def test_a_slip_is_asked_again(
    place: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A reading that cannot be is refused with what to do, and the same load is asked again."""
    _type(monkeypatch, "742\n-0.3\n0.6\nstop\n", "E1", "--no-questions", "-b", place)

    shown = capsys.readouterr().out
    assert "leads swapped" in shown
    assert "Saved: 0.6 V at 100 ohm" in shown


def test_a_slip_with_its_unit_is_asked_and_the_last_one_comes_back(
    place: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Asked with the slip named, mended, taken back by one word and put back by another."""
    typed = "1.25\n0,108 V\n1.08\nback\nundo\n0.75\n"
    _type(monkeypatch, typed, "E1", "--no-questions", "-b", place)

    shown = " ".join(capsys.readouterr().out.split())
    with BenchFile.open(place) as bench:
        run = bench.get(Run, "E1 loads")
    assert "where about 1.19 V is expected at 100 ohm" in shown
    assert "was it 1.08 V?" in shown
    assert "Taken back: 1.08 V at 100 ohm." in shown
    assert [(r.voltage, r.doubt) for r in run.readings] == [(1.25, ""), (1.08, ""), (0.75, "")]


def test_the_same_slips_are_asked_about_as_on_the_pages(
    place: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """0.75 V where 1.19 V is expected is a slip likelier than a cell; where the meter shows it, one word takes it."""
    typed = "1.25\nyes\n0.75\nyes\nstop\n"
    _type(monkeypatch, typed, "E1", "--no-questions", "-b", place)

    shown = " ".join(capsys.readouterr().out.split())
    with BenchFile.open(place) as bench:
        run = bench.get(Run, "E1 loads")
    assert "where about 1.19 V is expected at 100 ohm" in shown
    assert "If the meter shows it, type: yes" in shown
    assert "Nothing was asked here." in shown
    assert [(r.voltage, r.doubt) for r in run.readings] == [(1.25, ""), (0.75, "")]


def test_a_run_without_air_says_to_tape_first_and_what_it_found(
    place: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two loads that were read with air are read again; at the end stands the share that is left."""
    _type(monkeypatch, "742\n0.66\n0.45\n", "E1", "--no-questions", "-b", place)
    typed = "0.05\nyes\n0.018\nyes\n"
    _type(monkeypatch, typed, "E1", "--sort", "sealed-face", "--no-questions", "-b", place)

    shown = " ".join(capsys.readouterr().out.split())
    assert "Tape over the air face first, all of it" in shown
    assert "Expect less than the 0." in shown
    assert "Without air 4 % of the current is left at 10 ohm: it is the air that feeds E1." in shown


def test_a_taped_run_that_rises_is_asked_about(
    place: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """0.36 V at 10 ohm after 0.30 V at 100 ohm cannot be without air: asked, and taken with yes."""
    typed = "0.30\n0.36\nyes\n"
    _type(monkeypatch, typed, "E1", "--sort", "sealed-face", "--no-questions", "-b", place)

    shown = " ".join(capsys.readouterr().out.split())
    assert "more than the 0.3 V at 100 ohm before it" in shown
    assert "is the tape tight all round; was 100 ohm really on before this one?" in shown
    with BenchFile.open(place) as bench:
        run = bench.get(Run, "E1 sealed face")
    assert [(r.voltage, r.doubt) for r in run.readings] == [(0.30, ""), (0.36, "")]


def test_the_tray_without_a_bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A reading is filed although there is no bench yet: one is made."""
    path = tmp_path / "new.aerode"
    code = _type(monkeypatch, "", "0,742", "V", "15", "ohm", "--note", "v12", "-b", str(path))

    with BenchFile.open(path) as bench:
        assert bench.all(Unsorted)[0].note == "v12"
    assert code == 0


def test_json_has_its_schema_first(
    place: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Scripts get the same record."""
    _type(monkeypatch, "", "E1", "--no-questions", "--json", "-b", place)

    answer = json.loads(capsys.readouterr().out)
    assert next(iter(answer)) == "schema"
    assert answer["schema"] == "aerode.log/1"
    assert answer["next_step"]["load"] == "open"


@pytest.mark.parametrize(
    ("arguments", "code"), [(("E9",), 1), (("fish",), 1), ((), 2), (("E1", "--plan", "odd"), 2)]
)
def test_exit_codes(
    place: str, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...], code: int
) -> None:
    """1 for a refusal, 2 for wrong usage."""
    assert _type(monkeypatch, "", *arguments, "-b", place) == code


@pytest.fixture
def three(place: str) -> str:
    """The same bench with a third resistor, for the short plan."""
    with BenchFile.open(place) as bench:
        bench.put(Instrument(name="47 ohm", sort=Sort.RESISTOR, nominal_resistance=47.0))
    return place


def test_a_slip_in_a_timed_trace_repeats_its_moment_only(
    three: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A typo, a question and a reading taken back leave the readings before them as they are."""
    _type(
        monkeypatch,
        "742\n600\nO.61\n?\n-0.4\n610\n666\nback\n615\n617\nstop\n",
        *("E1", "--plan", "short", "--no-questions", "-b", three),
    )

    shown = capsys.readouterr().out
    with BenchFile.open(three) as bench:
        run = bench.get(Run, "E1 loads")
    first, *later = dict(run.readings[1].trace).values()
    assert first == 0.6
    assert later[:3] == [0.61, 0.615, 0.617]
    assert shown.count("Step 2 of") == 1
    assert shown.count("Not taken") == 2


def test_a_timed_reading_far_from_the_one_before_is_asked_about(
    three: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As on the page, in the words of the terminal; "yes" notes it at the moment it was typed for."""
    typed = "742\n600\n310\nyes\nstop\n"
    _type(monkeypatch, typed, "E1", "--plan", "short", "--no-questions", "-b", three)

    shown = " ".join(capsys.readouterr().out.split())
    with BenchFile.open(three) as bench:
        trace = bench.get(Run, "E1 loads").readings[1].trace
    assert "far from the 0.6 V before it at this load" in shown
    assert "take that one again with: back" in shown
    assert trace == ((20.0, 0.6), (40.0, 0.31))


def test_timed_readings_are_saved_one_by_one(
    three: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where the input ends in the middle of a load, what was read of it is on disk; then it begins again."""
    typed = ("E1", "--plan", "short", "--no-questions", "-b", three)
    _type(monkeypatch, "742\n600\n610\n", *typed)
    with BenchFile.open(three) as bench:
        assert [v for _, v in bench.get(Run, "E1 loads").readings[-1].trace] == [0.6, 0.61]
    _type(monkeypatch, "640\nstop\n", *typed)

    shown = capsys.readouterr().out
    assert "100 ohm was being watched when this run stopped" in shown
    with BenchFile.open(three) as bench:
        run = bench.get(Run, "E1 loads")
        assert [v for _, v in run.readings[-1].trace] == [0.64]
        assert len(bench.history(Run, "E1 loads")) >= 4


def test_the_date_of_an_old_line(
    place: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """12.3.2025 is stored as ISO with what was typed beside it; 3/4/25 is refused with both readings."""
    line = ("E1", "0.42", "V", "15", "ohm", "--plan", "retro", "-b", place)
    assert _type(monkeypatch, "", *line, "--date", "12.3.2025") == 0
    assert _type(monkeypatch, "", *line, "--date", "3/4/25") == 1

    shown = capsys.readouterr()
    with BenchFile.open(place) as bench:
        (run,) = bench.all(Run)
    assert (run.name, run.started, run.session) == (
        "E1 retro 2025-03-12",
        "2025-03-12",
        "2025-03-12",
    )
    assert run.note == "date typed as 12.3.2025"
    assert "12.3.2025 taken as 2025-03-12" in shown.out
    assert "Allowed: 2025-03-04 or 2025-04-03" in shown.err


def test_a_reading_that_fits_no_falling_curve_is_asked_about_and_may_be_kept(
    place: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """0.70 V at 47 ohm among 0.44 V and less: not taken, then kept with its doubt by one word."""
    with BenchFile.open(place) as bench:
        for r in (220.0, 47.0, 22.0):
            bench.put(Instrument(name=f"{r:g} ohm", sort=Sort.RESISTOR, nominal_resistance=r))
    typed = "0.71\n0.64\n0.56\n0.69\nkeep\n0.30\nkeep\n0.18\n0.42\n"
    _type(monkeypatch, typed, "E1", "--no-questions", "-b", place)

    shown = " ".join(capsys.readouterr().out.split())
    with BenchFile.open(place) as bench:
        run = bench.get(Run, "E1 loads")
    assert "Not taken. 47 ohm: 0.69 V at 47 ohm fits no falling curve" in shown
    assert "Allowed: about 0.4" in shown
    (doubted,) = [reading for reading in run.readings if reading.doubt]
    assert (doubted.voltage, doubted.text) == (0.69, "0.69")
    assert "more current" in doubted.doubt
    assert "Nothing typed here waits to be kept." in shown
    assert [r.voltage for r in run.readings if not r.doubt] == [0.71, 0.64, 0.56, 0.30, 0.18, 0.42]
    assert run.finished


def test_an_electrode_that_fades_is_asked_about_gently(
    place: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A load read again a fifth lower at the end: outside of what is stated, so asked about; yes takes it as read."""
    with BenchFile.open(place) as bench:
        for r in (220.0, 47.0, 22.0):
            bench.put(Instrument(name=f"{r:g} ohm", sort=Sort.RESISTOR, nominal_resistance=r))
    typed = "0.71\n0.64\n0.56\n0.44\n0.30\n0.18\n0.35\nyes\n"
    _type(monkeypatch, typed, "E1", "--no-questions", "-b", place)

    shown = capsys.readouterr().out
    assert shown.count("Not taken") == 1
    assert "0.35 V is just below the 0.39 to 0.49 V" in shown
    with BenchFile.open(place) as bench:
        assert bench.get(Run, "E1 loads").readings[-1].voltage == 0.35
