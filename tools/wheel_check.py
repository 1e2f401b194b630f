"""Build the wheel, install it alone into a clean environment, and run the main job there.

This finds a file left out of the wheel and a library that only the development environment has.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def run(*command: str, cwd: Path = ROOT) -> str:
    """One step; its output is shown if it fails."""
    environment = {k: v for k, v in os.environ.items() if k not in {"PYTHONPATH", "VIRTUAL_ENV"}}
    done = subprocess.run(
        command, cwd=cwd, env=environment, capture_output=True, text=True, check=False
    )
    if done.returncode:
        sys.stderr.write(f"{' '.join(command)}\n{done.stdout}\n{done.stderr}\n")
        raise SystemExit(1)
    return done.stdout


def main() -> None:
    """Wheel, clean environment, demo, and a bare fit outside the source tree."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        run(sys.executable, "-m", "build", "--wheel", "--outdir", str(place / "dist"))
        wheel = next((place / "dist").glob("*.whl"))
        run(sys.executable, "-m", "venv", str(place / "clean"))
        python = place / "clean" / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
        run(
            str(python),
            "-m",
            "pip",
            "install",
            "--quiet",
            "--disable-pip-version-check",
            str(wheel),
        )
        out = run(str(python), "-m", "aerode", "demo", "--out", str(place / "out"), cwd=place)
        if not list((place / "out").glob("*.html")):
            raise SystemExit("the demo left no report")
        readings = place / "readings.csv"
        rows = (
            "resistance_ohm,voltage_V",
            "220,0.692",
            "100,0.634",
            "47,0.564",
            "22,0.473",
            "15,0.419",
            "10,0.355",
            "6.8,0.294",
        )
        readings.write_text("\n".join(rows) + "\n", "utf-8")
        run(
            str(python),
            "-m",
            "aerode",
            "fit",
            str(readings),
            "--area",
            "9.5 cm^2",
            "--json",
            cwd=place,
        )
        print(f"wheel check: {wheel.name} runs alone; the demo began: {out.splitlines()[0]}")


if __name__ == "__main__":
    main()
