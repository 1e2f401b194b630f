"""The next batch from the bench: what is offered, limits, hazards, stock, leaks, and what is refused."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from aerode.errors import AerodeError, CannotTellError, InputError, RangeError
from aerode.measure.next_batch import Choice
from aerode.records.electrodes import Electrode
from aerode.records.marks import Entry
from aerode.records.materials import PowderLot
from aerode.records.mixes import Batch, Mix
from aerode.store.bench_file import BenchFile
from aerode.usecases.compare import compare
from aerode.usecases.compare_study import study_of
from aerode.usecases.next_asked import NextQuestion, offered_factors
from aerode.usecases.next_batch import next_batch
from aerode.usecases.next_mixes import mix_near, moved_shares, plate_of
from aerode.usecases.next_words import batch_table, build_line, few_words, next_figure
from aerode.virtual.tern_sound import build


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """The invented bench."""
    made = tmp_path_factory.mktemp("bench") / "demo.aerode"
    with BenchFile.create(made, title="demo") as bench:
        bench.put_all(build(np.random.default_rng(1)).records)
    return made


@pytest.fixture
def own(place, tmp_path):
    """A copy that a test may change."""
    copy = tmp_path / "own.aerode"
    copy.write_bytes(place.read_bytes())
    with BenchFile.open(copy) as bench:
        yield bench


def _next(place, **asked):
    with BenchFile.open(place, read_only=True) as bench:
        return next_batch(bench, NextQuestion(**asked))


def test_the_batch_holds_so_many_builds_within_what_was_read(place) -> None:
    """Four if nothing is said; every setting lies in the range of its factor; the worth grows with each build."""
    found = _next(place)
    assert sum(one.builds for one in found.builds) == 4
    for one in found.builds:
        assert 10.0 <= float(one.settings["binder"].split()[0]) <= 20.0
        assert 70.0 <= float(one.settings["plate temperature"].split()[0]) <= 100.0
        assert sum(one.shares.values()) == pytest.approx(1.0)
        assert one.shares.get("glass-film PVB") == pytest.approx(
            float(one.settings["binder"].split()[0]) / 100
        )
    assert list(found.worth_after) == sorted(found.worth_after)
    assert found.worth == found.worth_after[-1] > 0.0
    assert found.basis.value == "predicted"


def test_the_best_that_was_read_is_the_one_that_leads_the_comparison(place) -> None:
    """The believed best of the read recipes is the recipe that a comparison puts first."""
    with BenchFile.open(place, read_only=True) as bench:
        compared = compare(bench, same=("rest",), try_changes=False)
    assert _next(place).best_read in compared.headline


def test_limits_and_the_number_of_mixes_hold(place) -> None:
    """A limit beyond what was read is taken and said to be a guess; no more mixes than pots."""
    found = _next(place, builds=5, mixes=2, between=("binder 8 % to 13 %", "magnetite 0 % to 0 %"))
    assert len(found.builds) <= 2
    assert sum(one.builds for one in found.builds) == 5
    assert {one.settings["magnetite"] for one in found.builds} == {"0 %"}
    assert all(8.0 <= float(one.settings["binder"].split()[0]) <= 13.0 for one in found.builds)
    assert any("binder goes beyond what was read" in line for line in found.warnings)


def test_a_limit_in_another_unit_is_turned_into_that_of_the_factor(place) -> None:
    """343.15 K is 70 degC (SI): it is not taken as 343.15 degC."""
    found = _next(place, between=("plate temperature 343.15 K to 353.15 K",))
    assert all(70 <= float(b.settings["plate temperature"].split()[0]) <= 80 for b in found.builds)
    assert not found.left_out


def test_a_plate_that_is_a_stop_is_left_out_and_named(place) -> None:
    """PVB at 220 degC is a STOP of the cautions: no such build, and why."""
    found = _next(place, between=("plate temperature 90 °C to 220 °C",))
    assert all(float(one.settings["plate temperature"].split()[0]) < 145 for one in found.builds)
    assert any("STOP at 220 °C" in one.why for one in found.left_out)
    with pytest.raises(CannotTellError, match="may be built"):
        _next(place, between=("plate temperature 215 °C to 220 °C",))


def test_what_can_hurt_in_making_them_is_there(place) -> None:
    """Ethanol, the heat of the press, dust: hardest first."""
    found = _next(place)
    levels = [one.level.value for one in found.cautions]
    assert {"flammable liquid", "dust", "polymer heat"} <= {one.hazard for one in found.cautions}
    assert levels == sorted(levels, key=["STOP", "FIRST", "NOTE"].index)


def test_a_leak_of_a_read_recipe_is_told(place) -> None:
    """The model knows current alone: a leak of a build of that recipe is said."""
    assert any("leaked" in line and "b10 m0 100C" in line for line in _next(place).warnings)


def test_a_lot_that_is_short_is_told(own) -> None:
    """Less on the shelf than the batch coats, with a tenth on top."""
    lot = own.get(PowderLot, "bamboo biochar")
    own.put(replace(lot, stock=Entry(value=0.1e-3)))
    found = next_batch(own, NextQuestion())
    assert any(
        line.startswith("bamboo biochar: ") and "is on the shelf" in line for line in found.warnings
    )


def test_shares_follow_the_settings_and_the_rest_gives_way(own) -> None:
    """A factor names its lot by name or function; what cannot be mixed is said."""
    electrodes = [e for e in own.all(Electrode) if e.recipe == "b10 m16 70C"]
    mix = mix_near(own, electrodes)
    moved = moved_shares(
        own, mix, {"binder": "12 %", "magnetite": "8 %", "plate temperature": "85 °C"}
    )
    assert moved.shares["glass-film PVB"] == pytest.approx(0.12)
    assert moved.shares["magnetite pigment"] == pytest.approx(0.08)
    assert moved.shares["lamp black"] == pytest.approx(0.20)
    assert moved.shares["bamboo biochar"] == pytest.approx(1 - 0.12 - 0.08 - 0.20 - 0.04)
    assert moved_shares(own, mix, {"binder": "90 %"}).impossible
    assert moved_shares(own, mix, {"binder": "-5 %"}).impossible
    assert "no one lot" in moved_shares(own, mix, {"graphene": "1 %"}).why_not
    assert moved_shares(own, None, {"binder": "10 %"}).shares == {}
    assert moved_shares(own, Mix(name="none"), {"binder": "10 %"}).shares == {}
    assert plate_of({"binder": "10 %", "plate temperature": "85 °C"}) == "85 °C"
    assert plate_of({"binder": "10 %", "hours": "3 h"}) == ""


@pytest.mark.parametrize(
    ("asked", "kind", "where"),
    [
        ({"builds": 30}, RangeError, "builds"),
        ({"builds": 2, "mixes": 3}, RangeError, "mixes"),
        ({"between": ("binder 8 to",)}, InputError, "between"),
        ({"between": ("binder 20 % to 10 %",)}, InputError, "between"),
        ({"between": ("salt 1 % to 2 %",)}, InputError, "between"),
        ({"between": ("binder 8 g to 13 g",)}, InputError, "between"),
    ],
)  # fmt: skip
def test_what_cannot_be_asked_is_refused(place, asked, kind, where) -> None:
    """By its field, with what is allowed."""
    with pytest.raises(kind) as refusal:
        _next(place, **asked)
    assert refusal.value.where == where
    assert refusal.value.allowed


def test_an_empty_bench_says_what_is_lacking(tmp_path) -> None:
    """No electrode, or none with factors."""
    with (
        BenchFile.create(tmp_path / "new.aerode", title="new") as bench,
        pytest.raises(AerodeError) as refusal,
    ):
        next_batch(bench, NextQuestion())
    assert refusal.value.next_step


def test_a_corner_believed_better_though_nobody_built_it_is_worth_its_lead(place) -> None:
    """The worth counts from the best that was read: it is no less than what the best place of the batch leads by."""
    found = _next(place, builds=1, between=("binder 2 % to 4 %", "magnetite 16 % to 16 %"))
    ratio = max(one.ratio for one in found.builds)
    assert ratio > 1.02
    assert found.worth >= ratio - 1.0
    assert "leave the recipe" not in found.next_steps[0]


@pytest.mark.parametrize(
    ("order", "enough", "words"),
    [
        ((0, 1, 2), 2, "build the first 2"),
        ((0, 0, 1), 2, "build the first 2"),
        ((0, 1, 0, 1), 2, "build 1 x binder 10 %; 1 x binder 20 %"),
    ],
)
def test_the_first_builds_are_named_where_a_row_is_cut(order, enough, words) -> None:
    """A row of two builds of which one comes first is no "first two"."""
    rows = tuple(Counter(order).items())
    choice = Choice(builds=rows, worth=0.1, worths=(0.1,), before=0.0, leader=0, order=order)
    plan: Any = SimpleNamespace(places=[{"binder": f"{10 * k} %"} for k in (1, 2, 3)])
    assert few_words(plan, choice, enough) == words


def test_lines_table_and_figure_agree(place) -> None:
    """The same numbers, and predicted is said."""
    found = _next(place)
    assert len(batch_table(found).rows) == len(found.builds)
    figure = next_figure(found)
    assert {one.basis.value for one in figure.series} == {"predicted"}
    assert sorted(figure.series[0].x) == pytest.approx(sorted(one.ratio for one in found.builds))
    assert all(
        f"{one.ratio:.2f}" in build_line(one, found.best_read) or one.recipe == found.best_read
        for one in found.builds
    )
    assert found.headline.startswith("Predicted: ")


def test_limits_far_outside_do_not_swell_the_headline(place) -> None:
    """The batch and its gain stay within what was read; what lies outside is a guess, apart."""
    plain, far = _next(place), _next(place, between=("binder 2 % to 40 %",))
    assert far.worth < plain.worth + 0.01
    assert all(not one.beyond for one in far.builds)
    assert far.outside
    assert all(one.beyond == ("binder",) for one in far.outside)
    assert all("not to be counted on" in build_line(one, far.best_read) for one in far.outside)
    assert any("no gain is told for it" in line for line in far.warnings)


def test_a_batch_wholly_outside_tells_no_gain(place) -> None:
    """Nobody read anything near it: the headline says that it is a guess, and how to get there."""
    found = _next(place, between=("binder 2 % to 4 %",))
    assert found.headline.startswith("A guess: ")
    assert "about" not in found.headline
    assert all(one.beyond == ("binder",) for one in found.builds)
    assert found.next_steps[0].startswith("go there in steps")


def _silent(bench) -> None:
    for one in bench.all(Electrode):
        bench.put(replace(one, factors={}))


def test_with_no_factor_entered_the_record_tells_them(own, place) -> None:
    """Shares as weighed and the plate; what gives way is none; the batch is the one of the same factors typed."""
    typed = _next(place)
    _silent(own)
    offer = offered_factors(own, study_of(own))
    assert offer.typed == {}
    assert offer.recorded == {
        "magnetite pigment": "0 % to 16 %", "glass-film PVB": "10 % to 20 %", "plate temperature": "70 °C to 100 °C",
    }  # fmt: skip
    assert offer.rest == ("bamboo biochar",)
    found = next_batch(own, NextQuestion())
    assert found.factors.startswith("taken from the record: magnetite pigment 0 % to 16 %")
    assert found.factors.endswith("bamboo biochar gives way")
    assert found.worth == pytest.approx(typed.worth, abs=0.005)
    for one in found.builds:
        assert one.shares.get("glass-film PVB") == pytest.approx(
            float(one.settings["glass-film PVB"].split()[0]) / 100
        )
        assert one.shares["lamp black"] == pytest.approx(0.20)


def test_only_what_differs_beyond_its_weighing_is_a_factor(own) -> None:
    """Half a milligram more in a 3 g pot is no factor; all pots alike say what to do."""
    _silent(own)
    pot = own.get(Batch, "pot T5")
    for one in own.all(Batch):
        wax = next(p for p in pot.portions if p.of == "beeswax emulsion")
        off = replace(wax, mass=Entry(value=wax.mass.value + (5e-7 if one.name == "pot T1" else 0.0), standard_uncertainty=1.2e-5))  # fmt: skip
        same = tuple(off if p.of == wax.of else p for p in pot.portions)
        own.put(replace(one, portions=same, mix=pot.mix))
    for one in own.all(Electrode):
        layers = tuple(replace(layer, mix=pot.mix) for layer in one.layers)
        own.put(replace(one, layers=layers, press=()))
    assert offered_factors(own, study_of(own)).recorded == {}
    with pytest.raises(InputError, match="nothing differs") as refusal:
        next_batch(own, NextQuestion())
    assert "another share" in refusal.value.next_step


def test_factors_of_the_record_and_of_people_can_be_named(place) -> None:
    """One of each; what differs too and is not named is said; a name that nobody knows is refused."""
    found = _next(place, factors=("binder", "plate temperature"))
    assert set(found.builds[0].settings) == {"binder", "plate temperature"}
    assert any("magnetite pigment differs too" in line for line in found.warnings)
    mixed = _next(place, factors=("magnetite pigment", "plate temperature"))
    assert mixed.factors.startswith("taken from the record: magnetite pigment")
    with pytest.raises(InputError, match="no factor of these recipes") as refusal:
        _next(place, factors=("graphene",))
    assert "binder" in refusal.value.allowed


def test_the_cautions_count_the_batch_that_is_proposed(place) -> None:
    """Twenty-four pieces wet more than one: the pots, the vapour and the dust grow with them."""
    one, many = _next(place, builds=1), _next(place, builds=24, mixes=3)

    def figure(found, key):
        return next(c.figure for c in found.cautions if c.key.startswith(key))

    def wet(found):
        said = next(line for line in found.assumptions if "the cautions count" in line)
        return float(said.split(", ")[1].split(" g wet")[0])

    assert wet(many) > 2.5 * wet(one)

    def ethanol(found):
        return float(figure(found, "vapour.breathed").split("from ")[1].split(" g of ethanol")[0])

    assert ethanol(many) > 2.0 * ethanol(one)
    assert figure(many, "powder.dust") != figure(one, "powder.dust")
    pieces = 24 * 9.3
    area = figure(many, "vapour.breathed").split("over ")[1].split(" cm²")[0]
    assert float(area) == pytest.approx(pieces, rel=0.15)
