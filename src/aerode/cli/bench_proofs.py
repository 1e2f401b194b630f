"""`aerode bench digest` and `recipe`: what of a bench is shown to others."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["COMMANDS"]


@click.command(
    epilog="""Examples:

  aerode bench digest --list shed-digests.txt --bench shed.aerode

  aerode bench digest --against shed-digests.txt --bench shed.aerode"""
)
@click.option("--list", "list_to", default="", metavar="FILE",
              help="Also write the digests to a new file; its SHA-256 is the checksum.")  # fmt: skip
@click.option("--line", type=click.IntRange(min=1), default=None,
              help="Count only up to this line of the journal.")  # fmt: skip
@click.option("--against", default="", metavar="FILE|CHECKSUM",
              help="An earlier list or checksum: is all of it still here?")  # fmt: skip
@bench_option
@json_option
def digest(list_to: str, line: int | None, against: str, bench: str, as_json: bool) -> int:
    """One checksum over claim, plan and raw data, to publish as proof of date.

    It tells nothing of what is on the bench. Exit 1 where --against does not agree.
    """
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_digest import digest as checksum_of

    with BenchFile.open(bench, read_only=True) as store:
        answer = checksum_of(store, line=line, list_to=list_to, against=against)
    print_answer(answer, _digest_lines(answer), as_json=as_json)
    return 1 if answer.agrees is False else 0


def _digest_lines(answer: Any) -> Iterator[str]:
    yield answer.headline
    counts = ", ".join(f"{n} {word}" for word, n in answer.counts.items())
    yield from lines(f"Counted up to line {answer.line} of the journal: {counts}.", indent="  ")
    yield from lines(f"The newest of them was stored at {answer.newest}.", indent="  ")
    for missing in answer.missing[:5]:
        yield f"  not here: {missing}"
    if answer.agrees is None:
        yield from lines(
            "To compute it elsewhere: the digests, sorted, one a line, through sha256sum. "
            "--json prints the SQL for them; --list writes them.",
            indent="  ",
        )


COMMANDS: tuple[click.Command, ...] = (digest,)
