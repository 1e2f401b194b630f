"""Air cathode or battery: it fires, it clears three ways, and it does not clear by mistake."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast

import pytest

from aerode.errors import RangeError
from aerode.measure import picturing
from aerode.measure.comparison.air_or_battery import charge_drawn, sealed_share, sealed_share_at
from aerode.measure.comparison.air_table import air_or_battery_rows
from aerode.measure.comparison.stored_charge import (
    ChargeFigure,
    charge_figure,
    dry_masses,
    stoichiometric_charge,
    stored_charge,
)
from aerode.measure.comparison.study import Study
from aerode.measure.run_readings import TAKEN_BACK
from aerode.records.electrodes import Cell, Coat, Electrode, Layer, RecipeState
from aerode.records.marks import Entry, Share
from aerode.records.materials import Dish, Electrolyte, Function, PowderLot, Solution
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.records.results import Estimate
from aerode.records.runs import Reading, Run, RunSort
from aerode.usecases.report_tables import air_sentence

if TYPE_CHECKING:
    from aerode.records.comparisons import Comparison

OXIDE = PowderLot(name="brown powder", substance="manganese dioxide", function=Function.CATALYST)
GLUE = Solution(name="glue", polymer="polystyrene", solids=Entry(value=0.1))
MIX = Mix(name="m", wanted=(Share(of="brown powder", fraction=0.5), Share(of="glue", fraction=0.5)))
SALT = Electrolyte(name="brine", salt="sea salt")
LYE = Electrolyte(name="lye", salt="potassium hydroxide")


def electrode(name: str = "T1", **changes) -> Electrode:
    """10 cm2 with 20 mg of film, half of it manganese dioxide: 3.08 mAh, 0.308 mAh/cm2 in salt water."""
    return Electrode(name=name, recipe="r", layers=(Layer(mix="m", dry_mass=Entry(value=2.0e-5)),),
                     wetted_area=Entry(value=1e-3), **changes)  # fmt: skip


def steps(
    name: str, seconds: float, sort: RunSort = RunSort.LOADS, volts: float = 0.40, on: str = "T1"
) -> Run:
    """One load of 10 ohm for so many seconds: 40 mA."""
    return Run(name=name, electrode=on, cell=f"cell {on}", sort=sort,
               readings=(Reading(load="open", voltage=0.7, waited=9e9),
                         Reading(resistance=10.0, voltage=volts, waited=seconds)))  # fmt: skip


def study(*runs: Run, pieces=None, electrolyte: Electrolyte = SALT, **more) -> Study:
    """A bench with these runs, on one electrode unless told otherwise."""
    pieces = pieces or (electrode(),)
    cells = {
        f"cell {e.name}": Cell(
            name=f"cell {e.name}", electrode=e.name, electrolyte=electrolyte.name
        )
        for e in pieces
    }
    return Study(electrodes=tuple(pieces), runs=runs, cells=cells, mixes={"m": MIX}, powders={OXIDE.name: OXIDE},
                 solutions={GLUE.name: GLUE}, electrolytes={electrolyte.name: electrolyte}, **more)  # fmt: skip


ENOUGH = 3.0829 * 3.6 / 0.040 / 0.9
"""Seconds at 40 mA that draw all 3.08 mAh and two uncertainties of 5 % more."""


def test_it_fires_while_less_is_drawn_than_stored_and_says_what_to_do():
    """0.22 of 0.31 mAh/cm2: cannot tell; tape over the face, or draw so much more."""
    (row,) = air_or_battery_rows(study(steps("a", 200.0)))
    assert not row.cleared
    assert (
        row.detail
        == "cannot tell an air cathode from a battery yet: drawn 0.22 of up to 0.31 mAh/cm^2"
    )
    assert row.charge_drawn.value == pytest.approx(200 * 0.040 / 3.6 / 10)
    assert row.stored_charge.value == pytest.approx(0.30827, rel=1e-4)
    assert "tape over the air face of T1" in row.next_step
    assert "1.2 mAh more" in row.next_step


def test_it_clears_when_clearly_more_is_drawn_than_stored():
    """A per cent beyond the bound with its uncertainty clears, a per cent short does not."""
    assert not air_or_battery_rows(study(steps("a", 0.99 * ENOUGH)))[0].cleared
    (row,) = air_or_battery_rows(study(steps("a", 1.01 * ENOUGH)))
    assert row.cleared
    assert row.next_step == ""


def test_charge_adds_up_over_all_runs_and_states_of_the_piece():
    """Two runs and a washed state of the same piece draw from one store."""
    washed = electrode("T1 washed", build="T1")
    parts = [
        steps("a", 0.4 * ENOUGH),
        steps("b", 0.4 * ENOUGH, RunSort.RUN_DOWN),
        steps("c", 0.3 * ENOUGH, on="T1 washed"),
    ]
    rows = air_or_battery_rows(study(*parts, pieces=(electrode(), washed)))
    assert [row.cleared for row in rows] == [True, True]
    assert not air_or_battery_rows(study(*parts[:2]))[0].cleared


def test_lye_lets_manganese_dioxide_give_its_second_electron():
    """In lye, or where the electrolyte is not known, the bound is twice that of salt water."""
    salt = air_or_battery_rows(study(steps("a", 200.0)))[0].stored_charge.value
    lye = air_or_battery_rows(study(steps("a", 200.0), electrolyte=LYE))[0].stored_charge.value
    unknown = air_or_battery_rows(replace(study(steps("a", 200.0)), electrolytes={}))[
        0
    ].stored_charge.value
    assert lye == unknown == pytest.approx(2 * (salt or 0))


def test_a_sealed_face_clears_only_if_little_current_is_left():
    """5 % left clears the piece and its recipe; 90 % left is the electrode's own charge."""
    twin = electrode("T2")
    fair = (steps("a", 200.0), steps("b", 200.0, on="T2"))
    for volts, clears in ((0.02, True), (0.36, False)):
        sealed = steps("s", 60.0, RunSort.SEALED_FACE, volts=volts)
        rows = air_or_battery_rows(study(*fair, sealed, pieces=(electrode(), twin)))
        assert [row.cleared for row in rows] == [clears, clears]
        assert "T1 sealed (one piece stands for its recipe)" in rows[1].detail
        assert "stands for" not in rows[0].detail
    other = replace(twin, recipe="another")
    rows = air_or_battery_rows(
        study(*fair, steps("s", 60.0, RunSort.SEALED_FACE, volts=0.02), pieces=(electrode(), other))
    )
    assert [row.cleared for row in rows] == [True, False]


