"""Bands drawn from shares, and losses counted with memory that does not grow."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import truncnorm

from aerode.errors import RangeError
from aerode.measure.porous.bands import Band, Form, drawn, shown
from aerode.measure.porous.streaming import CHUNK, RESOLUTION, Counts, count_losses, from_bands
from aerode.physics.cathode import CathodeParameters, polarization
from aerode.quantities import Basis

CATHODE = CathodeParameters(
    thickness=4e-4, ionic_conductivity=2.0, electronic_conductivity=50.0, gas_diffusivity=2e-6,
    oxygen_air=8.56, air_film=5e-3, henry_liquid_per_gas=0.0265, agglomerate_radius=2e-6,
    agglomerate_diffusivity=5e-10, agglomerate_fraction=0.4, film_transfer=50.0,
    exchange_current=50.0, reference_oxygen=0.22684, tafel_slope=0.05138558, electrons=4.0,
)  # fmt: skip
FILM = Band(
    low=10.0, high=250.0, form=Form.EVEN_IN_LOG, unit="1/s", basis=Basis.ASSUMED, source="t"
)


def test_a_bell_is_a_cut_normal() -> None:
    """A bell agrees with scipy's truncated normal."""
    band = Band.bell(1.0, 0.8, "m", Basis.MEASURED, "here", least=0.2)
    shares = np.linspace(0.01, 0.99, 9)

    assert band.at(shares) == pytest.approx(truncnorm.ppf(shares, -1.0, np.inf, 1.0, 0.8), rel=1e-9)


def test_forms_and_refusals() -> None:
    """Fixed, even, and what is no band."""
    assert Band.fixed(2.0, "", Basis.ASSUMED, "x").at(np.array([0.1, 0.9])).tolist() == [2.0, 2.0]
    assert (
        Band(low=1.0, high=3.0, form=Form.EVEN, unit="", basis=Basis.ASSUMED, source="x").middle
        == 2.0
    )
    with pytest.raises(RangeError):
        Band(low=3.0, high=1.0, form=Form.EVEN, unit="", basis=Basis.ASSUMED, source="x")
    with pytest.raises(RangeError):
        Band(low=0.0, high=1.0, form=Form.EVEN_IN_LOG, unit="", basis=Basis.ASSUMED, source="x")


def test_rows_and_records() -> None:
    """Columns follow the order of the bands, and the record names its span."""
    rows = drawn({"a": FILM, "b": FILM}, np.array([[0.0, 1.0]]))
    line = shown({"film": FILM})[0]

    assert (rows["a"][0], rows["b"][0]) == pytest.approx((10.0, 250.0))
    assert line.low == pytest.approx(10.0 * 25.0**0.025)
    assert line.basis is Basis.ASSUMED


def test_counted_quantiles_are_those_of_the_sorted_values() -> None:
    """Counting agrees with sorting to one step, also where some cannot carry the current."""
    dice = np.random.default_rng(3)
    values = dice.normal(0.4, 0.05, (5000, 2))
    values[:1000, 1] = np.nan
    counts = Counts(2)
    for part in np.array_split(values, 7):
        counts.add(part)

    for share in (0.025, 0.5, 0.975):
        exact = np.nanquantile(values, share, axis=0, method="inverted_cdf")
        assert counts.quantile(share) == pytest.approx(exact, abs=RESOLUTION)
    assert counts.carried.tolist() == [5000, 4000]


def test_streaming_is_the_plain_loop() -> None:
    """Chunks, threads and counting give what one curve after the other gives."""
    currents = np.array([10.0, 100.0])
    told: list[float] = []
    draws = CHUNK + 40
    counts = count_losses(
        CATHODE, from_bands({"film_transfer": FILM}), currents, draws=draws, seed=5, workers=2,
        step=lambda _, share: told.append(share),
    )  # fmt: skip
    shares = [np.random.default_rng([5, k]).random((n, 1)) for k, n in enumerate((CHUNK, 40))]
    films = FILM.at(np.concatenate(shares)[:, 0])
    from dataclasses import replace

    some = [
        polarization(replace(CATHODE, film_transfer=float(f)), currents).loss[1]
        for f in films[:200]
    ]

    assert told[-1] == 1.0
    assert counts.draws == draws
    low, high = float(counts.quantile(0.0005)[1]), float(counts.quantile(0.9995)[1])
    assert low - 2e-3 < min(some)
    assert max(some) < high + 2e-3
    assert counts.quantile(0.5)[1] == pytest.approx(float(np.median(some)), abs=0.01)
    with pytest.raises(RangeError):
        count_losses(CATHODE, from_bands({"film_transfer": FILM}), currents, draws=0, seed=1)
