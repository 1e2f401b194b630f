"""The translated solver against its plain twin; translating without a library or a cache folder."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from aerode.errors import MissingExtraError, RangeError
from aerode.physics.cathode import (
    CathodeParameters,
    Route,
    compiled,
    kernel_equations,
    kernel_walk,
    limiting_current,
    polarization,
)
from aerode.physics.cathode.nodes import nodes
from aerode.physics.cathode.packed import SHAPES, pack
from aerode.physics.cathode.tables import node_tables, share_table
from aerode.physics.effectiveness import Shape, effectiveness, effectiveness_slope

ONE_FACE = [
    "collector at the electrolyte",
    "collector inside",
    "reverse reaction",
    "slab grains",
    "backing layer",
    "two steps",
    "three steps, collector inside",
    "partly flooded",
    "flooded from the air",
    "flooded from the electrolyte",
]


@pytest.mark.parametrize("name", ONE_FACE)
def test_special_twins(name: str, reference: CathodeParameters, cases: ModuleType) -> None:
    """Both solvers give the same losses for every switch of the model."""
    cathode = cases.special_cases(reference)[name]
    top = 5.0 if "flooded" in name else 500.0
    currents = np.minimum(top * np.geomspace(1e-4, 1.0, 9), 0.9 * limiting_current(cathode))
    fast = polarization(cathode, currents, route=Route.COMPILED).complete()
    plain = polarization(cathode, currents, route=Route.PLAIN).complete()
    assert fast == pytest.approx(plain, abs=3e-8)


def test_ordinary_twins(cases: ModuleType) -> None:
    """Thirty ordinary curves agree within the stated errors, which keep their promise."""
    rng = np.random.default_rng(5)
    for _ in range(30):
        cathode = cases.ordinary_case(rng)
        currents = np.geomspace(0.1, min(800.0, 0.95 * limiting_current(cathode)), 12)
        fast = polarization(cathode, currents, route=Route.COMPILED)
        plain = polarization(cathode, currents, route=Route.PLAIN, tolerance=1e-10)
        assert (np.abs(fast.loss - plain.complete()) < fast.error_estimate + 2e-9).all()
        assert fast.error_estimate.max() <= 1.01e-7


def test_hard_twins(cases: ModuleType) -> None:
    """Thirty hard points agree within both tolerances."""
    rng = np.random.default_rng(cases.SEEDS[1])
    for _ in range(30):
        cathode, current = cases.hard_case(rng)
        fast = polarization(cathode, [current], route=Route.COMPILED).complete()
        plain = polarization(cathode, [current], route=Route.PLAIN).complete()
        assert fast == pytest.approx(plain, abs=1.1e-7)


def test_hard_all_answered(cases: ModuleType) -> None:
    """None of the 2,400 hard points is refused, and a tolerance ten thousand times finer agrees."""
    worst = 0.0
    for seed in cases.SEEDS:
        rng = np.random.default_rng(seed)
        for _ in range(800):
            cathode, current = cases.hard_case(rng)
            once = polarization(cathode, [current], route=Route.COMPILED)
            again = polarization(cathode, [current], route=Route.COMPILED, tolerance=1e-11)
            miss = abs(float(once.complete()[0] - again.complete()[0]))
            worst = max(worst, miss - float(once.error_estimate[0]))
    assert worst < 1e-8


def test_untranslated_loops_give_the_same(reference: CathodeParameters) -> None:
    """The bare loops run as plain Python too, and give what their translation gives."""
    cathode, currents = pack(reference), np.array([1.0, 100.0, 900.0])
    losses, errors = np.empty(3), np.empty(3)
    tables, offsets = node_tables()
    found = kernel_walk.walk(
        cathode.steps, cathode.whole, currents, 1e-7, tables, offsets, share_table(Shape.SPHERE),
        24, losses, errors, np.empty((0, 3, 1)), np.empty((0, 1)), np.empty((0, 2), np.int64),
        np.empty((0, 13)),
    )  # fmt: skip
    assert found == 3
    fast, fast_errors, _ = compiled.values(cathode, currents, 1e-7)
    assert losses == pytest.approx(fast, abs=1e-13)
    assert errors == pytest.approx(fast_errors, rel=1e-3)


def test_too_little_room_is_said(reference: CathodeParameters) -> None:
    """A walk that needs more nodes than there is room for says so instead of writing past the end."""
    drowned = replace(
        reference, agglomerate_radius=0.0, film_transfer=np.inf, gas_diffusivity=2e-11
    )
    cathode, nothing = pack(drowned), np.empty((0, 13))
    tables, offsets = node_tables()
    found = kernel_walk.walk(
        cathode.steps, cathode.whole, np.array([50.0]), 1e-7, tables, offsets,
        share_table(Shape.SPHERE), 24, np.empty(1), np.empty(1), np.empty((0, 3, 1)),
        np.empty((0, 1)), np.empty((0, 2), np.int64), nothing,
    )  # fmt: skip
    assert found == -1


@pytest.mark.parametrize("shape", SHAPES)
def test_share_table(shape: Shape) -> None:
    """The table and its asymptotes give the closed form to 1e-8 and its slope to 1e-6."""
    logs = np.linspace(-14.0, 20.0, 2000)
    table = share_table(shape)
    number = SHAPES.index(shape)
    found = np.array([kernel_equations.grain_share(float(v), number, table) for v in logs])
    assert found[:, 0] == pytest.approx(np.log(effectiveness(np.exp(logs), shape)), abs=1e-8)
    assert found[:, 1] == pytest.approx(effectiveness_slope(np.exp(logs), shape), abs=1e-6)


def test_elimination_exchanges_rows() -> None:
    """Small pivots and nothing on the diagonal are met; a singular system is refused."""
    rng = np.random.default_rng(1)
    for order in (2, 3, 7, 10, 45):
        matrix = rng.normal(size=(order, order))
        matrix[0, 0] = 0.0
        matrix[order // 2, order // 2] = 1e-9
        right = rng.normal(size=order)
        system = np.column_stack([matrix, right])
        assert kernel_equations.eliminate(order, system)
        assert system[:, order] == pytest.approx(np.linalg.solve(matrix, right), abs=1e-6)
    assert not kernel_equations.eliminate(2, np.zeros((2, 3)))


def test_node_tables_hold_the_nodes() -> None:
    """The flat table begins each block with the nodes and weights of its count."""
    table, offsets = node_tables()
    for place, count in enumerate((4, 6, 8, 12, 16, 24)):
        block = table[offsets[place] : offsets[place + 1]]
        assert block[:count].tolist() == nodes(count).position.tolist()
        assert block[count : 2 * count].tolist() == nodes(count).weight.tolist()


def test_both_faces_are_left_to_the_plain_solver(
    reference: CathodeParameters, cases: ModuleType
) -> None:
    """The compiled route refuses what it does not know; the best route solves it."""
    both = cases.special_cases(reference)["flooded from both"]
    with pytest.raises(RangeError):
        polarization(both, [1.0], route=Route.COMPILED)
    assert polarization(both, [1.0]).reasons == (None,)


def test_without_the_library(reference: CathodeParameters, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the compiling library the best route is the plain one and the compiled one refused."""
    expected = polarization(reference, [100.0]).complete()
    for name in ("available", "_library", "kernels"):
        getattr(compiled, name).cache_clear()
    monkeypatch.setitem(sys.modules, "numba", None)
    try:
        assert not compiled.available()
        assert polarization(reference, [100.0]).complete() == pytest.approx(expected, abs=3e-8)
        with pytest.raises(MissingExtraError, match="optional library"):
            polarization(reference, [100.0], route=Route.COMPILED)
    finally:
        monkeypatch.undo()
        for name in ("available", "_library", "kernels"):
            getattr(compiled, name).cache_clear()


def test_cache_folder_falls_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The user's cache folder first, a temporary one next, none where neither can be written."""
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    assert compiled.cache_folder() == tmp_path / "cache" / "aerode" / "compiled"
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    monkeypatch.setattr(compiled.tempfile, "gettempdir", lambda: str(tmp_path / "temporary"))
    found = compiled.cache_folder()
    assert found is not None
    assert found.is_relative_to(tmp_path / "temporary")
    monkeypatch.setattr(compiled.tempfile, "gettempdir", lambda: str(blocked))
    assert compiled.cache_folder() is None


def test_somebody_elses_folder_is_not_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Translated code is never loaded from a folder of another user."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "mine"))
    monkeypatch.setattr(compiled.tempfile, "gettempdir", lambda: str(tmp_path / "shared"))
    monkeypatch.setattr(os, "getuid", lambda: 123456)
    assert compiled.cache_folder() is None


def test_imports_without_the_library() -> None:
    """Importing the cathode loads no compiler: that waits for the first solve."""
    code = "import sys, aerode.physics.cathode as c; print('numba' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