def test_a_measured_blank_clears_and_an_unmeasured_one_does_not():
    """Same carbon without catalyst, on this bench."""
    blank = Electrode(name="B", recipe_state=RecipeState.BLANK)
    assert not air_or_battery_rows(study(steps("a", 200.0), blanks=(blank,)))[0].cleared
    assert air_or_battery_rows(study(steps("a", 200.0), steps("b", 60.0, on="B"), blanks=(blank,)))[
        0
    ].cleared


def test_a_solid_without_a_figure_is_never_cleared_by_charge():
    """The bound is then only "at least"; a figure handed in mends it."""
    odd = replace(OXIDE, substance="unheard-of oxide")
    bench = replace(study(steps("a", 50 * ENOUGH)), powders={odd.name: odd})
    (row,) = air_or_battery_rows(bench)
    assert not row.cleared
    assert "no figure for brown powder" in row.detail
    given = {odd.name: ChargeFigure(substance="unheard-of oxide", charge=1e6, source="sheet")}
    assert air_or_battery_rows(bench, given)[0].cleared


def test_without_recipe_or_dry_mass_nothing_is_computed():
    """Bought, or never weighed: the reason stands in the line and it stays unclear."""
    bought = Electrode(name="T1", recipe_state=RecipeState.BOUGHT)
    (row,) = air_or_battery_rows(study(steps("a", 50 * ENOUGH), pieces=(bought,)))
    assert not row.cleared
    assert row.stored_charge.value is None
    assert "recipe is not known" in (row.stored_charge.reason or "")
    assert row.charge_drawn.unit == "mAh"


