"""`aerode compare` and `aerode claim` as typed and as printed."""

from __future__ import annotations

import json
import re
import shutil
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner, Result

from aerode.cli.claim import command as claim_command
from aerode.cli.compare import command as compare_command
from aerode.errors import AerodeError, InputError, NotFoundError, UnitError
from aerode.records.adapter import read
from aerode.records.comparisons import ClaimOutlook, Comparison, Verdict
from aerode.records.electrodes import Cell, Electrode
from aerode.records.places import Claim, RunOrder
from aerode.records.runs import Run, RunSort
from aerode.store.bench_file import BenchFile
from aerode.usecases.compare import compare
from aerode.virtual.tern_sound import build


@pytest.fixture(scope="module")
def demo(tmp_path_factory) -> str:
    """The invented bench of the demo."""
    place = tmp_path_factory.mktemp("bench") / "demo.aerode"
    with BenchFile.create(place, title="demo") as bench:
        bench.put_all(build(np.random.default_rng(1)).records)
    return str(place)


def run(command, *words: str) -> Result:
    """One call; a refusal is raised."""
    result = CliRunner().invoke(command, list(words))
    if isinstance(result.exception, AerodeError):
        raise result.exception
    assert result.exit_code in (0, 2), result.output
    return result


def fits(text: str, most: int = 15) -> None:
    """First line at most 100 columns, the rest at most 80: two on somebody's word, a dozen lines, a pointer."""
    first, *rest = text.rstrip("\n").split("\n")
    assert 20 < len(first) <= 100
    assert all(len(line) <= 80 for line in rest), [line for line in rest if len(line) > 80]
    assert len(rest) <= most
    assert "\x1b" not in text


def test_the_first_line_is_the_verdict_and_a_dozen_lines_follow(demo):
    """The question of the demo, answered for people."""
    text = run(compare_command, "--by", "binder", "-b", demo).output
    fits(text)
    assert text.startswith("Shown")
    assert "binder" in text.split("\n")[0]
    assert re.search(r"0\.\d+ \[0\.\d+, 0\.\d+\]", text.split("\n")[0])
    assert 'claim "less binder"' in text
    assert "Would overturn it:" in text
    assert "cannot be told from magnetite and plate temperature acting together" in " ".join(
        text.split()
    )


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("T5", "T6"),
        ("T1", "T2", "--at", "2 mA/cm^2"),
        ("T3", "T4", "T7", "T8", "--margin", "25 %"),
    ],
)
def test_every_question_gets_lines_that_fit(demo, words):
    """All, one recipe, one build each, another point, another margin; a claim leads where nothing is asked."""
    text = run(compare_command, *words, "-b", demo).output
    stated, _, looked_at = text.rpartition("\nBesides, without a claim:\n")
    fits(looked_at)
    assert stated.startswith('Stated beforehand, "less binder": It is shown ') is not bool(words)
    assert all(len(line) <= 80 for line in stated.split("\n"))


def test_the_whole_answer_is_printed_as_json_with_its_schema_first(demo):
    """It is the record itself."""
    text = run(compare_command, "T3", "T8", "--at", "450 mV", "--json", "-b", demo).output
    plain = json.loads(text)
    assert next(iter(plain)) == "schema"
    assert plain["schema"] == "aerode.compare/1"
    assert read(Comparison, plain).at == pytest.approx(0.45)


def test_the_tables_stand_behind_detail_and_keep_to_eighty_columns(demo):
    """Pieces, corrections, pairs, conditions, what would overturn it, air, leaks, readings not used."""
    text = run(
        compare_command, "T3", "T4", "T7", "T8", "--at", "0.45 V", "--detail", "-b", demo
    ).output
    assert all(len(line) <= 80 for line in text.split("\n")[1:])
    for title in ("fair mA/cm^2", "Corrections, after over before:", "Pairs, intervals at 98.8 %", "Conditions:",
                  "What would overturn it:", "Air cathode or battery:", "Leaks:", "Readings not used:", "Assumed:"):  # fmt: skip
        assert title in text
    assert "C0 *" in text


def test_a_past_spread_and_a_coefficient_are_taken_as_typed(demo):
    """One build each can be judged with a spread from earlier work; a coefficient stands in the assumptions."""
    words = (
        "T1",
        "T2",
        "--at",
        "0.45 V",
        "--spread",
        "6 %",
        "--spread-df",
        "5",
        "--per-kelvin",
        "2 +- 1 %/K",
        "--json",
    )
    answer = read(Comparison, json.loads(run(compare_command, *words, "-b", demo).output))
    assert answer.contrasts[0].ratio is not None
    assert "spread between builds from earlier work: 6.0 %, 5 degrees of freedom" in answer.model
    assert any("2 ± 1 %/K" in text for text in answer.assumptions)


