"""Find a Chromium for the browser journeys, or get the distribution's own, or say what to type.

Order: the variable AERODE_CHROMIUM, the PATH, the distribution's package (as root, or with a sudo
that asks nothing). NO_BROWSER=1 leaves the journeys out and says so. Prints the path.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
PACKAGES = ("chromium", "fonts-dejavu-core")


def say(text: str) -> None:
    """A line on standard error; standard output carries only the path."""
    print(text, file=sys.stderr, flush=True)


def found() -> str | None:
    """A browser that is already there."""
    named = os.environ.get("AERODE_CHROMIUM")
    if named:
        return named if shutil.which(named) else None
    return next((path for name in NAMES if (path := shutil.which(name))), None)


def get() -> str | None:
    """The distribution's package, where it can be installed without a question."""
    apt = shutil.which("apt-get")
    if not apt:
        return None
    prefix: list[str] = []
    if os.geteuid() != 0:
        if (
            not shutil.which("sudo")
            or subprocess.run(["sudo", "-n", "true"], capture_output=True, check=False).returncode
        ):
            return None
        prefix = ["sudo", "-n"]
    say(
        f"Browser tests: fetching the distribution's {PACKAGES[0]} (about 90 MB; to remove: apt-get remove {PACKAGES[0]})."
    )
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for step in (["update", "-qq"], ["install", "-y", "-qq", "--no-install-recommends", *PACKAGES]):
        done = subprocess.run(
            [*prefix, apt, *step], env=environment, stdout=subprocess.DEVNULL, check=False
        )
        if done.returncode:
            return None
    return found()


def main() -> int:
    """Print the path of a browser; exit 1 with the line to type where there is none."""
    if os.environ.get("NO_BROWSER") == "1":
        say("browser journeys NOT run (NO_BROWSER=1)")
        return 0
    path = found() or get()
    if path:
        print(path)
        return 0
    say("No Chromium was found and none could be installed from here.")
    say(
        f"Next: apt-get install --no-install-recommends {' '.join(PACKAGES)}, or set AERODE_CHROMIUM, or NO_BROWSER=1."
    )
    return 1


if __name__ == "__main__":
    raise SystemExit(main())