def test_what_is_missing_for_the_charge_it_may_hold_is_named():
    """Recipe, dry mass, or both: the line says which, and the sentence over the table says that it is not known."""
    bare = Electrode(name="T1", wetted_area=Entry(value=1e-3))
    unweighed = replace(bare, layers=(Layer(mix="m"),))
    rows = [
        air_or_battery_rows(study(steps("r", 60.0), pieces=(piece,)))[0]
        for piece in (bare, unweighed, electrode())
    ]

    assert "is not known: its recipe (mix or pot) and the dry mass of its layer not entered" in rows[0].detail  # fmt: skip
    assert "is not known: the dry mass of its layer not entered" in rows[1].detail
    assert air_sentence([rows[1]] * 4) == (
        "For 4 of 4 it is not known what the electrode itself could hold: the dry mass of its layer not entered."
    )
    assert air_sentence(rows) == (
        "For 1 of 3 the charge drawn could have come out of the electrode itself. "
        "For 2 of 3 it is not known what the electrode itself could hold."
    )


def test_the_sentence_says_by_what_it_is_settled():
    """Charge beyond the bound, or the taped face: never the one where the table shows the other."""
    rows = [
        air_or_battery_rows(study(steps("r", seconds), pieces=(electrode(),)))[0]
        for seconds in (50 * ENOUGH, 60.0)
    ]
    taped = replace(rows[1], cleared=True, next_step="")
    assert rows[0].cleared
    assert air_sentence(rows[:1] * 2) == (
        "From all 2, more charge was drawn than the electrodes themselves may hold."
    )
    assert air_sentence([taped] * 4) == (
        "Air feeds the current of all 4: the taped face or a blank shows it for each."
    )
    assert air_sentence([rows[0], taped, taped]) == (
        "Air feeds the current of all 3: the taped face or a blank shows it for 2; "
        "from 1 more charge was drawn than they may hold."
    )


def test_the_taped_face_of_a_control_speaks_for_its_recipe():
    """A piece that became the control keeps its sealed run, and its fellow is cleared by it as before."""
    first, second = electrode(), replace(electrode(), name="T2")
    fair, sealed = steps("a", 60.0), replace(steps("s", 60.0, volts=0.1), sort=RunSort.SEALED_FACE)
    other = replace(steps("b", 60.0), electrode="T2")
    whole = study(fair, sealed, other, pieces=(first, second))
    as_control = replace(whole, electrodes=(second,), controls=(first,))
    before = {row.electrode: row for row in air_or_battery_rows(whole)}["T2"]
    (after,) = air_or_battery_rows(as_control)
    assert before.cleared
    assert (after.cleared, after.detail) == (before.cleared, before.detail)


def test_readings_without_a_time_draw_nothing_and_are_counted():
    """An untimed reading cannot clear anything."""
    run = Run(
        name="a",
        electrode="T1",
        readings=(Reading(resistance=10.0, voltage=0.4), Reading(current=0.1, waited=36.0)),
    )
    drawn = charge_drawn([run], lambda reading: reading.resistance)
    assert (drawn.charge, drawn.untimed) == (pytest.approx(3.6), 1)
    replaced = replace(
        run, readings=(*run.readings, Reading(current=0.01, waited=36.0, replaces=1))
    )
    assert charge_drawn([replaced], lambda reading: reading.resistance).charge == pytest.approx(
        0.36
    )


