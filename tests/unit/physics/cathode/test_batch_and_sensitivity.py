"""Batches against single curves, and derivatives against a plain twin and against differences."""

from __future__ import annotations

from dataclasses import replace
from types import ModuleType

import numpy as np
import pytest

from aerode.errors import CannotTellError, RangeError, RecordError
from aerode.physics.cathode import (
    SENSITIVE,
    CathodeParameters,
    compiled,
    limiting_current,
    polarization,
    polarization_batch,
    sensitivities,
)
from aerode.physics.cathode.batch import pack_variants
from aerode.physics.cathode.packed import pack
from aerode.physics.cathode.sensitivity import plain_sensitivities
from aerode.quantities import Reason

CURRENTS = np.geomspace(0.5, 2000.0, 9)


def columns(count: int) -> dict[str, np.ndarray]:
    """Variants that differ in most fields."""
    rng = np.random.default_rng(4)
    return {
        "exchange_current": 10 ** rng.uniform(0.0, 3.0, count),
        "ionic_conductivity": 10 ** rng.uniform(-0.3, 1.0, count),
        "film_transfer": 10 ** rng.uniform(1.5, 4.0, count),
        "thickness": rng.uniform(2e-4, 6e-4, count),
        "agglomerate_radius": rng.choice([0.0, 1e-6, 5e-6], count),
        "air_film": rng.choice([0.0, 5e-3], count),
        "electrons": rng.uniform(2.0, 4.0, count),
    }


def variants(base: CathodeParameters, changes: dict[str, np.ndarray]) -> list[CathodeParameters]:
    """The same one by one."""
    count = next(iter(changes.values())).size
    return [
        replace(base, **{name: float(v[m]) for name, v in changes.items()}) for m in range(count)
    ]


@pytest.mark.parametrize("workers", [1, 2])
def test_batch_is_the_single_curves(reference: CathodeParameters, workers: int) -> None:
    """A batch gives each curve's own numbers, limits and reasons, with any number of threads."""
    changes = columns(24)
    batch = polarization_batch(reference, changes, CURRENTS, workers=workers)
    for m, variant in enumerate(variants(reference, changes)):
        alone = polarization(variant, CURRENTS)
        assert np.array_equal(np.isnan(batch.loss[m]), np.isnan(alone.loss))
        assert batch.loss[m] == pytest.approx(alone.loss, abs=1e-12, nan_ok=True)
        assert batch.limiting_current[m] == pytest.approx(alone.limiting_current, rel=1e-12)
        reasons = tuple(batch.reason(m, k) for k in range(CURRENTS.size))
        assert reasons == alone.reasons
    assert Reason.BEYOND_LIMIT in {batch.reason(m, 8) for m in range(24)}


def test_packing_columns_is_packing_each(reference: CathodeParameters) -> None:
    """Columns are packed to the arrays that packing one by one gives, collector inside or not."""
    for depth in (0.0, 1e-4):
        base = replace(reference, collector_depth=depth, back_slope=0.07)
        changes = columns(7)
        packed = pack_variants(base, changes, 7)
        assert packed is not None
        for m, variant in enumerate(variants(base, changes)):
            one = pack(variant)
            assert packed[0][m] == pytest.approx(one.steps, rel=1e-13)
            assert packed[1][m] == pytest.approx(one.whole, rel=1e-13)


