"""Run the benchmarks: named, seeded, opt-in; ratios, never a pass or a fail.

python -m benchmarks              list them
python -m benchmarks start_up     run one (more names run more)
python -m benchmarks all          run all of them, one after the other; takes long
python -m benchmarks solver --part hard      what follows the name from the first dash on is its own
"""

from __future__ import annotations

import runpy
import sys
from pathlib import Path

HERE = Path(__file__).parent


def known() -> dict[str, Path]:
    """Name → the file that runs it."""
    return {place.parent.name: place for place in sorted(HERE.glob("*/run.py"))}


def main() -> int:
    """List, or run what is named."""
    typed, there = sys.argv[1:], known()
    cut = next((k for k, word in enumerate(typed) if word.startswith("-")), len(typed))
    names, options = typed[:cut], typed[cut:]
    if not names:
        for name, place in there.items():
            words = place.read_text("utf-8").split('"""')[1].strip().splitlines()[0]
            print(f"  {name:<18} {words}")
        print("Run one: python -m benchmarks NAME; all: python -m benchmarks all")
        return 0
    wanted = list(there) if names == ["all"] else names
    unknown = [name for name in wanted if name not in there]
    if unknown:
        print(f"unknown: {', '.join(unknown)}; there are: {', '.join(there)}", file=sys.stderr)
        return 2
    for name in wanted:
        sys.argv = [str(there[name]), *options]
        sys.path[:0] = [str(there[name].parent), str(HERE.parent)]
        runpy.run_path(str(there[name]), run_name="__main__")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
