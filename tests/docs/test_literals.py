"""Every number in the calculating rooms is plain mathematics or says what it rests on.

The rooms are `physics/`, `measure/` and `cautions/`. A number passes if it is plain mathematics
(see `_plain`), or if the words beside it name a key of the bibliography, "common practice",
"from memory", "judgement", "numerical", or "by definition". Beside a number are the comment on its line
and the comment lines just above; beside a constant of a module or class also the comments on all
its lines and the docstring after it. The coefficients of an equation may stand in a function whose
docstring names the key of its source, or says "from memory" or "judgement". There are no exceptions.
"""

from __future__ import annotations

import ast
import re
from collections import Counter
from pathlib import Path

import pytest

from aerode.reference import bibliography
from aerode.reference.process_figures import process_sources

SOURCE = Path(__file__).resolve().parents[2] / "src" / "aerode"
ROOMS = ("physics", "measure", "cautions")
WORDS = ("common practice", "from memory", "judgement", "numerical", "by definition")
KEYS = frozenset((*bibliography(), *process_sources()))
LARGEST_COUNT = 12  # whole numbers up to a dozen count things: electrons, atoms, indices, digits
HALVES = (0.5, 1.5, 2.5, 0.25, 0.75)
TIME = (60, 3600, 24, 86400)  # seconds, minutes and hours: exact
NUMERICAL = {
    "xtol", "rtol", "atol", "ftol", "gtol", "tol", "rel_tol", "abs_tol", "tolerance", "maxiter",
    "max_nfev", "max_iterations", "iterations", "width", "limit", "num",
}  # fmt: skip
GRIDS = {"linspace", "geomspace", "logspace"}
Number = int | float | complex


def _power_of_ten(value: float) -> bool:
    return value > 0 and float(f"1e{round(_log10(value))}") == value


def _log10(value: float) -> float:
    import math

    return math.log10(value)


def _plain(node: ast.Constant, parents: dict[ast.AST, ast.AST]) -> bool:
    """Small counts, halves, powers of ten and time units as factors, tolerances named as such."""
    value = node.value
    assert isinstance(value, (int, float, complex))
    if isinstance(value, complex):
        return value.imag in (0.0, 1.0) and value.real == 0.0
    if isinstance(value, int) and abs(value) <= LARGEST_COUNT:
        return True
    if value in (0.0, 1.0, 2.0, 3.0, 4.0) or value in HALVES:
        return True
    above = parents[node]
    if isinstance(above, ast.UnaryOp):
        above = parents[above]
    if isinstance(above, ast.keyword):
        return above.arg in NUMERICAL
    if isinstance(above, ast.Call) and isinstance(above.func, ast.Attribute):
        return above.func.attr in GRIDS and node in above.args[2:]
    if not isinstance(above, ast.BinOp):
        return False
    count = float(value).is_integer() and abs(value) <= LARGEST_COUNT
    if isinstance(above.op, ast.Pow):  # 10.0**x, x**6.0, and 12.0**0.5 of a rectangular width
        return count and (node is above.right or value in (10.0, 12.0))
    factor = isinstance(above.op, (ast.Mult, ast.Div))
    return factor and (count or _power_of_ten(value) or value in TIME)


def _names_a_source(text: str) -> bool:
    return any(word in KEYS for word in re.findall(r"[A-Za-z][A-Za-z0-9_]+", text))


def _says(text: str) -> bool:
    low = " ".join(text.split()).casefold()
    return any(word in low for word in WORDS) or _names_a_source(text)


def _cited(docstring: str) -> bool:
    low = " ".join(docstring.split()).casefold()
    return _names_a_source(docstring) or "from memory" in low or "judgement" in low


def _comments(lines: list[str], first: int, last: int) -> str:
    """The comments on lines `first` to `last`, and the comment lines just above; from 1."""
    own = [line.partition("#")[2] for line in lines[first - 1 : last]]
    above: list[str] = []
    at = first - 2
    while at >= 0 and lines[at].lstrip().startswith("#"):
        above.append(lines[at].lstrip()[1:])
        at -= 1
    return " ".join((*reversed(above), *own))


def _beside(lines: list[str], body: list[ast.stmt], index: int) -> str:
    """The words beside a constant: its comments and the docstring after it."""
    statement = body[index]
    own = _comments(lines, statement.lineno, statement.end_lineno or statement.lineno)
    after = body[index + 1] if index + 1 < len(body) else None
    told = ""
    if isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant):
        told = str(after.value.value)
    return f"{own} {told}"


def _told(tree: ast.Module, lines: list[str]) -> set[ast.AST]:
    """Every node inside a constant that says what it rests on, or an equation with its source."""
    found: set[ast.AST] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and _cited(ast.get_docstring(node) or ""):
            found.update(inner for line in node.body for inner in ast.walk(line))
    bodies = [tree.body, *(n.body for n in ast.walk(tree) if isinstance(n, ast.ClassDef))]
    for body in bodies:
        for index, statement in enumerate(body):
            if isinstance(statement, (ast.Assign, ast.AnnAssign)) and _says(
                _beside(lines, body, index)
            ):
                found.update(ast.walk(statement))
    return found


def literals(text: str) -> Counter[str]:
    """How often each unexplained number stands in a source text."""
    tree = ast.parse(text)
    parents = {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
    lines = text.splitlines()
    told = _told(tree, lines)
    return Counter(
        repr(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, (int, float, complex))
        and not isinstance(node.value, bool)
        and node not in told
        and not _plain(node, parents)
        and not _says(_comments(lines, node.lineno, node.lineno))
    )


FILES = sorted(path for room in ROOMS for path in (SOURCE / room).rglob("*.py"))


@pytest.mark.parametrize("path", FILES, ids=[str(p.relative_to(SOURCE)) for p in FILES])
def test_every_number_leads_to_its_source(path: Path) -> None:
    """No number without words; there is no list of exceptions."""
    name = str(path.relative_to(SOURCE))

    assert not literals(path.read_text("utf-8")), f"{name}: say beside these what they rest on"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("x = 0.0593", {"0.0593": 1}),
        ("X = 0.0593  # V, codata_2018", {}),
        ("# judgement\nX = 0.0593", {}),
        ("X = 0.0593\n'''common practice, no source'''", {}),
        ("X = 0.0593  # because", {"0.0593": 1}),
        ("def f(x):\n    return 7.3 * x  # judgement", {}),
        ("def f(x):\n    # far\n    return 7.3 * x", {"7.3": 1}),
        ("def f(x):\n    'By kell_1975.'\n    return 7.3 * x", {}),
        ("def f(x=7.3):\n    'By kell_1975.'\n    return x", {"7.3": 1}),
        ("y = 2 * x / 1000.0 + 0.5 * 3600.0", {}),
        ("y = x + 1000.0", {"1000.0": 1}),
        ("brentq(f, 0.0, 1.0, xtol=1e-12)", {}),
        ("def f(pressure=101325.0): ...", {"101325.0": 1}),
    ],
)
def test_the_finder_finds(text: str, expected: dict[str, int]) -> None:
    """A number without words is found, one with them is not."""
    assert dict(literals(text)) == expected
