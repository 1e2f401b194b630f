"""`aerode bench import` and `export`: what comes onto the bench, and what leaves it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["COMMANDS"]

_LONGEST = 12
"""Lines of detail after the verdict; `--json` gives the rest."""


@click.command(
    "import",
    epilog="""Examples:

  aerode bench import my-folder --bench shed.aerode

  aerode bench import package.zip --bench new.aerode

  aerode bench import electrodes.csv --preview --bench shed.aerode""",
)
@click.argument("source", type=click.Path())
@click.option("--preview", is_flag=True, help="Only say what edited tables change.")
@click.option("--who", default="", help="Who writes.")
@bench_option
@json_option
def import_(source: str, preview: bool, who: str, bench: str, as_json: bool) -> None:
    """Bring SOURCE onto the bench: all of it, or nothing.

    A folder (or one file) of hand-written tables and TOML; a package that `export` wrote, which
    also makes the bench where there is none; or tables of such a package that were edited, which
    come back as new states. Every fault is listed with its file, line and column.
    """
    from aerode.usecases.bench_bring import bring

    answer = bring(bench, source, preview=preview, who=who)
    sort = answer.schema.split("/")[0]
    show = {
        "aerode.bench-import": _folder_lines,
        "aerode.bench-package-import": _package_lines,
        "aerode.bench-tables-import": _tables_lines,
    }[sort]
    print_answer(answer, show(answer), as_json=as_json)


def _folder_lines(answer: Any) -> Iterator[str]:
    yield answer.headline
    for count in answer.kinds:
        parts = [("new", count.new), ("changed", count.changed), ("as before", count.unchanged)]
        yield f"  {count.kind:16}" + ", ".join(f"{n} {word}" for word, n in parts if n)
    for said in answer.understood[:_LONGEST]:
        yield from lines(f"Taken so: {said}", indent="  ")
    if answer.not_on_file:
        yield from lines(f"Named, but not on file: {', '.join(answer.not_on_file)}")
    if answer.left_alone:
        yield from lines(f"Left alone: {', '.join(answer.left_alone)}")


def _package_lines(answer: Any) -> Iterator[str]:
    yield answer.headline
    if answer.kinds:
        yield from lines(", ".join(f"{k.states} {k.kind}" for k in answer.kinds), indent="  ")
    if answer.series_chunks or answer.files:
        yield f"  {answer.series_chunks} chunks of series, {answer.files} files"
    if answer.kept_aside:
        yield from lines(f"The empty bench that stood there: {answer.kept_aside}", indent="  ")
    for conflict in answer.conflicts[:_LONGEST]:
        yield f"  Two newest states, to be settled: {conflict}"
    if answer.conflicts:
        yield "Next: aerode bench settle KIND NAME"


def _tables_lines(answer: Any) -> Iterator[str]:
    yield answer.headline
    for one in answer.changed[:_LONGEST]:
        mark = (
            "  new"
            if one.new
            else "  to be settled: changed on the bench too"
            if one.conflict
            else ""
        )
        yield f"  {one.kind} {one.name}{mark}"
        for change in one.changes[:6]:
            text = f"{change.field}: {change.before or 'nothing'} -> {change.after or 'nothing'}"
            yield from lines(text, indent="    ")
        if len(one.changes) > 6:
            yield f"    and {len(one.changes) - 6} more fields: --json shows them"
    if len(answer.changed) > _LONGEST:
        yield f"  and {len(answer.changed) - _LONGEST} more: --json shows them"
    if not answer.stored and answer.changed:
        yield "Nothing was stored. Next: the same without --preview"


@click.command(
    epilog="""Examples:

  aerode bench export shed.zip --bench shed.aerode

  aerode bench export for-others --withhold who,price --bench shed.aerode"""
)
@click.argument("out", type=click.Path())
@click.option("--withhold", "withheld", multiple=True, metavar="FIELD,...",
              help="Leave fields out: who, note, price, files, originals. Repeat it.")  # fmt: skip
@bench_option
@json_option
def export(out: str, withheld: tuple[str, ...], bench: str, as_json: bool) -> None:
    """Write the whole bench to OUT, a .zip or a new folder, as an open Data Package.

    History, tables and files, readable without this program; `import` makes the same bench of it.
    """
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_export import export as write_out

    with BenchFile.open(bench, read_only=True) as store:
        answer = write_out(store, out, withhold=withheld)
    print_answer(answer, _export_lines(answer), as_json=as_json)


def _export_lines(answer: Any) -> Iterator[str]:
    yield answer.headline
    yield (
        f"  {len(answer.tables)} tables, {answer.series_chunks} chunks of series, {answer.files} files"
    )
    if answer.originals:
        yield from lines(
            f"{answer.originals} photos are as they came from the camera, with whatever place they "
            "carry: --withhold originals leaves them out",
            indent="  ",
        )
    if not answer.whole:
        counts = ", ".join(f"{field} ({n})" for field, n in answer.withheld.items())
        yield from lines(
            f"Withheld: {counts}; marked in {answer.withheld_states} states", indent="  "
        )


COMMANDS: tuple[click.Command, ...] = (import_, export)
