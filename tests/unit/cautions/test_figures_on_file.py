"""Every figure that a rule asks for is on file: a renamed row must not silence a rule."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import aerode.cautions
from aerode.cautions import lookup
from aerode.reference.figures import source

FOLDER = Path(aerode.cautions.__file__).parent


def _constants(tree: ast.Module) -> dict[str, str]:
    """Module-level names that hold a text."""
    return {
        target.id: node.value.value
        for node in tree.body
        if isinstance(node, ast.Assign)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
        for target in node.targets
        if isinstance(target, ast.Name)
    }


def _asked() -> list[tuple[str, str, str]]:
    """File, quantity and condition of every `lookup.rule(...)` and `lookup.rule_span(...)` call."""
    found: list[tuple[str, str, str]] = []
    for path in sorted(FOLDER.glob("*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        names = _constants(tree)
        for node in ast.walk(tree):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
                continue
            if node.func.attr not in {"rule", "rule_span"} or len(node.args) != 2:
                continue
            words = [
                a.value if isinstance(a, ast.Constant) else names.get(getattr(a, "id", ""), "")
                for a in node.args
            ]
            if all(isinstance(w, str) and w for w in words):
                found.append((path.name, str(words[0]), str(words[1])))
    return found


ASKED = _asked()


def test_the_scan_sees_the_rules() -> None:
    """The scan finds the calls; it would otherwise pass by finding none."""
    assert len(ASKED) >= 20
    assert {name for name, _, _ in ASKED} >= {
        "heating.py",
        "hydrogen.py",
        "breathing.py",
        "people.py",
    }


@pytest.mark.parametrize(("where", "quantity", "condition"), ASKED)
def test_each_figure_is_on_file(where: str, quantity: str, condition: str) -> None:
    """Quantity and condition of each call name a row with a number."""
    assert lookup.rule(quantity, condition) is not None, where


@pytest.mark.parametrize(
    "condition",
    [
        "aluminium in brine, not measured",
        "aluminium in strong alkali, not measured",
    ],
)
def test_the_assumed_corrosion_is_on_file(condition: str) -> None:
    """Both conditions that the hydrogen rule builds up."""
    assert lookup.rule_span("assumed_corrosion", condition) is not None


@pytest.mark.parametrize("pace", ["low", "moderate", "high"])
def test_the_near_field_exchange_is_on_file(pace: str) -> None:
    """The three paces that the breathing rule builds up."""
    assert lookup.rule_span("exposure_model_figure", f"near-field exchange, {pace}") is not None


@pytest.mark.parametrize(
    ("substance", "condition"),
    [
        ("limonene", "self-heating"),
        ("manganese dioxide", "oxidiser"),
        ("ammonium chloride", "with lye"),
        ("ammonium chloride", "in recovered dry-cell paste"),
        ("sodium chloride", "cell driven backwards"),
        ("sodium hydroxide", "with aluminium"),
        ("potassium hydroxide", "with aluminium"),
        ("PVDF", "with strong alkali"),
        ("toluene", "health: fertility"),
        ("toluene", "health: skin"),
        ("acrylonitrile", "health: cancer"),
        ("limonene", "health: sensitiser"),
        ("manganese compounds", "health: nerves"),
    ],
)
def test_each_remark_is_on_file(substance: str, condition: str) -> None:
    """The remarks that rules rest on."""
    assert lookup.remark(substance, condition) is not None


@pytest.mark.parametrize(
    "key", ["common_practice", "ist_two_zone", "en_50272", "h2tools", "codata_2018"]
)
def test_each_source_key_is_in_the_bibliography(key: str) -> None:
    """Keys that are cited by name."""
    assert source(key).title
