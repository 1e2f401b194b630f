"""Which conditions block, which cancel, which other records settle, and when sides are warned about."""

from __future__ import annotations

from dataclasses import replace

import pytest

from aerode.measure.comparison.conditions import (
    CONDITIONS,
    area_line,
    lead_line,
    weigh_conditions,
)
from aerode.measure.comparison.entrants import Entrant, first_states, recipe_of
from aerode.measure.comparison.study import Study
from aerode.records.electrodes import Cell, Electrode, Layer, Tab
from aerode.records.marks import Condition, Entry, Known
from aerode.records.materials import Electrolyte
from aerode.records.runs import Reading, Run

SAME = Condition(known=Known.SAME)
FIELDS = [kind.field for kind in CONDITIONS]


def measured(value: float) -> Condition:
    """A measured condition."""
    return Condition(known=Known.MEASURED, value=value)


def entrant(
    name: str, recipe: str, order: int = 1, session: str = "day", **fields: Condition
) -> Entrant:
    """A run of one electrode with every condition the same unless told otherwise."""
    run = Run(name=f"{name} loads", electrode=name, session=session, order=order, cell=f"cell {name}",
              **dict.fromkeys(FIELDS, SAME) | fields)  # fmt: skip
    return Entrant(run=run, electrode=Electrode(name=name, recipe=recipe))


def line(entrants: list[Entrant], key: str, **options: object):
    """The line of one condition."""
    place = [kind.key for kind in CONDITIONS].index(key)
    return weigh_conditions(entrants, **options).lines[place]


@pytest.mark.parametrize("kind", CONDITIONS, ids=lambda kind: kind.key)
def test_only_a_condition_that_may_differ_blocks_and_it_names_an_act(kind):
    """Same for all never blocks, measured never blocks, may differ blocks and says what to do."""
    pair = [entrant("A", "a", session="one"), entrant("B", "b", session="two")]
    assert not line(pair, kind.key).blocks
    both = [replace(e, run=replace(e.run, **{kind.field: measured(1.0)})) for e in pair]
    assert line(both, kind.key).known is Known.MEASURED
    assert not line(both, kind.key).blocks
    open_ = [pair[0], replace(pair[1], run=replace(pair[1].run, **{kind.field: Condition()}))]
    found = line(open_, kind.key)
    assert found.blocks
    assert "B loads" in found.detail
    assert f"--same {kind.key}" in found.next_step


def test_a_person_can_say_that_a_condition_was_the_same():
    """One word, or "rest" for all, turns a block into a condition that cancels."""
    pair = [entrant("A", "a", salinity=Condition()), entrant("B", "b", salinity=Condition())]
    assert line(pair, "salinity").blocks
    for said in ({"salinity"}, {"rest"}):
        found = line(pair, "salinity", said_same=said)
        assert not found.blocks
        assert found.known is Known.SAME
        assert "not measured" in found.detail
    assert line(pair, "salinity", said_same={"gap"}).blocks


def test_measured_on_some_and_the_same_on_the_rest_counts_as_the_same():
    """A value on one side does not make the other side's measured."""
    pair = [entrant("A", "a", salinity=measured(0.03)), entrant("B", "b")]
    found = line(pair, "salinity")
    assert found.known is Known.SAME
    assert "1 of 2" in found.detail


def filled(one: Entrant, electrolyte: Electrolyte) -> Entrant:
    """The same run with its cell filled from a batch of the shelf."""
    cell = Cell(name=f"cell {one.electrode.name}", electrode=one.electrode.name, electrolyte=electrolyte.name)  # fmt: skip
    return replace(one, cell=cell, electrolyte=electrolyte)


def test_salt_comes_from_the_electrolytes_record_where_the_run_has_none():
    """The mass fraction of the batch stands with its basis; what the run itself says goes before it."""
    pair = [entrant("A", "a", salinity=Condition()), entrant("B", "b", salinity=Condition())]
    weak = Electrolyte(name="bucket 1", salt="sodium chloride", mass_fraction=Entry(value=0.03))
    strong = Electrolyte(name="bucket 2", salt="sodium chloride", mass_fraction=Entry(value=0.05))
    found = line([filled(pair[0], weak), filled(pair[1], strong)], "salinity")
    assert found.known is Known.MEASURED
    assert not found.blocks
    assert found.detail == "30 to 50 g/kg, from the electrolyte's record"
    report = weigh_conditions([filled(pair[0], weak), filled(pair[1], strong)])
    assert any("salt in the water" in said for said in report.warnings)
    own = entrant("A", "a", salinity=measured(0.035))
    found = line([filled(own, weak), filled(pair[1], strong)], "salinity")
    assert found.detail == "35 to 50 g/kg, from the electrolyte's record on 1 of 2 runs"
    assert line([filled(pair[0], weak), pair[1]], "salinity").blocks


