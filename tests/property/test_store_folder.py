"""A bench written as a folder, or as a package, and imported again is the same bench."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from aerode.records.electrodes import (
    Cell,
    Electrode,
    Firmness,
    Layer,
    Outcome,
    Press,
    Seal,
    Sensing,
    Tab,
)
from aerode.records.instruments import Instrument, MeterRange, Sort
from aerode.records.marks import Condition, Entry, Known, Share
from aerode.records.materials import (
    Dish,
    Function,
    MeshCard,
    PowderLot,
    Price,
    Solution,
    StripResistance,
)
from aerode.records.mixes import Ingredient, Mix, Portion
from aerode.records.places import Airing, Bench, Claim, People, Room
from aerode.records.runs import Observation, Reading, Run, RunSort, Settling
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_edited import edited_tables, import_tables
from aerode.usecases.bench_export import export
from aerode.usecases.bench_folder import read_folder, records_of
from aerode.usecases.bench_package import import_package
from aerode.usecases.bench_write_folder import write_folder

WORDS = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs", "Cc", "Zs", "Zl", "Zp"]),
    min_size=1,
    max_size=8,
)
SENTENCES = st.lists(WORDS, max_size=4).map(" ".join)
POSITIVE = st.floats(1e-9, 1e9)
STIRRED = st.floats(1e-9, 4.0)
"""[kg]; a pot that is stirred by hand."""
STIRRED_LITRES = st.floats(1e-12, 4e-3)
"""[m³]"""
PLATES = st.floats(280.0, 700.0)
"""[K]; what a plate of a household can have."""
SHARES = st.floats(0.0, 1.0)
ANY = st.floats(-1e6, 1e6)


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """The value, or nothing."""
    return st.none() | strategy


def several(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """None to three of them."""
    return st.lists(strategy, max_size=3).map(tuple)


def entries(values: st.SearchStrategy[float]) -> st.SearchStrategy[Any]:
    """An entry, or none."""
    return maybe(
        st.builds(Entry, value=values, standard_uncertainty=maybe(POSITIVE), how=SENTENCES, text=SENTENCES, published=SENTENCES)
    )  # fmt: skip


def conditions(values: st.SearchStrategy[float]) -> st.SearchStrategy[Condition]:
    """Each of the three states."""
    measured = st.builds(
        Condition, known=st.just(Known.MEASURED), value=values, standard_uncertainty=maybe(POSITIVE), how=SENTENCES
    )  # fmt: skip
    return measured | st.builds(Condition, known=st.sampled_from([Known.SAME, Known.MAY_DIFFER]))


FACTORS = st.dictionaries(
    WORDS, ANY | st.sampled_from(["cold", "85 degrees", "with wax"]), max_size=3
)
DISHES = (
    st.lists(POSITIVE, min_size=3, max_size=3)
    .map(sorted)
    .filter(lambda masses: masses[0] < masses[2])
    .map(lambda masses: Dish(empty=masses[0], dried=masses[1], wet=masses[2]))
)
"""Empty, dried, wet: what a dish can weigh; anything else is refused where it comes in."""

RECORDS = {
    "bench": st.builds(Bench, title=SENTENCES.filter(bool), note=SENTENCES),
    "powder": st.builds(
        PowderLot, name=WORDS, substance=WORDS, function=st.sampled_from(Function), moisture=entries(SHARES),
        true_density=entries(POSITIVE), largest_grain=entries(POSITIVE), recovered=st.booleans(),
        price=maybe(st.builds(Price, amount=POSITIVE, per_mass=maybe(POSITIVE), date=st.just("2025-05-03"))),
    ),
    "solution": st.builds(
        Solution, name=WORDS, polymer=WORDS, liquid=several(st.builds(Share, of=WORDS, fraction=SHARES)),
        dishes=several(DISHES),
        density=entries(POSITIVE), dispersed=st.booleans(),
    ),
    "mesh": st.builds(
        MeshCard, name=WORDS, material=WORDS, magnetic=maybe(st.booleans()), pitch=entries(POSITIVE),
        strips=several(st.builds(StripResistance, length=POSITIVE, width=POSITIVE, resistance=POSITIVE)),
    ),
    "mix": st.builds(
        Mix, name=WORDS, portions=several(
            st.builds(Portion, of=WORDS, shelf=st.sampled_from(Ingredient), mass=entries(STIRRED).filter(bool))
            | st.builds(Portion, of=WORDS, volume=entries(STIRRED_LITRES).filter(bool))),
        solids_fraction=entries(SHARES),
    ),
    "electrode": st.builds(
        Electrode, name=WORDS, recipe=SENTENCES, factors=FACTORS, mesh=WORDS, wetted_area=entries(POSITIVE),
        layers=several(st.builds(Layer, mix=WORDS, dry_mass=entries(POSITIVE))),
        press=several(st.builds(Press, plate_temperature=entries(PLATES), duration=maybe(POSITIVE),
                                firmness=maybe(st.sampled_from(Firmness)), torque=entries(POSITIVE))),
        seal=maybe(st.builds(Seal, sealant=WORDS, overlap=entries(POSITIVE))),
        tab=maybe(st.builds(Tab, how=WORDS, resistance=entries(POSITIVE))),
        thickness=several(st.floats(1e-9, 0.02)), outcome=st.sampled_from(Outcome), control=st.booleans(),
    ),
    "cell": st.builds(Cell, name=WORDS, electrode=WORDS, gap=entries(POSITIVE), sensing=st.sampled_from(Sensing)),
    "instrument": st.builds(
        Instrument, name=WORDS, sort=st.sampled_from(Sort), tolerance=maybe(SHARES),
        resolution=maybe(POSITIVE), nominal_resistance=maybe(POSITIVE),
        ranges=several(st.builds(MeterRange, name=WORDS, measures=st.sampled_from(["voltage", "current", "resistance"]),
                                 full_scale=POSITIVE, count=POSITIVE, of_reading=SHARES, counts=POSITIVE,
                                 burden=entries(POSITIVE))),
    ),
    "run": st.builds(
        Run, name=WORDS, cell=WORDS, sort=st.sampled_from(RunSort), order=maybe(st.integers(0, 99)),
        started=st.just("2025-05-03T09:00:00Z"), head=maybe(POSITIVE),
        readings=several(st.builds(Reading, load=WORDS, voltage=maybe(ANY), current=maybe(ANY), at=maybe(POSITIVE),
                                   settling=st.sampled_from(Settling), temperature=maybe(POSITIVE),
                                   trace=several(st.tuples(ANY, ANY)), replaces=maybe(st.integers(0, 9)))),
        observations=several(st.builds(Observation, at=POSITIVE, wet=st.booleans())),
        temperature=conditions(POSITIVE), salinity=conditions(SHARES), hours_wet=conditions(POSITIVE),
        aluminium=conditions(SHARES),
    ),
    "room": st.builds(Room, name=WORDS, volume=entries(POSITIVE), airing=maybe(st.sampled_from(Airing)),
                      humidity=conditions(SHARES), people=several(st.sampled_from(People))),
    "claim": st.builds(Claim, name=WORDS, question=WORDS, at=maybe(POSITIVE), margin=st.floats(1.01, 5.0),
                       response=st.sampled_from(["current density at a cell voltage", "voltage at a current density"])),
}  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(sorted(RECORDS)).flatmap(
        lambda kind: st.lists(
            RECORDS[kind],
            min_size=1,
            max_size=1 if kind == "bench" else 3,
            unique_by=lambda r: r.name,
        )
    )
)
def test_written_and_read_again(records: list[Any]) -> None:
    """Every field, every digit; what people typed stays beside it."""
    with tempfile.TemporaryDirectory() as name:
        write_folder(records, Path(name))
        folder = read_folder(Path(name))

    assert folder.faults == []
    assert records_of(folder) == records


TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=12)
STEPS = st.lists(
    st.tuples(
        st.sampled_from(sorted(set(RECORDS) - {"bench"})).flatmap(RECORDS.__getitem__), TEXTS
    ),
    min_size=1,
    max_size=6,
)


@settings(max_examples=25, deadline=None)
@given(STEPS, st.binary(max_size=40).map(b"\x89PNG".__add__))
def test_out_as_a_package_and_in_again(steps: list[tuple[Any, str]], file: bytes) -> None:
    """Whatever was stored in whatever order: every digest, the journal, and each byte of the package.

    Its tables, taken in as they are, change nothing: no cell loses what it holds.
    """
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with BenchFile.create(folder / "a.aerode", title="a", who="=Ida") as bench:
            for record, why in steps:
                bench.put(record, why=why)
            bench.keep(file, media="image/png")
            bench.withdraw(type(steps[0][0]), steps[0][0].name)
            export(bench, folder / "a")
            before, newest = bench.history(), bench.newest()
        import_package(folder / "b.aerode", folder / "a")
        with BenchFile.open(folder / "b.aerode") as bench:
            assert (bench.history(), bench.newest()) == (before, newest)
            assert bench.check().whole
            export(bench, folder / "b")
            tables = edited_tables(folder / "b/tables")
            assert import_tables(bench, tables).changed == ()
            assert bench.newest() == newest
        for path in (folder / "a").rglob("*"):
            if path.is_file():
                assert (
                    path.read_bytes()
                    == (folder / "b" / path.relative_to(folder / "a")).read_bytes()
                )