def test_what_cannot_be_taken_is_refused(demo):
    """A point without unit, an electrode that is not there; a wrong option is wrong usage."""
    with pytest.raises(UnitError):
        run(compare_command, "--at", "0.45", "-b", demo)
    with pytest.raises(NotFoundError):
        run(compare_command, "T1", "T99", "-b", demo)
    assert run(compare_command, "--no-such-option").exit_code == 2


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--by", "colour"), "binder, magnetite, plate temperature"),
        (("--by", "bindr"), "did you mean binder"),
        (("--same", "nonsense"), "salinity"),
        (("--same", "salnity"), "did you mean salinity"),
    ],
)
def test_words_that_mean_nothing_are_refused(demo, words, told):
    """What is allowed is named, and what looks like it."""
    with pytest.raises(InputError) as refused:
        run(compare_command, "--at", "0.45 V", *words, "-b", demo)
    assert told in str(refused.value)


def test_a_claim_on_a_strange_factor_is_refused_unless_it_is_said_to_be_new(tmp_path, demo):
    """A slip would leave a claim that no comparison ever finds; a new factor is a flag away."""
    place = str(tmp_path / "b.aerode")
    shutil.copy(demo, place)
    with pytest.raises(InputError, match="did you mean binder") as refused:
        run(claim_command, "x", "--factor", "bindr", "-b", place)
    assert "magnetite" in refused.value.allowed
    with BenchFile.open(place, read_only=True) as store:
        assert store.find(Claim, "x") is None
    run(claim_command, "x", "--factor", "colour", "--new-factor", "-b", place)
    with BenchFile.open(place, read_only=True) as store:
        assert store.get(Claim, "x").factor == "colour"


def test_who_is_left_out_is_named_with_the_reason(tmp_path, demo):
    """In the short answer, not only in the table: a washed piece and one that cannot be read there."""
    place = str(tmp_path / "b.aerode")
    shutil.copy(demo, place)
    with BenchFile.open(place) as store:
        run_of = next(r for r in store.all(Run) if r.electrode == "T8" and r.sort is RunSort.LOADS)
        store.put(replace(run_of, readings=run_of.readings[:1]))
    text = run(compare_command, "--at", "0.45 V", "-b", place).output
    fits(text)
    assert re.search(r"Left out: T8 \(.+\)", " ".join(text.split()))


def test_recipes_are_told_in_words(demo):
    """The codes of the two that the verdict names, and of all in the tables and the record."""
    text = " ".join(run(compare_command, "--at", "0.45 V", "-b", demo).output.split())
    assert "b10 m0 100C: 10 % binder, no magnetite, plate temperature 100 °C" in text
    words = ("--at", "0.45 V", "--json", "-b", demo)
    answer = read(Comparison, json.loads(run(compare_command, *words).output))
    assert {r.recipe for r in answer.recipes} == {p.recipe for p in answer.pieces if not p.control}


def test_equivalent_shows_the_interval_it_rests_on(demo):
    """Two one-sided tests: the 97.6 % interval beside the 98.8 % one, both named; the verdict's lies in the margin."""
    words = ("T5", "T6", "--at", "0.45 V", "--margin", "25 %")
    text = " ".join(run(compare_command, *words, "-b", demo).output.split())
    answer = read(Comparison, json.loads(run(compare_command, *words, "--json", "-b", demo).output))
    assert answer.verdict is Verdict.EQUIVALENT
    assert answer.interval is not None
    assert answer.equivalence_interval is not None
    low, high = answer.equivalence_interval
    assert answer.interval[0] < low < high < answer.interval[1]
    assert 1 / 1.25 < low < high < 1.25
    assert f"[{low:.2f}, {high:.2f}]" in text.split(". ")[0] + answer.headline
    assert '[..] is the 97.6 % interval: "equivalent" is two one-sided tests' in text


def test_an_order_is_drawn_kept_and_told_how_to_draw_it_again(tmp_path, demo):
    """The seed is printed; the same seed gives the same order; JSON has a schema."""
    place = str(tmp_path / "b.aerode")
    with BenchFile.create(place, title="b") as store, BenchFile.open(demo, read_only=True) as other:
        store.put_all(replace(e, control=False) for e in other.all(Electrode))
    words = ("--order", "--session", "day 2", "--control", "C0", "-b", place)
    text = run(compare_command, *words, "--seed", "4").output
    assert "(seed 4)" in text.split("\n")[0]
    assert text.count("(control)") == 3
    assert text == run(compare_command, *words, "--seed", "4").output
    plain = json.loads(run(compare_command, *words, "--json").output)
    assert plain["schema"] == "aerode.order/1"
    with BenchFile.open(place, read_only=True) as store:
        assert len(store.all(RunOrder)) == 1
    alone = run(compare_command, "T1", "T2", "--order", "--session", "x", "-b", place).output
    assert "No control yet" in alone


