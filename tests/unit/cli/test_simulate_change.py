"""`aerode simulate ITEM --change ...` on the invented bench: what a change would do."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from aerode.cli.simulate import command
from aerode.errors import (
    CannotTellError,
    InputError,
    MissingExtraError,
    NotFoundError,
    RangeError,
    RecordError,
    UnitError,
)
from aerode.measure.porous import ranking
from aerode.physics.cathode import compiled
from aerode.records.adapter import read
from aerode.records.electrodes import Electrode, RecipeState
from aerode.records.places import Bench
from aerode.records.simulations import CathodeSimulation, PorousFit, Simulation
from aerode.store.bench_file import BenchFile
from aerode.usecases.simulate_cathode import simulate_cathode
from aerode.virtual.tern_sound import draw


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The invented bench, and a bought electrode on it."""
    path = tmp_path_factory.mktemp("bench") / "tern.aerode"
    moment = datetime(2026, 5, 9, tzinfo=UTC)
    with BenchFile.create(path, title="Tern", clock=lambda: moment, who="test") as store:
        store.put_all([r for r in draw(1).records if not isinstance(r, Bench)], why="test")
        store.put(Electrode(name="bought", recipe_state=RecipeState.BOUGHT), why="test")
    return str(path)


def typed(bench: str, *arguments: str) -> Result:
    """Run the verb; what it refuses comes out as the error it raises."""
    run = [] if "--run" in arguments or "--fit" in arguments else ["--run", "no"]
    return CliRunner().invoke(
        command, [*arguments, "--bench", bench, "--draws", "400", *run], catch_exceptions=False
    )


def answered(bench: str, *arguments: str) -> Simulation:
    """The answer as a record."""
    plain = json.loads(typed(bench, *arguments, "--json").output)
    assert next(iter(plain)) == "schema"
    return read(Simulation, plain)


def test_the_three_questions(bench: str) -> None:
    """Thicker, more binder, flooded by half: a verdict of one line, a screen, all of it predicted."""
    for change in ("thickness +200 um", "binder +20 %", "saturation 50 %"):
        printed = typed(bench, "T1", "--change", change).output.splitlines()
        assert printed[0].startswith("Predicted, ")
        assert f"T1, {change}: " in printed[0]
        assert len(printed[0]) <= 100
        assert len(printed) <= 12
        assert max(len(line) for line in printed[1:]) <= 80
    found = answered(bench, "T1", "--change", "thickness +200 um", "--no-ranking")
    assert found.basis == "predicted"
    assert {one.basis for one in (found.change_V, found.ratio, found.loss_after_V)} == {"predicted"}
    electrons = next(one for one in found.inputs if one.name == "electrons")
    assert (electrons.low, electrons.high) == pytest.approx((2.05, 3.95))


def test_paired_draws_know_the_change_better_than_the_loss(bench: str) -> None:
    """The interval of the change is far narrower than the bands of the losses it lies between."""
    found = answered(bench, "T1", "--change", "thickness +200 um", "--no-ranking")
    change, loss = found.change_V.interval_95, found.loss_before_V.interval_95
    assert change is not None
    assert loss is not None

    assert change[1] - change[0] < 0.1 * (loss[1] - loss[0])


def test_the_figure_of_the_change_shows_what_the_verdict_says(bench: str) -> None:
    """Its band at the asked current is the interval of the headline, in the unit its axis names."""
    found = answered(bench, "T1", "--change", "thickness +200 um", "--no-ranking")
    drawn, both = found.figures
    band, line = drawn.series
    asked = band.x.index(pytest.approx(found.current_density_mA_cm2))
    ends = found.change_V.interval_95
    assert ends is not None

    assert [figure.name for figure in found.figures] == ["what-if-change", "what-if-curves"]
    assert (drawn.x.unit, drawn.y.unit) == ("mA/cm²", "mV")
    assert (band.y_low[asked], band.y_high[asked]) == pytest.approx([1e3 * end for end in ends])
    assert line.basis == band.basis == "predicted"
    assert min(min(one.y_low) for one in both.series if one.band) >= 0.0


