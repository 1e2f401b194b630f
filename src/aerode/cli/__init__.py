"""The command line: parse, call one use-case, print. Each verb lives in a file of its own, read when it is called."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from aerode.version import VERSION

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["VERBS", "help_text", "main"]

# verb -> (module, the line in `aerode --help`). Only verbs that work stand here.
VERBS: dict[str, tuple[str, str]] = {
    "demo": (
        "aerode.cli.demo",
        "the whole job on an invented bench, scored against its hidden truth",
    ),
    "mix": ("aerode.cli.mix", "what a mix dries to, and the dose sheet your scale can weigh"),
    "cautions": ("aerode.cli.cautions", "what can hurt someone, before the act"),
    "log": ("aerode.cli.log", "take readings: guided and saved one by one, or filed in seconds"),
    "fit": ("aerode.cli.fit", "a fair curve from readings, and what it can and cannot tell"),
    "simulate": (
        "aerode.cli.simulate",
        "what a change would do, with its band; cathodes, cells, discharges from numbers",
    ),
    "claim": ("aerode.cli.claim", "what is to be shown, by how much, with how many builds"),
    "compare": (
        "aerode.cli.compare",
        "which is better, shown or not shown, and what would overturn it",
    ),
    "next": ("aerode.cli.next", "the few electrodes worth building next, and why"),
    "size": (
        "aerode.cli.size",
        "a battery for a load: cells, electrodes, aluminium, hydrogen, heat",
    ),
    "report": ("aerode.cli.report", "one page with the verdict and everything it rests on"),
    "process": (
        "aerode.cli.process",
        "how long a coat dries, dry enough, the press, the electrolyte",
    ),
    "property": (
        "aerode.cli.property",
        "any reference figure with its source; what serves for what",
    ),
    "symptom": ("aerode.cli.symptom", "what is seen, its likely causes, the test that splits them"),
    "bench": (
        "aerode.cli.bench",
        "the one file of your bench: fill, show, undo, copy, merge, export, prove",
    ),
    "serve": ("aerode.cli.serve", "the pages: the whole job in a browser on this computer"),
    "schema": ("aerode.cli.schema", "the JSON Schema of any answer or record"),
}


def help_text() -> str:
    """What `aerode --help` prints; written without the option parser, which takes longer to load."""
    width = max(map(len, VERBS), default=0)
    verbs = "\n".join(f"  {verb:<{width}}  {line}" for verb, (_, line) in VERBS.items())
    return (
        "Usage: aerode            the pages, in your browser\n"
        "       aerode VERB [OPTIONS] ...\n\n"
        "From powders to an air cathode that is shown to be better, with nobody hurt.\n\n"
        "  mix -> make -> measure -> explain -> compare -> choose the next -> build a battery\n\n"
        f"Verbs:\n{verbs}\n\n"
        "Options:\n"
        "  -h, --help   this text; `aerode VERB --help` for one verb, with an example\n"
        "  --version    the version\n\n"
        "Start with `aerode demo`. Every verb has --json for scripts.\n"
    )


def _speak_plainly() -> None:
    """Where the output cannot hold every character (a pipe or file on Windows), write what it can."""
    for stream in (sys.stdout, sys.stderr):
        encoding = (getattr(stream, "encoding", None) or "utf-8").lower().replace("_", "-")
        if encoding not in {"utf-8", "utf8"} and hasattr(stream, "reconfigure"):
            from aerode.cli.plain_text import ERRORS

            stream.reconfigure(errors=ERRORS)  # pyright: ignore[reportAttributeAccessIssue, reportUnknownMemberType]


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line; without a verb it opens the pages. Exit 0: done; 1: refused, or a check failed; 2: wrong usage."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    _speak_plainly()
    if not words:
        words = ["serve"]
    if words[0] in {"-h", "--help"}:
        sys.stdout.write(help_text())
        sys.exit(0)
    if words[0] == "--version":
        sys.stdout.write(f"aerode {VERSION}\n")
        sys.exit(0)
    from aerode.cli.console import run

    sys.exit(run(words))
