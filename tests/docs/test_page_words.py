"""No advice that can reach a page names a command: every one has its words and its place there."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from aerode.cli import VERBS
from aerode.errors import AerodeError, FieldFault, RecordError
from aerode.reference.symptoms import symptom_rows
from aerode.web.page_words import WAYS, for_pages, in_page_words, way_for

SOURCE = Path(__file__).resolve().parents[2] / "src"
COMMAND = re.compile(rf"\baerode (?:{'|'.join(VERBS)})\b")
OPTION = re.compile(r"(?<![\w-])--[a-z]|\bwith: back\b")
"""An option, or a word that only the terminal takes."""

NOT_ADVICE = {
    ("aerode.store.digests", "aerode bench file"): "the mark of the format",
    ("aerode.store.layout", "aerode bench file"): "the mark of the format",
    ("aerode.store.package_lines", "aerode bench history"): "the mark of the format",
    ("aerode.usecases.bench_export", "This folder is one bench"): "the text beside an exported package, read where the command line is",
    ("aerode.web.guard.users", "aerode serve --users"): "said while the program starts for a lab, before there is a page",
    ("aerode.cautions.reading", 'aerode cautions "'): "a part of the sentence with --acknowledge, which has its words",
    ("aerode.cautions.reading", "No bench sheet is printed"): "a line of the sheet as the command line prints it",
    ("aerode.report.pdf", "var(--"): "a property of a style",
    ("aerode.report.tokens", ".t"): "a property of a style",
    ("aerode.web.serving", "stop another program, or give --port"): "said while the program starts",
    ("aerode.web.serving", "--host"): "said while the program starts",
}  # fmt: skip
"""Texts that look like a command and are none, or never reach a page; each with its reason."""


def _modules() -> dict[str, Path]:
    found = {".".join(p.relative_to(SOURCE).with_suffix("").parts): p for p in (SOURCE / "aerode").rglob("*.py")}  # fmt: skip
    return {name.removesuffix(".__init__"): path for name, path in found.items()}


MODULES = _modules()
TREES = {name: ast.parse(path.read_text("utf-8")) for name, path in MODULES.items()}


def _imported(tree: ast.Module) -> set[str]:
    """The modules of ours that a module runs with; imports for types alone do not count."""
    for_types = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }  # fmt: skip
    names: set[str] = set()
    for node in ast.walk(tree):
        if id(node) in for_types:
            continue
        if isinstance(node, ast.Import):
            names.update(one.name for one in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.update((node.module, *(f"{node.module}.{one.name}" for one in node.names)))
    return names & MODULES.keys()


def _behind_the_pages() -> set[str]:
    """Every module that the pages may run, but the pages themselves are the boundary."""
    waiting, seen = [name for name in MODULES if name.startswith("aerode.web")], set[str]()
    while waiting:
        name = waiting.pop()
        if name not in seen:
            seen.add(name)
            waiting += _imported(TREES[name])
    return {name for name in seen if not name.startswith("aerode.cli")} - {"aerode.web.page_words"}


def _texts(tree: ast.Module) -> list[str]:
    """Every text of a module, with … where something is put in; docstrings are none."""
    unsaid = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)}
    parts = {id(v) for n in ast.walk(tree) if isinstance(n, ast.JoinedStr) for v in ast.walk(n) if v is not n}  # fmt: skip
    found: list[str] = []
    for node in ast.walk(tree):
        if id(node) in unsaid or id(node) in parts:
            continue
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            found.append(node.value)
        elif isinstance(node, ast.JoinedStr):
            found.append("".join(str(v.value) if isinstance(v, ast.Constant) else "…" for v in node.values))  # fmt: skip
    return found


def _advice() -> list[tuple[str, str]]:
    tables = [("symptoms.toml", row.hazard) for row in symptom_rows() if COMMAND.search(row.hazard)]
    return tables + [
        (name, text)
        for name in sorted(_behind_the_pages())
        for text in _texts(TREES[name])
        if (COMMAND.search(text) or OPTION.search(text))
        and not any(name == where and text.startswith(begins) for where, begins in NOT_ADVICE)
    ]


def test_every_command_has_its_words_on_the_pages() -> None:
    """None is left in any text that a page may come to show: a command without a counterpart fails here."""
    left = [
        f"{name}: {text}"
        for name, text in _advice()
        if COMMAND.search(for_pages(text)) or OPTION.search(for_pages(text))
    ]

    assert len(_advice()) > 60
    assert left == []


def test_every_way_is_needed_and_leads_somewhere() -> None:
    """No line of the table is left over; its place is a page of the program."""
    texts = [text for _, text in _advice()]
    told = [*texts, *(t.replace("…", "aerode cautions") for t in texts), *(t.replace("…", "electrode") for t in texts)]  # fmt: skip
    unused = [way.said.pattern for way in WAYS if not any(way.said.search(text) for text in told)]
    paths = {
        (node.func.attr, str(ast.literal_eval(node.args[0])))
        for name, tree in TREES.items()
        if name.startswith("aerode.web.pages.")
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.args
        if node.func.attr in {"get", "post"} and isinstance(node.args[0], ast.Constant)
    }

    assert unused == []
    assert {
        ("post" if way.sends else "get", way.place) for way in WAYS if way.place
    } - paths == set()


def test_templates_name_no_command() -> None:
    """But for the one that has to be typed where the program is started: to let a phone in."""
    templates = SOURCE / "aerode" / "web" / "templates"
    naming = {
        str(path.relative_to(templates))
        for path in templates.rglob("*.html")
        if COMMAND.search(path.read_text("utf-8"))
    }

    assert naming <= {"door/phone.html", "loggers/loggers.html"}


def test_a_refusal_in_the_words_of_the_pages() -> None:
    """What, where, allowed, next step and each fault; its own numbers and names stay; the original is not touched."""
    fault = FieldFault("plate", "give --plate", 'as in --plate "85 °C"', "--x")
    error = RecordError(
        "a --mix is needed", (fault,), where="--solids", next_step="run `aerode bench check`"
    )
    told = in_page_words(error)

    assert (told.what, told.where) == ("a “mix” is needed", "solids")
    assert told.next_step == "check the bench, under More, Data"
    assert told.faults[0] == FieldFault("plate", "give “plate”", 'as in “plate” "85 °C"', "--x")
    assert error.faults == (fault,)
    assert in_page_words("a note -- with --at in it") == "a note -- with --at in it"
    assert in_page_words({"area": ("no --area", "--x")}) == {"area": ("no “area”", "“x”")}
    way = way_for(error)
    assert way is not None
    assert way.place == "/data/check"
    assert way_for(AerodeError("x", next_step="weigh it again")) is None


@pytest.mark.parametrize(
    ("said", "paged"),
    [
        ("settle it: aerode bench settle electrode 'T6'", "look at both states in its history, and keep one"),
        ("measure it: aerode log run --electrode T6; then again", "measure it: start a run of it; then again"),
        ('change what is named, or: aerode cautions "T5" --acknowledge "hot" --reason "..."',
         "change what is named, or write down on its page of cautions why you go on all the same"),
        ("weigh it twice -- slowly", "weigh it twice -- slowly"),
    ],
)  # fmt: skip
def test_some_sentences(said: str, paged: str) -> None:
    """As the command line says them, and as a page does."""
    assert for_pages(said) == paged