def test_the_sealed_share_is_taken_at_the_smallest_load_both_runs_have():
    """No shared load, no share."""
    fair, sealed = steps("a", 1.0), steps("s", 1.0, volts=0.1)
    assert sealed_share(fair, sealed, lambda r: r.resistance) == pytest.approx(0.25)
    other = replace(sealed, readings=(Reading(resistance=99.0, voltage=0.1),))
    assert sealed_share(fair, other, lambda r: r.resistance) is None


@pytest.mark.parametrize("doubt", ["lead came off", TAKEN_BACK])
def test_a_doubted_or_replaced_reading_is_no_part_of_the_sealed_share(doubt: str):
    """A reading that is doubted, taken back or replaced speaks for neither run, nor names the load."""
    fair, sealed = steps("a", 1.0), steps("s", 1.0, volts=0.1)
    slip = Reading(resistance=10.0, voltage=0.004, waited=1.0, doubt=doubt)
    small = Reading(resistance=1.0, voltage=0.004, waited=1.0, doubt=doubt)

    def share(open_run: Run, sealed_run: Run) -> tuple[float, float] | None:
        return sealed_share_at(open_run, sealed_run, lambda r: r.resistance)

    doubted = replace(sealed, readings=(*sealed.readings, slip, small))
    assert share(fair, doubted) == (10.0, pytest.approx(0.25))
    assert share(replace(fair, readings=(*fair.readings, slip, small)), doubted) == (
        10.0,
        pytest.approx(0.25),
    )
    assert share(fair, replace(sealed, readings=(slip,))) is None
    again = Reading(resistance=10.0, voltage=0.2, waited=1.0)
    late = replace(sealed, readings=(*sealed.readings, again, replace(again, voltage=0.1, replaces=2)))  # fmt: skip
    assert share(fair, late) == (10.0, pytest.approx(0.25))
    moved = replace(late, readings=(*late.readings[:2], small, replace(again, voltage=0.1, replaces=2)))  # fmt: skip
    wide = replace(fair, readings=(*fair.readings, replace(again, resistance=1.0)))
    assert share(wide, moved) == (10.0, pytest.approx(0.25))


def test_a_charge_drawn_in_air_beyond_the_bound_clears_whatever_a_sealed_face_kept():
    """A sealed run that keeps the current is a hint; a charge beyond what the solids hold is proof."""
    fair = steps("a", 200.0)
    sealed = steps("s", 60.0, RunSort.SEALED_FACE, volts=0.36)
    (hint,) = air_or_battery_rows(study(fair, sealed))
    assert not hint.cleared
    assert "a hint, and no proof" in hint.detail
    assert "mAh more with the face open" in hint.next_step

    (row,) = air_or_battery_rows(study(fair, sealed, steps("hours", ENOUGH, RunSort.RUN_DOWN)))
    assert row.cleared
    assert row.next_step == ""
    assert "more than the 0.31 mAh/cm^2 its solids could give: oxygen feeds it" in row.detail
    assert "90 % of the current" in row.detail
    logged = Run(name="log", electrode="T1", cell="cell T1", sort=RunSort.RUN_DOWN)
    (row,) = air_or_battery_rows(study(fair, sealed, logged, logged={"log": ENOUGH * 0.04}))
    assert row.cleared


def test_a_charge_drawn_behind_a_sealed_face_is_no_charge_drawn_in_air():
    """What flows with the face taped may be dissolved oxygen: it counts as nothing, logged or read by hand."""
    sealed = steps("s", 2 * ENOUGH, RunSort.SEALED_FACE, volts=0.4)
    log = replace(sealed, name="log", readings=())
    bench = study(steps("a", 200.0), sealed, log, logged={"log": ENOUGH * 0.04})
    (row,) = air_or_battery_rows(bench)
    assert not row.cleared
    assert row.charge_drawn.value == pytest.approx(200 * 0.040 / 3.6 / 10)
    assert row.charge_drawn.meaning == "over all its runs on this bench with the air face open"


