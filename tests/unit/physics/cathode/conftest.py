"""The independent solvers and the seeded hard cases, loaded by path, for the tests of this room."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from aerode.physics.cathode import CathodeParameters


def _load(name: str) -> ModuleType:
    path = Path(__file__).with_name(f"{name}.py")
    spec = importlib.util.spec_from_file_location(f"cathode_{name}", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def oracles() -> ModuleType:
    """Boundary-value and finite-volume solvers that share nothing with the shipped one."""
    return _load("oracles")


@pytest.fixture(scope="session")
def cases() -> ModuleType:
    """Random cathodes, ordinary and hard."""
    return _load("cases")


@pytest.fixture
def reference() -> CathodeParameters:
    """A cathode with every mechanism on."""
    return CathodeParameters(
        thickness=4e-4,
        ionic_conductivity=2.0,
        electronic_conductivity=50.0,
        gas_diffusivity=2e-6,
        oxygen_air=8.56,
        air_film=5e-3,
        henry_liquid_per_gas=0.0265,
        agglomerate_radius=2e-6,
        agglomerate_diffusivity=5e-10,
        agglomerate_fraction=0.4,
        film_transfer=50.0,
        exchange_current=50.0,
        reference_oxygen=0.22684,
        tafel_slope=0.05138558,
        electrons=4.0,
    )