def test_an_order_without_a_control_names_the_piece_that_is_proposed(tmp_path, demo):
    """The one that the comparison would keep, with the way to draw with it; kept as drawn, without one."""
    place = str(tmp_path / "b.aerode")
    with BenchFile.open(demo, read_only=True) as other:
        records = build(np.random.default_rng(1)).records
        control = next(e.name for e in other.all(Electrode) if e.control)
    plain = [replace(r, control=False) if isinstance(r, Electrode | Run) else r for r in records]
    with BenchFile.create(place, title="b") as store:
        store.put_all(plain)
        advised = compare(store, try_changes=False)
    named = next(a.control for a in (advised.next_act, *advised.later_acts) if a and a.control)
    words = ("--order", "--session", "day 2", "-b", place)
    text = " ".join(run(compare_command, *words).output.split())
    assert f"{named} is proposed: it is a good build that was read" in text
    assert f"--order --control {named}" in text
    assert "(control)" not in text
    told = run(compare_command, *words, "--control", control).output
    assert "is proposed" not in told


CLAIM = ("less wax", "--factor", "wax", "--at", "0.45 V", "--margin", "10 %", "--builds", "8")


def test_a_claim_says_what_it_can_reach_before_anything_is_built(tmp_path):
    """On trial without a bench: reachable verdicts by spread, and how many builds it would take."""
    text = run(claim_command, *CLAIM, "--try", "-b", str(tmp_path / "none.aerode")).output
    fits(text, most=16)
    assert '"equivalent" is out of reach' in text
    assert "19 builds a side" in text
    assert "At a spread of 10 % (" in text
    assert re.search(r"\d%", text) is None
    assert "Kept" not in text
    assert not (tmp_path / "none.aerode").exists()


def test_a_claim_is_kept_with_its_date_and_shown_again_by_its_name(tmp_path):
    """Kept on the bench; the name alone shows it; JSON has its schema first."""
    place = str(tmp_path / "b.aerode")
    BenchFile.create(place, title="b").close()
    assert (
        'Kept as claim "less wax"' in run(claim_command, *CLAIM, "--looks", "2", "-b", place).output
    )
    with BenchFile.open(place, read_only=True) as store:
        kept = store.get(Claim, "less wax")
    assert (kept.margin, kept.looks, kept.builds, kept.at) == (pytest.approx(1.10), 2, 8, 0.45)
    assert kept.made[:2] == "20"
    plain = json.loads(run(claim_command, "less wax", "--json", "-b", place).output)
    assert next(iter(plain)) == "schema"
    assert read(ClaimOutlook, plain).looks == 2
    run(claim_command, "volts", "--at", "2 mA/cm^2", "-b", place)
    with BenchFile.open(place, read_only=True) as store:
        assert store.get(Claim, "volts").response.startswith("voltage")
        assert store.get(Claim, "volts").at == pytest.approx(20.0)


def test_help_carries_an_example():
    """Both verbs show how they are typed."""
    for command in (compare_command, claim_command):
        assert "Example" in run(command, "--help").output


def test_a_word_is_kept_on_the_bench_and_taken_back(tmp_path) -> None:
    """--same --keep holds for the next call without --same; --take-back lets it block again."""
    place = str(tmp_path / "shed.aerode")
    with BenchFile.create(place, title="shed") as bench:
        records = build(np.random.default_rng(1)).records
        bare = [
            replace(one, salinity=type(one.salinity)(), cell="") if isinstance(one, Run) else one
            for one in records
            if not isinstance(one, Cell)
        ]
        bench.put_all(bare)

    def call(*words: str) -> Result:
        return CliRunner().invoke(compare_command, ["T1", "T2", "--bench", place, *words])

    assert call().exit_code == 1
    kept = call("--same", "rest", "--keep")
    assert kept.exit_code == 0, kept.output
    assert "somebody's word" in " ".join(kept.output.split())
    assert call().exit_code == 0
    assert call("--take-back", "salinity").exit_code == 1
    with pytest.raises(InputError, match="nothing is said"):
        run(compare_command, "T1", "T2", "--bench", place, "--keep")
