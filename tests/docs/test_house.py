"""The house: contracts hold, every example runs, every public function says what it gives."""

from __future__ import annotations

import ast
import doctest
import importlib
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "aerode"
MODULES = sorted(
    p for p in SOURCE.rglob("*.py") if "migrations" not in p.parts and "versions" not in p.parts
)
NAMES = [
    ".".join(("aerode", *p.relative_to(SOURCE).with_suffix("").parts)).removesuffix(".__init__")
    for p in MODULES
]


def test_import_contracts_hold() -> None:
    """A floor sees only the floors below it."""
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "from importlinter.cli import lint_imports_command; lint_imports_command()",
            "--no-logo",
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize("name", [n for n in NAMES if n != "aerode.__main__"])
def test_examples_run(name: str) -> None:
    """Every example in a docstring gives what it says."""
    result = doctest.testmod(
        importlib.import_module(name), optionflags=doctest.NORMALIZE_WHITESPACE
    )

    assert result.failed == 0


def _public(tree: ast.Module) -> list[ast.FunctionDef | ast.ClassDef]:
    listed: set[str] = set()
    for node in tree.body:
        if isinstance(node, ast.Assign) and any(
            isinstance(t, ast.Name) and t.id == "__all__" for t in node.targets
        ):
            listed = set(ast.literal_eval(node.value))
    return [
        n for n in tree.body if isinstance(n, (ast.FunctionDef, ast.ClassDef)) and n.name in listed
    ]


@pytest.mark.parametrize("path", MODULES, ids=NAMES)
def test_every_module_and_public_name_is_described(path: Path) -> None:
    """Each module and each name in its `__all__` says in its first line what the person gets."""
    tree = ast.parse(path.read_text("utf-8"))

    assert (ast.get_docstring(tree) or "").strip(), "module without a docstring"
    for node in _public(tree):
        first = (ast.get_docstring(node) or "").strip().splitlines()[:1]
        assert first, f"{node.name} has no docstring"


CALCULATING = [p for p in MODULES if p.relative_to(SOURCE).parts[0] in {"physics", "stats"}]


@pytest.mark.parametrize("path", CALCULATING, ids=[str(p.relative_to(SOURCE)) for p in CALCULATING])
def test_calculating_functions_state_their_units(path: Path) -> None:
    """In physics and stats every argument of a public function is described, with shape or unit in brackets."""
    for node in _public(ast.parse(path.read_text("utf-8"))):
        if not isinstance(node, ast.FunctionDef):
            continue
        text = ast.get_docstring(node) or ""
        arguments = [
            a.arg for a in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)
        ]
        for argument in arguments:
            assert re.search(rf"(^|[\s,*`]){argument}\b.*", text), (
                f"{node.name}: {argument} is not described"
            )
        given = (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)
        kinds = " ".join(ast.unparse(a.annotation) for a in given if a.annotation)
        if re.search(r"float|Array|Floats", kinds):
            assert re.search(r"\[|\(n|shape", text), (
                f"{node.name}: no unit or shape in its docstring"
            )


def test_no_file_has_grown_too_long() -> None:
    """Past 600 lines a second idea has moved in."""
    long = {
        str(p.relative_to(SOURCE)): n
        for p in MODULES
        if (n := len(p.read_text("utf-8").splitlines())) > 600
    }

    assert not long


def test_no_relative_or_unfinished_code() -> None:
    """No stub and no note to self is left in the source."""
    for path in MODULES:
        text = path.read_text("utf-8")
        assert not re.search(r"\b(TODO|FIXME|XXX|NotImplementedError)\b", text), path
        assert not re.search(r"^\s*from \.", text, re.MULTILINE), path


def _tight_per_cent(tree: ast.Module) -> list[int]:
    """Lines that write a per cent sign right behind a number: a `%` format, or a value and then the sign."""
    found: list[int] = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.JoinedStr):
            continue
        for one, behind in zip(node.values, (*node.values[1:], None), strict=True):
            if not isinstance(one, ast.FormattedValue):
                continue
            spec = ast.unparse(one.format_spec) if one.format_spec else ""
            tight = isinstance(behind, ast.Constant) and str(behind.value).startswith("%")
            if tight or spec.rstrip("'\"").endswith("%"):
                found.append(node.lineno)
    return found


def test_a_per_cent_sign_stands_behind_a_space() -> None:
    """House style, everywhere the program writes a share: 5 %, as `units.per_cent` does."""
    assert _tight_per_cent(ast.parse("f'{x:.0%} a'")) == [1]
    assert _tight_per_cent(ast.parse("f'{x}% a'")) == [1]
    tight = {
        f"{path.relative_to(SOURCE)}:{line}"
        for path in MODULES
        for line in _tight_per_cent(ast.parse(path.read_text("utf-8")))
    }

    assert not tight