def test_nothing_changed_is_exactly_nothing(bench: str) -> None:
    """A change of nothing moves no draw."""
    found = answered(bench, "T1", "--change", "activity x1", "--no-ranking")

    assert found.change_V.interval_95 == (0.0, 0.0)
    assert found.ratio.interval_95 == pytest.approx((1.0, 1.0))


def test_twice_the_activity_is_a_tafel_slope_times_ln_2(bench: str) -> None:
    """Where the layer works evenly, twice the exchange current gains b ln 2."""
    found = answered(
        bench, "T1", "--change", "activity x2", "--at", "0.001 mA/cm^2", "--no-ranking"
    )

    # 55 to 140 mV/decade: the middle is 97.5 mV/decade, and ln 2 is 0.30103 decades
    assert found.change_V.value == pytest.approx(-0.0975 * 0.30103, rel=5e-3)


def test_the_sweep(bench: str, tmp_path: Path) -> None:
    """Six settings, each against the state as it is, and their figure."""
    out = typed(
        bench, "b15 m8 85C", "--vary", "thickness", "--from", "0.1mm", "--to", "0.6mm",
        "--figures", str(tmp_path),
    ).output  # fmt: skip
    assert "thickness 0.1 mm" in out
    found = answered(
        bench,
        "b15 m8 85C",
        "--vary",
        "thickness",
        "--from",
        "0.1mm",
        "--to",
        "0.6mm",
        "--no-ranking",
    )

    assert [round(1e3 * p.setting, 6) for p in found.sweep] == [0.1, 0.2, 0.3, 0.4, 0.5, 0.6]
    assert found.kind == "mix"
    assert (tmp_path / "what-if-sweep.svg").read_text("utf-8").startswith("<svg")


def test_what_is_known_narrows(bench: str) -> None:
    """A known saturation turns "either way" into an answer."""
    wide = answered(bench, "T1", "--change", "saturation 50 %", "--no-ranking")
    known = answered(
        bench,
        "T1",
        "--change",
        "saturation 50 %",
        "--known",
        "saturation = 20 to 40 %",
        "--no-ranking",
    )

    assert "either way" in wide.headline
    assert known.helps > 0.95
    with pytest.raises(InputError, match="names no input"):
        typed(bench, "T1", "--change", "saturation 50 %", "--known", "wetness = 3 %")


