"""Records with their needed fields only: what was left for later never closes the page of what is stored."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.electrodes import Cell, Electrode, Layer
from aerode.records.instruments import Instrument, Sort
from aerode.records.marks import Entry, Share
from aerode.records.materials import (
    Aluminium,
    Electrolyte,
    Function,
    MeshCard,
    PowderLot,
    Solution,
    SolventLot,
)
from aerode.records.mixes import Batch, Ingredient, Mix, Portion
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

_THREE = tuple(
    Reading(load=f"bare {ohms} ohm", voltage=volts)
    for ohms, volts in ((100, 0.8), (33, 0.7), (10, 0.52))
)


def _bare(bench: BenchFile) -> None:
    """Everything a mix, a piece and a run rest on, with nothing that may come later."""
    grams = Entry(value=5e-3, text="5 g")
    bench.put_all([
        *(Instrument(name=f"bare {ohms} ohm", sort=Sort.RESISTOR, nominal_resistance=ohms) for ohms in (100.0, 33.0, 10.0)),
        PowderLot(name="bare powder", substance="a powder of the shed", function=Function.ACTIVE_CARBON),
        Solution(name="bare glue", polymer="a glue of the shed"),
        SolventLot(name="bare bottle", substance="a thinner of the shed"),
        MeshCard(name="bare mesh", material="nickel"),
        Aluminium(name="bare sheet"), Electrolyte(name="bare brine", salt="sodium chloride"),
        Mix(name="empty mix"),
        Mix(name="by weight", portions=(
            Portion(of="bare powder", mass=grams), Portion(of="bare glue", shelf=Ingredient.SOLUTION, mass=grams),
            Portion(of="bare bottle", shelf=Ingredient.SOLVENT, mass=grams),
        )),
        Mix(name="by volume", portions=(
            Portion(of="bare powder", mass=grams),
            Portion(of="bare bottle", shelf=Ingredient.SOLVENT, volume=Entry(value=5e-6, text="5 mL")),
        )),
        Mix(name="by share", wanted=(Share(of="bare powder", fraction=0.9), Share(of="bare glue", fraction=0.1))),
        *(Batch(name=f"{mix} pot 1", mix=mix) for mix in ("empty mix", "by weight", "by volume", "by share")),
        *(Electrode(name=f"piece {mix}", recipe=mix, mesh="bare mesh", layers=(Layer(mix=mix, batch=f"{mix} pot 1"),))
          for mix in ("empty mix", "by weight", "by volume", "by share")),
        Electrode(name="bare piece"), Cell(name="bare cell", electrode="bare piece"),
        Run(name="bare run", electrode="bare piece", cell="bare cell", readings=_THREE),
        Run(name="bare run 2", electrode="piece by weight", readings=_THREE),
    ])  # fmt: skip


def test_what_was_left_for_later_closes_no_page(inside: TestClient, bench_place: Path) -> None:
    """Each page of a bare record opens, and each form that begins with one."""
    with BenchFile.open(bench_place) as bench:
        _bare(bench)
    mixes = ("empty mix", "by weight", "by volume", "by share")
    places = [
        "/",
        "/mixes",
        "/shelf",
        "/electrodes",
        "/runs",
        "/compare",
        "/more",
        "/next",
        "/cautions",
        "/report",
    ]
    places += [f"/things/{kind}/{name}{tail}" for kind, name in (
        ("powder", "bare powder"), ("solution", "bare glue"), ("solvent", "bare bottle"), ("mesh", "bare mesh"),
        ("aluminium", "bare sheet"), ("electrolyte", "bare brine"), ("electrode", "bare piece"), ("cell", "bare cell"),
    ) for tail in ("", "/edit")]  # fmt: skip
    for mix in mixes:
        places += [f"/mixes/{mix}{tail}" for tail in ("", "/edit", "/copy", "/pots/new", f"/pots/{mix} pot 1", f"/pots/{mix} pot 1/edit")]  # fmt: skip
        places += [f"/electrodes/piece {mix}", f"/mixes/{mix}?area=9&loading=25&electrodes=1"]
    places += ["/electrodes/bare piece", "/runs/bare run", "/runs/bare run 2", "/runs/start?electrode=bare piece"]  # fmt: skip

    closed = [(place, got.status_code) for place in places if (got := inside.get(place)).status_code != 200]  # fmt: skip
    assert closed == []
