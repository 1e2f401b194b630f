"""Make the project's own environment in `.venv`, from the hash-pinned lock.

    python3 tools/setup.py            what `make demo` needs
    python3 tools/setup.py --dev      what `make test` needs

Only the standard library is used here. Nothing outside this folder is changed, except the package
cache that uv or pip keeps for itself. Before anything is fetched, it says what, how big, where, and
how to remove it again.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
STAMP = VENV / ".setup-stamp"
WINDOWS = os.name == "nt"
PYTHON = VENV / ("Scripts/python.exe" if WINDOWS else "bin/python")

# Measured on Linux, x86-64; other systems differ by some tens of per cent.
SIZES_MB = {"requirements.lock": (150, 520), "requirements-dev.lock": (400, 1150)}


def say(text: str) -> None:
    """A line on standard error: standard output stays for answers."""
    print(text, file=sys.stderr, flush=True)


def python_of_choice() -> str:
    """The interpreter to build on: 3.11 or newer, or a refusal that says what to install."""
    for name in (sys.executable, "python3.13", "python3.12", "python3.11", "python3"):
        path = shutil.which(name)
        if not path:
            continue
        code = "import sys; print(int(sys.version_info >= (3, 11)))"
        seen = subprocess.run([path, "-c", code], capture_output=True, text=True, check=False)
        if seen.stdout.strip() == "1":
            return path
    say("Python 3.11 or newer is needed and was not found.")
    say("Next: install it (Debian, Ubuntu: apt-get install python3 python3-venv) and try again.")
    raise SystemExit(1)


def fingerprint(lock: Path) -> str:
    """What the environment rests on: the lock, the project file and the interpreter."""
    digest = hashlib.sha256()
    for part in (lock.read_bytes(), (ROOT / "pyproject.toml").read_bytes(), sys.version.encode()):
        digest.update(hashlib.sha256(part).digest())
    return f"{lock.name} {digest.hexdigest()}"


def announce(lock: Path) -> None:
    """What is going to be fetched, how big, where it goes, how to remove it."""
    packages = sum(1 for line in lock.read_text("utf-8").splitlines() if "==" in line)
    fetch, disk = SIZES_MB[lock.name]
    say(f"Set-up: up to {packages} Python packages from the package index your pip uses")
    say(
        f"  (about {fetch} MB to fetch the first time, {disk} MB on disk), pinned by hash in {lock.name}."
    )
    say(f"  They go into {VENV} and nowhere else. To remove them: delete that folder.")


def run(*command: str) -> None:
    """One step; its failure ends the set-up with the command that failed."""
    done = subprocess.run(command, cwd=ROOT, check=False)
    if done.returncode:
        say(f"Set-up stopped: {' '.join(command)}")
        raise SystemExit(done.returncode)


def make_venv(python: str, uv: str | None) -> None:
    """An empty environment."""
    if uv:
        run(uv, "venv", "--quiet", "--clear", "--python", python, str(VENV))
        return
    done = subprocess.run([python, "-m", "venv", "--clear", str(VENV)], check=False)
    if done.returncode:
        say("This Python cannot make an environment (its venv part is missing).")
        say("Next, on Debian or Ubuntu: apt-get install python3-venv; then try again.")
        raise SystemExit(1)


def install(lock: Path, uv: str | None) -> None:
    """The locked packages, then the project itself, editable and without looking at packages again."""
    if uv:
        os.environ["VIRTUAL_ENV"] = str(VENV)
        run(uv, "pip", "install", "--quiet", "--require-hashes", "-r", str(lock))
        run(uv, "pip", "install", "--quiet", "--no-deps", "-e", str(ROOT))
        return
    pip = (str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check")
    run(*pip, "--require-hashes", "-r", str(lock))
    run(*pip, "--no-deps", "-e", str(ROOT))


def warm() -> None:
    """Compile bytecode, so that the first command is as quick as the second."""
    say("Set-up: compiling (once) ...")
    subprocess.run([str(PYTHON), "-m", "compileall", "-q", str(ROOT / "src")], check=False)
    subprocess.run(
        [
            str(PYTHON),
            "-c",
            "import numpy, scipy.optimize, scipy.stats, pydantic, sqlalchemy, pint",
        ],
        check=False,
    )


def warm_solver() -> None:
    """Compile the electrode solver once; its cache is the user's, and goes with it."""
    say("Set-up: compiling the electrode solver (once, about half a minute) ...")
    code = "from aerode.physics.cathode import prepare; prepare()"
    subprocess.run([str(PYTHON), "-c", code], check=False)


def main() -> None:
    """Make the environment unless the stamp says that it is there already."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--dev", action="store_true", help="with what tests and checks need")
    wanted = parser.parse_args()
    dev_lock = ROOT / "requirements-dev.lock"
    lock = dev_lock if wanted.dev else ROOT / "requirements.lock"
    if PYTHON.exists() and STAMP.exists():
        stamp = STAMP.read_text("utf-8")
        if stamp == fingerprint(lock) or stamp == fingerprint(dev_lock):
            return
    python, uv = python_of_choice(), shutil.which("uv")
    announce(lock)
    make_venv(python, uv)
    install(lock, uv)
    warm()
    if wanted.dev:
        warm_solver()
    STAMP.write_text(fingerprint(lock), "utf-8")
    say("Set-up: done.")


if __name__ == "__main__":
    main()