def test_the_ranking_is_of_the_change(bench: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """What cancels between before and after ranks low, whatever it does to the loss itself."""
    found = answered(bench, "T1", "--change", "saturation 50 %")
    assert found.ranking[0].name == "saturation"
    shares = {one.name: one.total_share for one in found.ranking}
    assert shares["exchange current"] < 0.05

    def missing(_: str) -> dict[str, object]:
        raise MissingExtraError("ranking the inputs needs an optional library", next_step="pip")

    monkeypatch.setattr(ranking, "_parts", missing)
    plain = answered(bench, "T1", "--change", "saturation 50 %")
    assert plain.ranking == ()
    assert "optional library" in plain.ranking_note


def test_a_seed_gives_the_same_answer(bench: str) -> None:
    """Equal seeds, equal answers; another seed, nearly."""
    first, again, other = (
        answered(bench, "T1", "--change", "thickness +200 um", "--no-ranking", "--seed", seed)
        for seed in ("3", "3", "4")
    )
    assert first == again
    assert first.change_V.value != other.change_V.value
    assert first.change_V.value == pytest.approx(other.change_V.value, abs=1e-3)


def test_what_is_typed_is_read_as_everywhere_else(bench: str) -> None:
    """A number without a unit is said back with the one it was taken in; a temperature needs its own."""
    found = answered(
        bench, "T1", "--change", "thickness +200 um", "--no-ranking", "--at", "5",
        "--known", "grain radius = 1 to 3", "--temperature", "30 degC",
    )  # fmt: skip
    grain = next(one for one in found.inputs if one.name == "grain radius")

    assert "--at: 5 mA/cm^2, taken as 50 A/m^2 (no unit typed)" in found.understood
    assert 1e-6 < grain.low < grain.high < 3e-6
    assert any(line.startswith("--temperature: 30 degC") for line in found.understood)
    with pytest.raises(UnitError, match="has no unit"):
        typed(bench, "T1", "--change", "thickness +200 um", "--temperature", "30")


@pytest.mark.parametrize(
    ("arguments", "error", "words"),
    [
        (("T1", "--change", "bindr +20 %"), InputError, "did you mean binder"),
        (("T1", "--change", "thickness"), InputError, "how much"),
        (("T1", "--change", "thickness 200"), RangeError, "cannot be"),
        (("T1", "--change", "thickness -3 mm"), RangeError, "leads to"),
        (("T1", "--change", "binder x20"), (RangeError, CannotTellError), "leads to|fills"),
        (("T1",), InputError, "nothing is changed"),
        (("T1", "--from", "1 mm"), InputError, "belong to --vary"),
        (("T1", "--vary", "thickness"), InputError, "how is thickness to vary"),
        (("T9", "--change", "thickness +1 um"), NotFoundError, "T9"),
        (("bought", "--change", "thickness +1 um"), CannotTellError, "recipe is not known"),
    ],
)
def test_refusals(
    bench: str, arguments: tuple[str, ...], error: type[Exception], words: str
) -> None:
    """Each says what is wrong, what is allowed, and the near words."""
    with pytest.raises(error, match=words):
        typed(bench, *arguments)


def test_another_electrolyte(bench: str) -> None:
    """Lye instead of sea water: the liquid's losses shrink."""
    sea = answered(bench, "T1", "--change", "activity x1", "--no-ranking", "--at", "10")
    lye = answered(
        bench,
        "T1",
        "--change",
        "activity x1",
        "--no-ranking",
        "--at",
        "10",
        "--electrolyte",
        "KOH 4 mol/L",
    )

    assert lye.losses_before_V["ionic"] < 0.2 * sea.losses_before_V["ionic"]
    with pytest.raises(InputError, match="no salt with its strength"):
        typed(bench, "T1", "--change", "activity x1", "--electrolyte", "lye")


def test_the_fit_of_a_run(bench: str) -> None:
    """What a run tells comes first; what kept its prior is named apart; the same numbers as JSON."""
    runner = CliRunner()
    arguments = ["T1", "--fit", "--bench", bench]
    printed = runner.invoke(command, arguments, catch_exceptions=False).output.splitlines()
    assert printed[0].startswith("T1: this run tells tafel slope")
    assert len(printed[0]) <= 100
    assert len(printed) <= 12
    assert max(len(line) for line in printed[1:]) <= 80
    assert any("not told, as assumed" in line and "exchange current" in line for line in printed)
    plain = json.loads(
        runner.invoke(command, [*arguments, "--json"], catch_exceptions=False).output
    )
    answer = read(PorousFit, plain)
    assert answer.effective_sample_size >= 400
    assert all(row.estimate.value is None for row in answer.parameters if row.kept_prior)


@pytest.fixture
def no_fast_solver(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The compiling library is hidden."""
    kept = ("available", "_library", "kernels")
    for name in kept:
        getattr(compiled, name).cache_clear()
    monkeypatch.setitem(sys.modules, "numba", None)
    yield
    monkeypatch.undo()
    for name in kept:
        getattr(compiled, name).cache_clear()


@pytest.mark.parametrize(
    "arguments", [("--fit",), ("--change", "thickness +200 um"), ("--vary", "thickness")]
)
@pytest.mark.usefixtures("no_fast_solver")
def test_without_the_fast_solver_the_waiting_is_told_first(
    bench: str, arguments: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """How long, that it can be stopped, and what to install, before anything of the bench is read."""

    def not_yet(*_: object, **__: object) -> None:
        raise CannotTellError("the work has begun")

    monkeypatch.setattr("aerode.usecases.simulate_fit.item_of", not_yet)
    monkeypatch.setattr("aerode.usecases.simulate_change.item_of", not_yet)
    ends = ("--from", "0.1 mm", "--to", "0.6 mm") if "--vary" in arguments else ()
    result = CliRunner().invoke(command, ["T1", *arguments, *ends, "--bench", bench])
    told = " ".join(result.stderr.split())

    assert isinstance(result.exception, CannotTellError)
    assert re.search(r"takes about \d+ (seconds|minutes); Ctrl-C stops it", told)
    assert "pip install 'aerode[fast]'" in told
    assert max(len(line) for line in result.stderr.splitlines()) <= 80
    assert result.stdout == ""


def test_with_the_fast_solver_nothing_is_told(bench: str) -> None:
    """The line is for those who wait."""
    assert "fast solver" not in typed(bench, "T1", "--change", "activity x2").stderr


def test_a_measured_electrode_is_fitted_beforehand(bench: str) -> None:
    """With its run the change is told from the fit, and the answer names the run."""
    run = CliRunner().invoke(
        command,
        [
            "T1",
            "--change",
            "activity x2",
            "--no-ranking",
            "--draws",
            "400",
            "--bench",
            bench,
            "--json",
        ],
        catch_exceptions=False,
    )
    found = read(Simulation, json.loads(run.output))
    free = answered(bench, "T1", "--change", "activity x2", "--no-ranking")
    first, then = free.change_V.interval_95, found.change_V.interval_95
    assert found.calibrated_by == "T1 loads"
    assert first is not None
    assert then is not None
    assert then[1] - then[0] < 0.8 * (first[1] - first[0])


def test_a_fit_that_cannot_be(bench: str) -> None:
    """A mix has no run; a run of another electrode is named; --fit stands alone."""
    with pytest.raises(CannotTellError, match="no run of load steps"):
        typed(bench, "b15 m8 85C", "--fit")
    with pytest.raises(NotFoundError, match="has no run"):
        typed(bench, "T1", "--fit", "--run", "T2 loads")
    assert typed(bench, "T1", "--fit", "--change", "activity x2").exit_code == 2


def test_numbers_may_name_an_item(bench: str, tmp_path: Path) -> None:
    """What the table leaves out comes from the electrode, with its bands; without a bench it is refused."""
    table = tmp_path / "t.toml"
    table.write_text(
        "electrode = 'T1'\nthickness_m = 3e-4\ncurrent_density_A_m2 = [10, 50]\n", "utf-8"
    )
    run = CliRunner().invoke(
        command,
        ["cathode", str(table), "--bench", bench, "--draws", "300", "--json"],
        catch_exceptions=False,
    )
    found = read(CathodeSimulation, json.loads(run.output))

    assert found.inputs["thickness_m"] == 3e-4
    assert found.bands[0].high_V is not None
    assert found.bands[0].low_V is not None
    assert found.bands[0].high_V - found.bands[0].low_V > 0.2
    assert any("what the table leaves out is electrode T1" in line for line in found.assumptions)
    table.write_text(
        "electrode = 'T1'\nexchange_current_A_m3 = 10.0\ntafel_slope_V_per_e = 0.04\n"
        "current_density_A_m2 = 10\n", "utf-8",
    )  # fmt: skip
    run = CliRunner().invoke(
        command,
        ["cathode", str(table), "--bench", bench, "--draws", "300", "--json"],
        catch_exceptions=False,
    )
    held = read(CathodeSimulation, json.loads(run.output)).bands[0]
    assert held.high_V is not None
    assert held.low_V is not None
    assert held.high_V - held.low_V < 0.1  # what the table says is not drawn
    with pytest.raises(RecordError, match="no bench"):
        simulate_cathode(table.read_text("utf-8"))
    with pytest.raises(RecordError, match="not one name"):
        simulate_cathode("electrode = 3\ncurrent_density_A_m2 = 1")


@pytest.mark.parametrize("more", [["--change", "thickness +200 um"], ["--fit"]])
def test_a_name_that_is_not_there_is_told_before_any_work(
    bench: str, more: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The solver is not made ready for it."""

    def begun(_self: object) -> None:
        pytest.fail("the solver was made ready")

    monkeypatch.setattr("aerode.usecases.simulate_ready.GettingReady.start", begun)
    with pytest.raises(NotFoundError, match="T99"):
        typed(bench, "T99", *more)
