"""Change the caution engine a little, many times, and see whether a test notices.

    python tools/mutation.py [--minutes 20] [--file heating.py] [--again] [--show]

Works on a copy under out/mutation, so that the working tree is never touched; stopped by its time
box it keeps what it has, and the next run goes on from there. The words of messages are not
mutated, only what decides: numbers, comparisons, arguments, branches.
"""

from __future__ import annotations

import argparse
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

ROOT = Path(__file__).resolve().parent.parent
WORK = ROOT / "out" / "mutation"
ROOM = "src/aerode/cautions"
TESTS = ("tests/unit/cautions", "tests/published/test_safety_gates.py")
# The mutation tool, but for two things that only rewrite prose: string literals, and the arguments of
# a caution that hold nothing but words.
RUNNER = """
import libcst as cst
from mutmut.mutation import mutators
from mutmut.__main__ import cli

WORDS = {"headline", "hazard", "basis", "do", "would_change", "about", "next_step", "allowed"}

def without_words(node):
    if not (isinstance(node.func, cst.Name) and node.func.value in {"Caution", "StoppedError"}):
        yield from mutators.operator_arg_removal(node)
        return
    for index, arg in enumerate(node.args):
        if arg.keyword is not None and arg.keyword.value in WORDS:
            continue
        yield node.with_changes(args=[*node.args[:index], *node.args[index + 1 :]])

mutators.mutation_operators[:] = [
    (kind, without_words if operator is mutators.operator_arg_removal else operator)
    for kind, operator in mutators.mutation_operators
    if operator is not mutators.operator_string
]
cli()
"""


def _copy(place: str) -> None:
    source, target = ROOT / place, WORK / place
    if source.is_dir():
        shutil.copytree(
            source, target, dirs_exist_ok=True, ignore=shutil.ignore_patterns("__pycache__")
        )
    else:
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(source, target)


def prepare(only: str) -> None:
    """The copy, and the settings of the mutation tool."""
    for place in ("src", "pyproject.toml", "tests/conftest.py", *TESTS):
        _copy(place)
    if (mutants := WORK / "mutants").exists():  # the tool renews its Python files only
        only_data = shutil.ignore_patterns("__pycache__", "*.py")
        shutil.copytree(ROOT / "src", mutants / "src", dirs_exist_ok=True, ignore=only_data)
        shutil.copytree(WORK / "tests", mutants / "tests", dirs_exist_ok=True)
    lines = [
        "[mutmut]", "source_paths=src", f"only_mutate={ROOM}/{only}",
        "pytest_add_cli_args_test_selection=", *(f"    {place}" for place in TESTS),
        "pytest_add_cli_args=", "    -p", "    no:cacheprovider", "    -x", "timeout_constant=20.0",
        "track_dependencies=false", "use_git_change_detection=false",
    ]  # fmt: skip
    (WORK / "runner.py").write_text(RUNNER, encoding="utf-8")
    (WORK / "setup.cfg").write_text("\n".join(lines) + "\n", encoding="utf-8")


def run(minutes: float, names: Sequence[str] = ()) -> bool:
    """Mutate until it is done or the time is up; False where the time was up."""
    command = [sys.executable, "runner.py", "run", "--max-children", "2", *names]
    log = (WORK / "log.txt").open("w", encoding="utf-8")
    child = subprocess.Popen(
        command, cwd=WORK, start_new_session=True, stdout=log, stderr=subprocess.STDOUT
    )
    try:
        child.wait(timeout=60 * minutes)
    except subprocess.TimeoutExpired:
        child.send_signal(signal.SIGINT)
        try:
            child.wait(timeout=30)
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()
        return False
    return child.returncode == 0


def told(*words: str) -> str:
    """What the mutation tool says."""
    command = [sys.executable, "runner.py", *words]
    return subprocess.run(command, cwd=WORK, capture_output=True, text=True, check=False).stdout


def states_of() -> list[tuple[str, str]]:
    """Each change with what became of it."""
    lines = told("results", "--all", "true").splitlines()
    parts = [line.rpartition(":") for line in lines]
    return [(name.strip(), state.strip()) for name, colon, state in parts if colon]


def survivors_of() -> list[str]:
    """The changes that no test noticed."""
    return [name for name, state in states_of() if state in {"survived", "no tests"}]


def report(*, show: bool) -> int:
    """The counts, and the survivors by file; with `show` each change as a diff."""
    states = states_of()
    counts = Counter(state for _, state in states)
    print("\n".join(f"{count:6} {state}" for state, count in counts.most_common()))
    for name in survivors_of():
        print(name)
        if show:
            print(told("show", name))
    return len(states)


def main() -> None:
    """Prepare, run, report."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--minutes", type=float, default=20.0, help="the time box")
    parser.add_argument("--file", default="*.py", help="only this file of the caution engine")
    parser.add_argument("--again", action="store_true", help="first those that survived before")
    parser.add_argument("--show", action="store_true", help="print each survivor as a diff")
    parser.add_argument("--report", action="store_true", help="do not run, only report")
    said = parser.parse_args()
    if not said.report:
        prepare(said.file)
        ends = time.monotonic() + 60 * said.minutes
        survived = survivors_of() if said.again else []
        done = not survived or run(said.minutes, survived)
        if not (done and run((ends - time.monotonic()) / 60)):
            print(f"the time box of {said.minutes:g} min was up, or the run stopped: run it again")
    if not report(show=said.show):
        sys.exit("nothing was mutated")


if __name__ == "__main__":
    main()
