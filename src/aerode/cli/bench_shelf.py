"""`aerode bench take-off`: a thing leaves the shelf, and what was made with it keeps its figures."""

from __future__ import annotations

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

__all__ = ["COMMANDS"]


@click.command(
    "take-off", epilog='Example: aerode bench take-off solvent "ethanol bottle" --how "used up"'
)
@click.argument("kind")
@click.argument("name")
@click.option("--how", default="used up", show_default=True,
              help='"used up", "thrown away", "broken or lost", or "entered by mistake".')  # fmt: skip
@click.option("--on", default="", metavar="DAY", help="When, as in 9 May 2026.")
@click.option("--note", default="", help="Kept with it.")
@click.option("--who", default="", help="Who takes it off.")
@bench_option
@json_option
def take_off(
    kind: str, name: str, how: str, on: str, note: str, who: str, bench: str, as_json: bool
) -> None:
    """Say that a thing is used up, thrown away, broken, or was never there.

    Forms offer it no more; what was made or measured with it stays as it is. `aerode bench undo`
    brings it back.
    """
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.off_shelf import take_off as leave

    with BenchFile.open(bench) as store:
        answer = leave(store, kind, name, how, on=on, note=note, who=who)
    text = [f"{answer.headline}."]
    text += lines(f"Mind: {answer.minded}") if answer.minded else []
    text += lines(f'Back again: aerode bench undo {kind} "{name}"')
    print_answer(answer, text, as_json=as_json)


COMMANDS: tuple[click.Command, ...] = (take_off,)
