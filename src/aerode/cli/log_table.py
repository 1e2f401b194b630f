"""`aerode log … --from FILE`: show what was understood of a table, ask, take it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from aerode.cli.console import lines, print_answer, progress

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

    from aerode.records.marks import Condition
    from aerode.records.tables import TableColumn, TablePreview, TableRun
    from aerode.usecases.take_table import TableQuestion

__all__ = ["TABLE_OPTIONS", "table_options", "take_or_draw"]

TABLE_OPTIONS = ("file", "confirmed", "of", "columns", "units", "decimal", "dates", "clock",
                 "encoding", "load", "source", "begun", "drawn", "under")  # fmt: skip
"""The names under which `table_options` hands on what was typed."""

_LONGEST = 8
_OWN = {"voltage", "current"}


_SAID = (
    click.option("--from", "file", type=click.Path(dir_okay=False), metavar="FILE",
                 help="Take a table or a long log from FILE: shown first, taken when confirmed."),
    click.option("--yes", "confirmed", is_flag=True, help="With --from: take it without asking."),
    click.option("--of", "of", multiple=True, metavar="ELECTRODE=HEADING",
                 help="With --from: whose a column, channel or block is. Repeat it."),
    click.option("--column", "columns", multiple=True, metavar="WHAT=HEADING",
                 help='With --from: which column is what, as in "voltage=U cell". Repeat it.'),
    click.option("--unit", "units", multiple=True, metavar="WHAT=UNIT",
                 help='With --from: the unit of a column, as in "voltage=mV". Repeat it.'),
    click.option("--decimal", type=click.Choice([".", ","]), help="With --from: the decimal mark."),
    click.option("--dates", type=click.Choice(["d/m/y", "m/d/y", "y/m/d"]),
                 help="With --from: the order of day, month and year."),
    click.option("--clock", type=click.Choice(["refuse", "go on"]),
                 help="With --from: what to do where the clock goes backwards."),
    click.option("--encoding", default="", help='With --from: how letters are written, as in "cp850".'),
    click.option("--load", default="", help='With --from: the resistor that was on, "R15" or "15 ohm".'),
    click.option("--source", default="", help="With --from: what to remember the habit of this file by."),
    click.option("--begun", default="", help='With --from: when it began, where FILE has no date.'),
    click.option("--draw", "drawn", metavar="RUN", help="Draw the long log of RUN, into RUN.svg."),
    click.option("--under", default="", metavar="VOLTAGES",
                 help='With --draw: when it fell under these, as in "0.7 V; 0.5 V".'),
)  # fmt: skip


def table_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options with which a person says how a table is meant."""
    for option in reversed(_SAID):
        function = option(function)
    return function


def take_or_draw(
    bench: str, words: tuple[str, ...], table: dict[str, Any], *, retro: bool, note: str, meter: str,
    control: bool, conditions: Mapping[str, Condition], as_json: bool,
) -> None:  # fmt: skip
    """Draw the log of a run, or take a file as the run of an electrode."""
    from aerode.usecases.take_table import TableQuestion

    if table["drawn"]:
        _draw(bench, table["drawn"], table["under"], as_json=as_json)
        return
    if len(words) > 1:
        raise click.UsageError("with --from only the electrode is named: aerode log T6 --from FILE")
    said = {name: table[name] or "" for name in ("decimal", "dates", "clock", "encoding", "load", "source", "begun")}  # fmt: skip
    question = TableQuestion(
        electrode=words[0] if words else "", of=table["of"], columns=table["columns"],
        units=table["units"], meter=meter, note=note, control=control, conditions=conditions, **said,
    )  # fmt: skip
    _from_file(
        bench, table["file"], question, retro=retro, confirmed=table["confirmed"], as_json=as_json
    )


def _from_file(
    bench: str, file: str, question: TableQuestion, *, retro: bool, confirmed: bool, as_json: bool
) -> None:
    """Show, ask, take. Without a terminal and without `--yes` nothing is taken."""
    from pathlib import Path

    from aerode.store.bench_file import BenchFile, now
    from aerode.usecases.take_notebook import understand_notebook
    from aerode.usecases.take_table import new_checksum, understand_table

    path = Path(file)
    with BenchFile.open(bench) as store:
        if retro:
            checksum = new_checksum(store, path)
            taking = understand_notebook(store, path, question, checksum=checksum)
        else:
            with progress(f"reading {path.name}") as step:
                taking = understand_table(
                    store, path, question, moment=now(),
                    progress=lambda share: step(f"reading {path.name}", share),
                )  # fmt: skip
        try:
            if not as_json:
                print_answer(taking.preview, _shown(taking.preview), as_json=False)
            if not (confirmed or _agrees(as_json)):
                if as_json:
                    print_answer(taking.preview, (), as_json=True)
                else:
                    click.echo("Nothing was stored. Take it with: the same line and --yes")
                return
            answer = taking.take(store)
        finally:
            taking.close()
    print_answer(answer, _taken(answer), as_json=as_json)


