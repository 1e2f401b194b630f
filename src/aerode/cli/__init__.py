"""The command line: parse, call one use-case, print. Each verb lives in a file of its own, read when it is called."""

from __future__ import annotations

import sys
from importlib import import_module
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["VERBS", "main"]

# verb -> (module, the line in `aerode --help`). Only verbs that work stand here.
VERBS: dict[str, tuple[str, str]] = {
    "log": ("aerode.cli.log", "take readings: guided and saved one by one, or filed in seconds"),
}


class _Verbs(click.Group):
    """A group that reads a verb's module only when the verb is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(VERBS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in VERBS:
            return None
        command: click.Command = import_module(VERBS[cmd_name][0]).command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Verbs"):
            formatter.write_dl([(verb, line) for verb, (_, line) in VERBS.items()])


@click.group(
    cls=_Verbs,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    epilog="Start with `aerode demo`. Every verb has --help with an example, and --json for scripts.",
)
@click.version_option(package_name="aerode", message="aerode %(version)s")
def _root() -> None:
    """From powders to an air cathode that is shown to be better, and a battery that runs a load.

    mix -> make -> measure -> explain -> compare -> choose next -> build, with nobody hurt.
    """


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line. Exit 0: done; 1: refused, or a check failed; 2: wrong usage."""
    from aerode.cli.console import run

    sys.exit(run(_root, list(sys.argv[1:] if arguments is None else arguments)))