def test_a_study_brings_the_electrolyte_of_the_cell():
    """The batch that the cell names is found on the shelf; a name that is not there brings none."""
    readings = tuple(Reading(load=f"R{n}", resistance=10.0 * n, voltage=0.1 * n) for n in (1, 2, 3))
    runs = tuple(
        Run(name=f"{e} loads", electrode=e, cell=f"cell {e}", readings=readings) for e in "AB"
    )
    cells = {f"cell {e}": Cell(name=f"cell {e}", electrode=e, electrolyte=of)
             for e, of in (("A", "bucket"), ("B", "another"))}  # fmt: skip
    bucket = Electrolyte(name="bucket", salt="sodium chloride", mass_fraction=Entry(value=0.03))
    study = Study(electrodes=(Electrode(name="A"), Electrode(name="B")), runs=runs, cells=cells,
                  electrolytes={"bucket": bucket})  # fmt: skip
    assert [e.electrolyte for e in study.entrants()] == [bucket, None]


def test_one_electrolyte_named_by_all_cells_is_the_same():
    """Without a mass fraction, one batch for all cancels; two batches still block."""
    pair = [entrant("A", "a", salinity=Condition()), entrant("B", "b", salinity=Condition())]
    one, other = (Electrolyte(name=f"bucket {n}", salt="sodium chloride") for n in (1, 2))
    found = line([filled(e, one) for e in pair], "salinity")
    assert found.known is Known.SAME
    assert "bucket 1" in found.detail
    assert line([filled(pair[0], one), filled(pair[1], other)], "salinity").blocks


def test_equal_mass_fractions_of_different_salts_are_warned_about():
    """Three per cent of one salt is not three per cent of another."""
    pair = [entrant("A", "a", salinity=Condition()), entrant("B", "b", salinity=Condition())]
    salts = [Electrolyte(name=s, salt=s, mass_fraction=Entry(value=0.03))
             for s in ("potassium hydroxide", "sodium chloride")]  # fmt: skip
    mixed = weigh_conditions([filled(e, s) for e, s in zip(pair, salts, strict=True)])
    assert any("different salts" in said for said in mixed.warnings)
    alike = weigh_conditions([filled(e, salts[0]) for e in pair])
    assert not any("different salts" in said for said in alike.warnings)


def test_what_changes_steadily_in_a_session_is_left_to_the_run_order():
    """Age of water and charge of the aluminium follow the order, inside one session with noted places."""
    for key in ("electrolyte_age", "aluminium_charge"):
        pair = [
            entrant("A", "a", 1, **{key: Condition()}),
            entrant("B", "b", 2, **{key: Condition()}),
        ]
        assert not line(pair, key).blocks
        apart = [pair[0], replace(pair[1], run=replace(pair[1].run, session="other"))]
        assert line(apart, key).blocks
        unplaced = [pair[0], replace(pair[1], run=replace(pair[1].run, order=None))]
        assert line(unplaced, key).blocks


def test_cells_settle_the_aluminium_and_the_gap():
    """One lot named in all cells is the same aluminium; a gap measured on the cell is measured."""
    pair = [entrant("A", "a", aluminium=Condition(), gap=Condition()),
            entrant("B", "b", aluminium=Condition(), gap=Condition())]  # fmt: skip

    def with_cells(second: str) -> list[Entrant]:
        lots = ("can", second)
        return [
            replace(e, cell=Cell(name=f"cell {k}", electrode=e.electrode.name, aluminium=lot,
                                 gap=Entry(value=0.004, standard_uncertainty=1e-4)))
            for k, (e, lot) in enumerate(zip(pair, lots, strict=True))
        ]  # fmt: skip

    assert line(pair, "aluminium").blocks
    assert line(pair, "gap").blocks
    assert not line(with_cells("can"), "aluminium").blocks
    assert line(with_cells("foil"), "aluminium").blocks
    assert line(with_cells("can"), "gap").known is Known.MEASURED
    named = weigh_conditions(with_cells("can"))
    assert line(pair, "aluminium").condition in weigh_conditions(pair).not_measured
    assert line(pair, "aluminium").condition not in named.not_measured


def test_readings_with_a_temperature_make_it_measured():
    """A thermometer read with the readings is enough."""
    pair = [entrant("A", "a", temperature=Condition()), entrant("B", "b")]
    warm = tuple(Reading(resistance=10.0, voltage=0.4, temperature=t) for t in (295.0, 297.0))
    pair[0] = replace(pair[0], run=replace(pair[0].run, readings=warm))
    assert not line(pair, "temperature").blocks


def test_the_first_run_of_every_piece_settles_hours_and_charge():
    """A piece without an earlier run is fresh; one with an earlier run is not."""
    pair = [entrant("A", "a", hours_wet=Condition(), charge_before=Condition()),
            entrant("B", "b", hours_wet=Condition(), charge_before=Condition())]  # fmt: skip
    for key in ("hours_wet", "charge_before"):
        assert not line(pair, key, first_use={"A loads", "B loads"}).blocks
        assert line(pair, key, first_use={"A loads"}).blocks


