"""What runs on one system only: found by reading the code, since the other systems are not at hand."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CODE = sorted((ROOT / "src" / "aerode").rglob("*.py"))
EVERYTHING = sorted(
    f for room in ("src", "tools", "benchmarks") for f in (ROOT / room).rglob("*.py")
)
ONE_SYSTEM = {
    "fcntl", "grp", "msvcrt", "pwd", "resource", "termios", "tty", "pty", "winreg", "_winapi", "nt",
    "posix", "crypt", "syslog", "spwd", "ossaudiodev", "curses", "readline",
}  # fmt: skip
NOT_EVERYWHERE = {
    "getuid", "geteuid", "getgid", "setuid", "fork", "mkfifo", "chown", "kill", "killpg", "wait3",
    "O_DIRECTORY", "O_NOFOLLOW", "SIGKILL", "SIGUSR1", "SIGHUP", "SIGALRM", "alarm", "set_wakeup_fd",
    "sync", "statvfs", "uname", "getloadavg", "sched_getaffinity", "windll",
}  # fmt: skip
FORBIDDEN_IN_NAMES = set('<>:"|?*')


def _calls(file: Path) -> Iterator[tuple[ast.Call, str]]:
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            made = node.func
            yield node, made.attr if isinstance(made, ast.Attribute) else getattr(made, "id", "")


def _mode(call: ast.Call, place: int) -> str:
    given = call.args[place] if len(call.args) > place else None
    given = next((k.value for k in call.keywords if k.arg == "mode"), given)
    return given.value if isinstance(given, ast.Constant) and isinstance(given.value, str) else "r"


def _without_encoding(file: Path) -> Iterator[str]:
    """Calls that read or write text in whatever encoding the system prefers (cp1252 on Windows)."""
    for call, name in _calls(file):
        told = {k.arg for k in call.keywords}
        plain_open = isinstance(call.func, ast.Name) and name == "open"
        path_open = (
            isinstance(call.func, ast.Attribute)
            and name == "open"
            and not told & {"read_only", "clock"}
        )
        if (name == "read_text" and not call.args and "encoding" not in told) or (
            name == "write_text" and len(call.args) < 2 and "encoding" not in told
        ):
            yield f"{file.name}:{call.lineno} {name}"
        if plain_open and "b" not in _mode(call, 1) and "encoding" not in told:
            yield f"{file.name}:{call.lineno} open"
        first = call.args[0] if call.args else None
        typed = (
            isinstance(first, ast.Constant)
            and isinstance(first.value, str)
            and len(first.value) <= 3
        )
        if path_open and typed and "b" not in _mode(call, 0) and "encoding" not in told:
            yield f"{file.name}:{call.lineno} .open"
        if name in {"TextIOWrapper", "fdopen", "NamedTemporaryFile"} and "encoding" not in told:
            binary = name == "NamedTemporaryFile" and "mode" not in told
            if not binary and "b" not in _mode(call, 1):
                yield f"{file.name}:{call.lineno} {name}"


@pytest.mark.parametrize("file", EVERYTHING, ids=lambda f: f.relative_to(ROOT).as_posix())
def test_text_is_read_and_written_in_a_named_encoding(file: Path) -> None:
    """A file written on one system must read the same on another."""
    assert list(_without_encoding(file)) == []


def test_the_finder_finds() -> None:
    """Each kind of call without an encoding is seen, and none with one."""
    import tempfile

    bad = "open('x')\np.open('w')\np.read_text()\np.write_text('x')\nio.TextIOWrapper(b)\n"
    good = "open('x', 'rb')\np.open('wb')\np.open('w', encoding='utf-8')\np.read_text('utf-8')\nBenchFile.open(path)\n"
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "x.py"
        file.write_text(bad, encoding="utf-8")
        assert len(list(_without_encoding(file))) == 5
        file.write_text(good, encoding="utf-8")
        assert list(_without_encoding(file)) == []


def _asked_for(tree: ast.AST) -> set[str]:
    """Names that are looked for before they are used: hasattr(os, "getuid"), getattr(os, "fork", …)."""
    return {
        str(node.args[1].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in {"hasattr", "getattr"}
        and len(node.args) > 1
        and isinstance(node.args[1], ast.Constant)
    }


@pytest.mark.parametrize("file", CODE, ids=lambda f: f.relative_to(ROOT).as_posix())
def test_nothing_of_one_system_only(file: Path) -> None:
    """No module that one system lacks; what some lack of `os` and `signal` is looked for first."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    modules: set[str] = set()
    used: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            modules |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            modules.add(node.module.partition(".")[0])
        elif (
            isinstance(node, ast.Attribute)
            and isinstance(node.value, ast.Name)
            and node.value.id in {"os", "signal", "socket"}
        ):
            used.add(node.attr)
    assert modules & ONE_SYSTEM == set()
    assert used & NOT_EVERYWHERE <= _asked_for(tree)


@pytest.mark.parametrize("file", CODE, ids=lambda f: f.relative_to(ROOT).as_posix())
def test_folders_are_opened_only_where_that_may_fail(file: Path) -> None:
    """Windows cannot open a folder: `os.open(..., O_RDONLY)` without more stands inside suppress(OSError)."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    guarded = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.With)
        and any("suppress" in ast.unparse(i.context_expr) for i in node.items)
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        opens = isinstance(node, ast.Call) and ast.unparse(node.func) == "os.open"
        if opens and ast.unparse(node.args[1]) == "os.O_RDONLY":
            assert id(node) in guarded, f"{file.name}:{node.lineno}"


def test_no_file_of_the_project_has_a_name_that_some_system_refuses() -> None:
    """Windows refuses some characters and names, and takes A and a for one file."""
    listed = [
        f.relative_to(ROOT).as_posix()
        for room in ("src", "tests", "docs", "tools", "benchmarks", "changelog.d")
        for f in (ROOT / room).rglob("*")
        if "__pycache__" not in f.parts
    ]
    assert [name for name in listed if set(name) & FORBIDDEN_IN_NAMES] == []
    assert [
        n for n in listed if Path(n).stem.lower() in {"con", "prn", "aux", "nul", "com1", "lpt1"}
    ] == []
    assert len({name.lower() for name in listed}) == len(listed)