def test_mixed_collectors_and_no_library(
    reference: CathodeParameters, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Variants of different build, and a bench without the library, go one by one."""
    changes = {"collector_depth": np.array([0.0, 1e-4, 4e-4])}
    batch = polarization_batch(reference, changes, [100.0])
    alone = [polarization(v, [100.0]).loss[0] for v in variants(reference, changes)]
    assert batch.loss[:, 0] == pytest.approx(alone, abs=1e-12)
    monkeypatch.setattr(compiled, "available", lambda: False)
    slow = polarization_batch(reference, {"electrons": [2.0, 4.0]}, [100.0])
    monkeypatch.undo()
    fast = polarization_batch(reference, {"electrons": [2.0, 4.0]}, [100.0])
    assert slow.loss == pytest.approx(fast.loss, abs=3e-8)


def test_batch_refusals(reference: CathodeParameters) -> None:
    """Nothing to change, uneven lengths, unknown fields, impossible values, falling currents."""
    with pytest.raises(RangeError):
        polarization_batch(reference, {}, CURRENTS)
    with pytest.raises(RangeError):
        polarization_batch(reference, {"electrons": [2.0], "thickness": [1e-4, 2e-4]}, CURRENTS)
    with pytest.raises(RangeError):
        polarization_batch(reference, {"colour": [2.0]}, CURRENTS)
    with pytest.raises(RangeError):
        polarization_batch(reference, {"back_slope": [0.05]}, CURRENTS)
    with pytest.raises(RecordError):
        polarization_batch(reference, {"electrons": [2.0, 5.0]}, CURRENTS)
    with pytest.raises(RecordError):
        polarization_batch(reference, {"collector_depth": [1.0]}, CURRENTS)
    with pytest.raises(RangeError):
        polarization_batch(reference, {"electrons": [2.0]}, CURRENTS[::-1])
    with pytest.raises(RangeError):
        polarization_batch(reference, {"electrons": [2.0]}, [[1.0], [2.0]])


def differentiable(cathode: CathodeParameters) -> list[str]:
    """The names that mean something for a cathode."""
    names = list(SENSITIVE)
    if cathode.back_slope is None:
        names.remove("back_slope")
    if 0.0 < cathode.collector_depth < cathode.thickness:
        names.remove("thickness")
    if cathode.agglomerate_radius == 0.0:
        names = [n for n in names if n not in ("agglomerate_radius", "film_transfer")]
    return names


@pytest.mark.parametrize(
    "name",
    [
        "collector at the electrolyte",
        "collector inside",
        "reverse reaction",
        "slab grains",
        "backing layer",
        "flooded from the air",
        "flooded from the electrolyte",
        "flooded from both",
    ],
)
def test_derivatives(name: str, reference: CathodeParameters, cases: ModuleType) -> None:
    """Exact derivatives equal the plain twin's to 2e-9 V and differences of curves to 2e-7 V."""
    cathode = cases.special_cases(reference)[name]
    limit = limiting_current(cathode)
    currents = np.array([0.5, 1.2]) if "flooded" in name else np.array([1.0, 100.0, 0.6 * limit])
    names = differentiable(cathode)
    exact = sensitivities(cathode, currents, names, tolerance=1e-9)
    twin = plain_sensitivities(cathode, currents, names, tolerance=1e-9)
    assert exact.by_logarithm == pytest.approx(twin.by_logarithm, abs=2e-9)
    step = 1e-4
    for n, field in enumerate(names):
        if field == "electrons":
            continue  # four is the most there is, so no difference can be taken around it
        values = [getattr(cathode, field) * (1.0 + sign * step) for sign in (1.0, -1.0)]
        moved = [{field: value} for value in values]
        if field == "thickness" and cathode.collector_depth > 0.0:
            moved = [{field: value, "collector_depth": value} for value in values]
        up, down = (
            polarization(replace(cathode, **change), currents, tolerance=1e-11).complete()
            for change in moved
        )
        assert exact.by_logarithm[:, n] == pytest.approx((up - down) / (2 * step), abs=2e-7), field


def test_scaling_law(reference: CathodeParameters) -> None:
    """One e-fold more catalyst at twice the reference is the same as its reference: they cancel."""
    moved = sensitivities(reference, [10.0, 300.0], ("exchange_current", "reference_oxygen"))
    assert moved.by_logarithm.sum(axis=1) == pytest.approx([0.0, 0.0], abs=1e-9)
    assert (moved.by_logarithm[:, 0] < 0.0).all()


def test_derivative_refusals(reference: CathodeParameters, cases: ModuleType) -> None:
    """Unknown names, steps, a collector inside, falling currents, and currents beyond the limit."""
    with pytest.raises(RangeError):
        sensitivities(reference, [1.0], ["colour"])
    with pytest.raises(RangeError):
        sensitivities(reference, [1.0], ["back_slope"])
    with pytest.raises(RangeError):
        sensitivities(cases.special_cases(reference)["two steps"], [1.0])
    with pytest.raises(RangeError):
        sensitivities(cases.special_cases(reference)["collector inside"], [1.0], ["thickness"])
    with pytest.raises(RangeError):
        sensitivities(reference, [2.0, 1.0])
    with pytest.raises(CannotTellError):
        sensitivities(reference, [1e5])