@pytest.mark.parametrize(
    ("key", "inside", "beyond"),
    [
        ("hours_wet", 23 * 3600.0, 25 * 3600.0),
        ("charge_before", 170.0, 190.0),
        ("temperature", 2.9, 3.1),
        ("salinity", 0.0019, 0.0021),
    ],
)
def test_sides_that_differ_beyond_the_window_are_warned_about(key, inside, beyond):
    """Inside the window there is no warning, just beyond it there is, and it names both sides."""
    start = 290.0 if key == "temperature" else 0.03 if key == "salinity" else 3600.0

    def warned(gap: float) -> tuple[str, ...]:
        pair = [
            entrant("A", "a", 1, **{key: measured(start)}),
            entrant("B", "b", 2, **{key: measured(start + gap)}),
        ]
        return weigh_conditions(pair).warnings

    assert warned(inside) == ()
    (said,) = warned(beyond)
    assert "a and b differ" in said


def test_a_temperature_that_rose_with_the_order_is_said_to_be_carried_by_it():
    """The warning tells warming along the order from a jump between the sides."""
    warm = [290.0, 292.0, 294.0, 296.0, 298.0]
    side = ["a", "a", "b", "b", "b"]
    rising = [
        entrant(f"E{k}", s, k, temperature=measured(t))
        for k, (s, t) in enumerate(zip(side, warm, strict=True))
    ]
    assert "run order" in weigh_conditions(rising).warnings[0]
    mixed = [entrant(f"E{k}", s, k, temperature=measured(t))
             for k, (s, t) in zip([3, 0, 4, 1, 2], zip(side, warm, strict=True), strict=True)]  # fmt: skip
    assert "not corrected" in weigh_conditions(mixed).warnings[0]
    assert weigh_conditions(rising, temperature_corrected=True).warnings == ()


def test_without_areas_nothing_is_compared_unless_one_die_cut_them():
    """A missing area blocks; the word "area" allows a ratio with a cutting spread."""
    bare = [entrant("A", "a"), entrant("B", "b")]
    found = area_line(bare)
    assert found.blocks
    assert "ruler" in found.next_step
    assert not area_line(bare, {"area"}).blocks
    sized = [
        replace(e, electrode=replace(e.electrode, wetted_area=Entry(value=9e-4))) for e in bare
    ]
    assert area_line(sized).known is Known.MEASURED
    assert area_line(sized).detail == "9 cm^2"
    nearly = replace(sized[1], electrode=replace(sized[1].electrode, wetted_area=Entry(value=9.0004e-4)))  # fmt: skip
    assert area_line([sized[0], nearly]).detail == "9 cm^2"
    other = replace(sized[1], electrode=replace(sized[1].electrode, wetted_area=Entry(value=9.1e-4)))  # fmt: skip
    assert area_line([sized[0], other]).detail == "9 to 9.1 cm^2"
    assert area_line([sized[0], bare[1]]).blocks


def test_an_unmeasured_tab_is_allowed_for_and_does_not_block():
    """Tab or lead resistance may be lacking; the line says what is allowed for instead."""
    bare = entrant("A", "a")
    tabbed = replace(
        bare, electrode=replace(bare.electrode, tab=Tab(how="crimp", resistance=Entry(value=0.5)))
    )
    assert lead_line([tabbed]).known is Known.MEASURED
    found = lead_line([tabbed, bare])
    assert not found.blocks
    assert "0.1 to 0.5 ohm" in found.detail


def test_pieces_stand_together_by_recipe_then_factors_then_mix():
    """The side of an electrode is the most that is known of how it was made."""
    assert recipe_of(Electrode(name="T", recipe="r", factors={"x": 1.0})) == "r"
    assert recipe_of(Electrode(name="T", factors={"b": 2.0, "a": "hot"})) == "a hot, b 2"
    layers = (Layer(mix="m1"), Layer(mix="m2"))
    assert recipe_of(Electrode(name="T", layers=layers)) == "m1 + m2"
    assert recipe_of(Electrode(name="T washed", build="T")) == "T"


def test_the_earliest_state_of_a_piece_is_found_by_name_then_date_then_order():
    """A washed electrode is a later state of the same piece."""
    washed = Electrode(name="T4w", build="T4", made="2026-05-02")
    assert first_states([washed, Electrode(name="T4")]) == {"T4": "T4"}
    older = Electrode(name="T4x", build="T4", made="2026-05-01")
    assert first_states([washed, older]) == {"T4": "T4x"}
    undated = Electrode(name="T4u", build="T4")
    assert first_states([washed, undated]) == {"T4": "T4w"}