def _agrees(as_json: bool) -> bool:
    import sys

    if as_json or not sys.stdin.isatty():
        return False
    return click.confirm("Take it?", default=False)


def _shown(preview: TablePreview) -> Iterator[str]:
    """What was understood, for a person who decides in half a minute."""
    yield preview.headline
    if preview.remembered:
        yield from lines(f"As the last time: {preview.remembered}.", indent="  ")
    for column in preview.columns[:12]:
        yield from lines(_column(column), indent="  ")
    if len(preview.columns) > 12:
        yield f"  and {len(preview.columns) - 12} more columns: --json shows them"
    for said in preview.understood:
        if not any(f"{column.heading!r} is" in said for column in preview.columns):
            yield from lines(f"Taken so: {said}.", indent="  ")
    for why, count in preview.refused_for.items():
        first = next((r for r in preview.refused if r.why == why), None)
        place = f", first in line {first.line}" if first and first.line else ""
        yield from lines(f"Not taken: {count} × {why}{place}.", indent="  ")
    for run in preview.runs[:_LONGEST]:
        yield from lines(_run(run), indent="  ")
    if len(preview.runs) > _LONGEST:
        yield f"  and {len(preview.runs) - _LONGEST} more runs: --json shows them"


def _column(column: TableColumn) -> str:
    if not column.quantity or (column.quantity in _OWN and not column.of):
        return f"{column.heading!r}: left out"
    unit = f" in {column.unit}" if column.unit else ""
    text = f"{column.heading or 'counted rows'!r}: {column.quantity.replace('_', ' ')}{unit}"
    if column.of:
        text += f" of {column.of}"
    if column.low is not None and column.high is not None and column.quantity != "time":
        text += f", {column.low:.4g} to {column.high:.4g} {column.si}"
    return f"{text} ({column.taken} taken, {column.missing} empty)"


def _run(run: TableRun) -> str:
    what = f"a series of {run.rows} rows" if run.series else f"{run.readings} readings"
    if run.readings == 1:
        what = "one reading"
    time = f" over {_time(run.duration)}" if run.duration else ""
    text = f"Becomes: {run.run}, {what}{time} of {run.electrode}"
    if run.started:
        text += f", from {run.started.replace('T', ' ')}"
    return f"{text}. Doubtful: {run.doubt}" if run.doubt else f"{text}."


def _time(seconds: float) -> str:
    if seconds < 120:
        return f"{seconds:.3g} s"
    return f"{seconds / 60:.3g} min" if seconds < 7200 else f"{seconds / 3600:.3g} h"


def _taken(preview: TablePreview) -> Iterator[str]:
    yield preview.headline
    first = preview.runs[0]
    if not first.series:
        yield f'Next: aerode bench show run "{first.run}"'
    else:
        yield f'Next: aerode log --draw "{first.run}"'


def _draw(bench: str, run: str, under: str, *, as_json: bool) -> None:
    """The figure of the long log of a run, as a file or as a record, with how long its voltage held."""
    from dataclasses import replace
    from pathlib import Path

    from aerode.devices.files import write_text
    from aerode.records.runs import Run
    from aerode.report.svg import draw as draw_svg
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.log_hours import hours_words, levels_from_text
    from aerode.usecases.take_table_figure import figure_of_series

    with BenchFile.open(bench, read_only=True) as store:
        answer = figure_of_series(store, run)
        held = hours_words(store, store.get(Run, run), levels_from_text(under))
        answer = replace(answer, held=held)
    text = [answer.headline, *lines(answer.figure.alt)]
    text += [part for line in held for part in lines(f"{line}.")]
    if not as_json:
        file_name = "".join(
            letter if letter.isalnum() or letter in " -_." else "_" for letter in run
        )
        text.append(f"Written: {write_text(Path(f'{file_name}.svg'), draw_svg(answer.figure))}")
    print_answer(answer, text, as_json=as_json)
