"""Reading, writing, refusing and stepping of cathode parameters."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from aerode.errors import RecordError
from aerode.physics.cathode import (
    CathodeParameters,
    OxygenSupply,
    Sublayer,
    from_keys,
    layered,
    partly_flooded,
    to_keys,
)
from aerode.physics.cathode.packed import BEYOND, THICKNESS, pack
from aerode.physics.effectiveness import Shape


def test_keyed_form_returns(reference: CathodeParameters) -> None:
    """Written and read again, a cathode is the same, words and optional values included."""
    other = replace(reference, back_slope=0.08, agglomerate_shape=Shape.SLAB, collector_depth=1e-4)
    assert from_keys(to_keys(reference)) == reference
    assert from_keys(to_keys(other)) == other


def test_every_fault_is_listed(reference: CathodeParameters) -> None:
    """A missing, an unknown, an unreadable and a wrong-word key are all named at once."""
    keys = to_keys(reference)
    del keys["electrons"]
    keys |= {"colour": 1.0, "thickness_m": "thick", "agglomerate_shape": "egg"}
    with pytest.raises(RecordError) as caught:
        from_keys(keys)
    named = {fault.field for fault in caught.value.faults}
    assert named == {"electrons", "colour", "thickness_m", "agglomerate_shape"}


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("thickness", 0.0),
        ("electrons", 4.5),
        ("electrons", 0.0),
        ("oxygen_air", math.nan),
        ("gas_diffusivity", -1.0),
        ("gas_diffusivity", math.inf),
        ("agglomerate_fraction", 1.2),
        ("collector_depth", 1e-3),
        ("oxygen_supply", OxygenSupply.ELECTROLYTE_FACE),
    ],
)
def test_impossible_values(reference: CathodeParameters, field: str, value: object) -> None:
    """Values that cannot be are refused when the record is made."""
    with pytest.raises(RecordError):
        replace(reference, **{field: value})  # pyright: ignore[reportArgumentType]


def test_electrons_have_no_default() -> None:
    """Two or four electrons: nobody chooses but the caller."""
    assert "electrons" not in {
        name
        for name, field in CathodeParameters.__dataclass_fields__.items()
        if not isinstance(
            field.default, type(CathodeParameters.__dataclass_fields__["electrons"].default)
        )
    }


def test_steps(reference: CathodeParameters) -> None:
    """The thickness of a stepped cathode is the sum; a wrong sum is refused; no keyed form."""
    steps = (Sublayer(thickness=1e-4), Sublayer(thickness=2e-4, film_transfer=5.0))
    stepped = layered(replace(reference, collector_depth=4e-4), steps)
    assert stepped.thickness == pytest.approx(3e-4)
    assert stepped.collector_depth == stepped.thickness
    with pytest.raises(RecordError):
        replace(reference, sublayers=steps)
    with pytest.raises(RecordError):
        to_keys(stepped)
    with pytest.raises(RecordError):
        partly_flooded(reference, 4e-4, 8e-10)


def test_collector_cuts_a_step(reference: CathodeParameters) -> None:
    """A collector inside a step cuts it in two; at either face it does not."""
    inside = pack(replace(reference, collector_depth=1e-4)).steps
    assert inside[:, THICKNESS] == pytest.approx([1e-4, 3e-4])
    assert inside[:, BEYOND].tolist() == [0.0, 1.0]
    assert pack(reference).steps[:, BEYOND].tolist() == [1.0]
    assert pack(replace(reference, collector_depth=4e-4)).steps[:, BEYOND].tolist() == [0.0]
    assert np.isfinite(pack(reference).steps).all()
