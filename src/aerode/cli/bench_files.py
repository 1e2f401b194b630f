"""`aerode bench attach`, `files`, `take-out`: photos and raw logs beside the records."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["COMMANDS"]

_LONGEST = 12


@click.command(
    epilog="Example: aerode bench attach leak.jpg --to electrode/T3 --note 'after two days'"
)
@click.argument("file", type=click.Path())
@click.option(
    "--to", required=True, metavar="KIND/NAME", help='The record it belongs to: "electrode/T3".'
)
@click.option("--name", default="", help="Of the attachment; after record and file otherwise.")
@click.option("--note", default="", help="Kept with it.")
@click.option("--keep-original", is_flag=True,
              help="Also keep a photo as it came, with the place in it.")  # fmt: skip
@click.option("--who", default="", help="Who attaches it.")
@bench_option
@json_option
def attach(
    file: str,
    to: str,
    name: str,
    note: str,
    keep_original: bool,
    who: str,
    bench: str,
    as_json: bool,
) -> None:
    """Keep FILE beside a record, with its checksum.

    A photo is drawn afresh: the place, the camera and the moment are not in what is kept.
    """
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_attach import attach as keep

    with BenchFile.open(bench) as store:
        answer = keep(store, to, file, name=name, note=note, keep_original=keep_original, who=who)
    print_answer(answer, _lines(answer), as_json=as_json)


@click.command(epilog="Example: aerode bench files electrode/T3 --bench shed.aerode")
@click.argument("to", required=False, default="", metavar="[KIND/NAME]")
@click.option("--all", "every", is_flag=True, help="Every one, however many.")
@bench_option
@json_option
def files(to: str, every: bool, bench: str, as_json: bool) -> int:
    """What is attached, to one record or to all; each compared with its checksum.

    Exit 1 where one does not agree.
    """
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_attach import list_attachments

    with BenchFile.open(bench, read_only=True) as store:
        answer = list_attachments(store, to)
    print_answer(answer, _lines(answer, every=every), as_json=as_json)
    return 0 if all(one.whole for one in answer.attachments) else 1


def _lines(answer: Any, *, every: bool = False) -> Iterator[str]:
    yield answer.headline
    shown = answer.attachments if every else answer.attachments[:_LONGEST]
    for one in shown:
        mark = "" if one.whole else "DAMAGED "
        yield from lines(
            f"{mark}{one.name}: {one.media}, {one.length} bytes, at {one.to}"
            + (f" ({one.note})" if one.note else "")
            + (", original kept" if one.original else ""),
            indent="  ",
        )
        yield f"    sha256 {one.sha256}"
    if len(shown) < len(answer.attachments):
        yield f"  and {len(answer.attachments) - len(shown)} more: --all shows them"
    for said in answer.said:
        yield from lines(f"{said[0].upper()}{said[1:]}.", indent="  ")


@click.command("take-out", epilog="Example: aerode bench take-out 'T3 leak.jpg' --out leak.jpg")
@click.argument("name")
@click.option("--out", default="", metavar="FILE", help="Where to; under its own name otherwise.")
@click.option("--original", is_flag=True, help="The photo as it came from the camera, if kept.")
@bench_option
@json_option
def take_out(name: str, out: str, original: bool, bench: str, as_json: bool) -> None:
    """Write the attachment NAME to a new file, verified; it stays on the bench."""
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_attach import take_out as write_out

    with BenchFile.open(bench, read_only=True) as store:
        answer = write_out(store, name, out, original=original)
    print_answer(answer, [answer.headline, f"  sha256 {answer.sha256}"], as_json=as_json)


COMMANDS: tuple[click.Command, ...] = (attach, files, take_out)
