"""`aerode bench backup`, `restore`, `migrate`: copies of the bench, and what is done with them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["COMMANDS"]

_LONGEST = 10


@click.command(epilog="Example: aerode bench backup --bench shed.aerode")
@click.option("--to", "folder", default="", metavar="FOLDER",
              help="Another folder than the one beside the bench.")  # fmt: skip
@click.option("--list", "listed", is_flag=True, help="List the backups that are there instead.")
@bench_option
@json_option
def backup(folder: str, listed: bool, bench: str, as_json: bool) -> None:
    """Make a checked copy while others may write; old copies go by a fixed rule."""
    from aerode.usecases import bench_copies

    if listed:
        there = bench_copies.list_backups(bench, folder=folder)
        print_answer(there, _listed(there), as_json=as_json)
        return
    answer = bench_copies.back_up(bench, folder=folder)
    print_answer(answer, _made(answer), as_json=as_json)


def _listed(answer: Any) -> Iterator[str]:
    yield answer.headline
    for one in answer.backups[:_LONGEST]:
        yield f"  {one.at}  {one.path}" + (f"  ({one.why})" if one.why else "")
    if len(answer.backups) > _LONGEST:
        yield f"  and {len(answer.backups) - _LONGEST} older ones in {answer.folder}"
    yield from lines(f"Kept are {answer.rule}.")


def _made(answer: Any) -> Iterator[str]:
    yield answer.headline
    yield from lines(f"{answer.path}", indent="  ")
    gone = "one older copy" if len(answer.removed) == 1 else f"{len(answer.removed)} older copies"
    yield from lines(f"{answer.kept} kept, {gone} removed. Kept are {answer.rule}.", indent="  ")


@click.command(epilog="Example: aerode bench restore --bench shed.aerode")
@click.argument("copy", required=False, default="", type=click.Path())
@click.option("--from", "folder", default="", metavar="FOLDER",
              help="Another folder of backups than the one beside the bench.")  # fmt: skip
@bench_option
@json_option
def restore(copy: str, folder: str, bench: str, as_json: bool) -> None:
    """Put a COPY in the place of the bench: a backup, another bench file, or a package.

    Without COPY the newest good backup is taken. What stands in its place is kept aside.
    """
    from aerode.usecases.bench_copies import restore as put_back

    answer = put_back(bench, copy, folder=folder)
    print_answer(answer, _put_back(answer), as_json=as_json)


def _put_back(answer: Any) -> Iterator[str]:
    yield answer.headline
    if not answer.kept_aside:
        return
    yield from lines(f"Kept aside: {answer.kept_aside}", indent="  ")
    if answer.only_aside:
        yield from lines(
            f"It holds {answer.only_aside} states that the copy has not. "
            f"Next: aerode bench merge {answer.kept_aside}",
            indent="  ",
        )
    elif answer.only_aside is None:
        yield "  It cannot be read whole; keep it as it is."


@click.command(epilog="Example: aerode bench migrate --bench shed.aerode")
@click.option("--to", "folder", default="", metavar="FOLDER",
              help="Another folder for the backup than the one beside the bench.")  # fmt: skip
@bench_option
@json_option
def migrate(folder: str, bench: str, as_json: bool) -> None:
    """Bring a bench of an earlier version up to this one: backup first, all or nothing."""
    from aerode.usecases.bench_copies import migrate as bring

    answer = bring(bench, folder=folder)
    text = [answer.headline]
    if answer.backup:
        text += lines(f"The bench as it was: {answer.backup}", indent="  ")
    print_answer(answer, text, as_json=as_json)


COMMANDS: tuple[click.Command, ...] = (backup, restore, migrate)