def test_a_doubted_reading_is_no_proof_of_a_charge():
    """A voltage that the person doubts says nothing of the current."""
    run = steps("a", 2 * ENOUGH)
    doubted = replace(run, readings=tuple(replace(one, doubt="wrong range") for one in run.readings))  # fmt: skip
    assert not air_or_battery_rows(study(doubted))[0].cleared


def test_dry_masses_follow_what_was_wanted_else_what_was_weighed():
    """Shares of the mix, or of the pot dried by moisture and solids; coats add up; binders take no part."""
    film = {
        "mixes": {"m": MIX},
        "batches": {},
        "powders": {OXIDE.name: OXIDE},
        "solutions": {GLUE.name: GLUE},
    }
    assert dry_masses(electrode(), **film) == {"brown powder": pytest.approx(1.0e-5)}
    damp = replace(OXIDE, moisture=Entry(value=0.2))
    dishes = replace(GLUE, solids=None, dishes=(Dish(empty=1e-3, wet=2e-3, dried=1.2e-3),))
    pot = Batch(name="pot", mix="m", portions=(Portion(of="brown powder", mass=Entry(value=1e-3)),
                                               Portion(of="glue", shelf=Ingredient.SOLUTION, mass=Entry(value=4e-3))))  # fmt: skip
    weighed = film | {"mixes": {"m": Mix(name="m")}, "batches": {"pot": pot}, "powders": {damp.name: damp},
                      "solutions": {dishes.name: dishes}}  # fmt: skip
    piece = Electrode(
        name="T", layers=(Layer(batch="pot", coats=(Coat(dry_mass=1e-5), Coat(dry_mass=1e-5))),)
    )
    assert dry_masses(piece, **weighed) == {"brown powder": pytest.approx(1.0e-5)}
    assert dry_masses(Electrode(name="T", layers=(Layer(batch="pot"),)), **weighed) is None
    lump = Electrode(
        name="T", layers=(Layer(mix="m"),), mass=Entry(value=3e-5), mesh_mass=Entry(value=1e-5)
    )
    assert dry_masses(lump, **film) == {"brown powder": pytest.approx(1.0e-5)}
    assert dry_masses(Electrode(name="T"), **film) is None


def test_a_carbon_holds_its_surface_times_the_capacitance():
    """The lot's own surface beats the table; a lye or salt changes nothing."""
    own = charge_figure("biochar", carbon=True, lot_surface=1.0e5)
    table = charge_figure("biochar", carbon=True)
    assert own is not None
    assert table is not None
    assert "of this lot" in own.source
    assert own.charge < table.charge
    assert charge_figure("some charcoal nobody lists", carbon=True) is not None
    assert charge_figure("some charcoal nobody lists") is None


def test_parts_add_up_and_impossible_electrons_are_refused():
    """The bound is the sum of its parts; n and M must be above 0."""
    one = ChargeFigure(substance="a", charge=2.0, source="", verified=False)
    total = stored_charge(
        {"a": 3.0, "b": 1.0, "c": 1.0}, {"a": one, "b": replace(one, charge=10.0), "c": None}
    )
    assert total.bound == 16.0
    assert total.parts == (("b", 10.0), ("a", 6.0))
    assert total.unknown == ("c",)
    with pytest.raises(RangeError):
        stoichiometric_charge(0, 0.1)


def test_a_control_of_a_compared_recipe_stays_in_the_chart():
    """Named as the control, beside its fellows; a control of a recipe that nobody compares stays out."""
    one = SimpleNamespace(electrode="T2", recipe="r", control=False, left_out="", fair=Estimate(value=2.0, unit="mA/cm^2"))  # fmt: skip
    own = SimpleNamespace(**{**vars(one), "electrode": "T1", "control": True})
    other = SimpleNamespace(**{**vars(own), "electrode": "C0", "recipe": "c"})
    found = SimpleNamespace(pieces=(one, own, other), contrasts=())
    drawing = cast("Any", picturing)
    shown = drawing._shown(cast("Comparison", found))
    assert [drawing._name(piece) for piece in shown] == ["T2", "T1 (control)"]
