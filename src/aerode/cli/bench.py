"""`aerode bench`: make a bench, import a folder, show, history, check; the rest stands in `bench_*`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from aerode.cli import (
    bench_copies,
    bench_files,
    bench_in_out,
    bench_proofs,
    bench_results,
    bench_shelf,
    bench_two,
)
from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["command"]

_LONGEST = 12
"""Lines of detail after the verdict; `--all` and `--json` give the rest."""


@click.group(epilog='Example: aerode bench new shed.aerode --title "Net shed"')
def command() -> None:
    """Make a bench file, fill it from a folder, look at it, check it."""


@command.command(epilog='Example: aerode bench new shed.aerode --title "Net shed"')
@click.argument("file", type=click.Path())
@click.option("--title", required=True, help="Whose bench it is.")
@click.option("--who", default="", help="Who writes.")
@json_option
def new(file: str, title: str, who: str, as_json: bool) -> None:
    """Make a new, empty bench FILE. Nothing is ever overwritten."""
    from aerode.records.bench_answers import NewBench
    from aerode.store.bench_file import BenchFile

    with BenchFile.create(file, title=title, who=who) as bench:
        answer = NewBench(headline=f"Made {bench.label}: {title}", path=bench.label, title=title)
    text = [answer.headline, f"Next: aerode bench import FOLDER --bench {bench.label}"]
    print_answer(answer, text, as_json=as_json)


@command.command(epilog="Example: aerode bench show electrode T6 --bench shed.aerode")
@click.argument("kind", required=False, default="")
@click.argument("name", required=False, default="")
@click.option("--all", "every", is_flag=True, help="Every line, however many.")
@bench_option
@json_option
def show(kind: str, name: str, every: bool, bench: str, as_json: bool) -> None:
    """What is on the bench: all kinds, the records of a KIND, or the one of a NAME.

    The kind `results` shows the answers that were kept, and which of them are stale.
    """
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_show import show as show_bench

    with BenchFile.open(bench, read_only=True) as store:
        if kind in {"result", "results"}:
            from aerode.usecases.bench_results import list_results

            kept = list_results(store, name)
            print_answer(kept, bench_results.result_lines(kept, every=every), as_json=as_json)
            return
        answer = show_bench(store, kind, name)
    print_answer(answer, _show_lines(answer, kind, name, every), as_json=as_json)


def _show_lines(answer: Any, kind: str, name: str, every: bool) -> Iterator[str]:
    from aerode.usecases.bench_words import summary

    yield answer.headline
    for conflict in answer.conflicts:
        yield f"  Two newest states, to be settled: {conflict}"
    if not kind:
        for word, count in answer.counts.items():
            yield f"  {word:16}{count}"
        if not answer.counts:
            yield "Next: aerode bench import FOLDER, or aerode demo"
        return
    if name:
        for part in answer.records[0].fields:
            yield from lines(f"{part.field}: {part.value}", indent="  ")
        return
    shown = answer.records if every else answer.records[:_LONGEST]
    for one in shown:
        yield f"  {one.name:16}{summary(one.fields, 60)}".rstrip()
    if len(shown) < len(answer.records):
        yield f"  and {len(answer.records) - len(shown)} more: --all shows them"


@command.command(epilog="Example: aerode bench history electrode T6 --bench shed.aerode")
@click.argument("kind", required=False, default="")
@click.argument("name", required=False, default="")
@click.option("--all", "every", is_flag=True, help="Every state, however many.")
@bench_option
@json_option
def history(kind: str, name: str, every: bool, bench: str, as_json: bool) -> None:
    """Every state of everything, of a KIND, or of the one of a NAME: when, who, why, what."""
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_history import history as read_history

    with BenchFile.open(bench, read_only=True) as store:
        answer = read_history(store, kind, name)
    print_answer(answer, _history_lines(answer, every), as_json=as_json)


def _history_lines(answer: Any, every: bool) -> Iterator[str]:
    yield answer.headline
    shown = answer.states if every else answer.states[-_LONGEST:]
    if len(shown) < len(answer.states):
        yield f"  {len(answer.states) - len(shown)} older ones: --all shows them"
    for state in shown:
        who = f" by {state.who}" if state.who else ""
        why = f" ({state.why})" if state.why else ""
        yield f"{state.at[:16].replace('T', ' ')} {state.digest[:8]} {state.kind} {state.name}{who}{why}"
        for change in state.changes[:4]:
            yield from lines(change, indent="    ")


@command.command(epilog="Example: aerode bench check --bench shed.aerode")
@click.option("--rebuild", is_flag=True, help="Make the list of newest states again first.")
@bench_option
@json_option
def check(rebuild: bool, bench: str, as_json: bool) -> int:
    """Verify every digest, the journal and the lists; exit 1 if anything is wrong."""
    from aerode.usecases.bench_copies import check as check_bench

    answer = check_bench(bench, rebuild=rebuild)
    print_answer(answer, _check_lines(answer), as_json=as_json)
    return 0 if answer.whole else 1


def _check_lines(answer: Any) -> Iterator[str]:
    yield answer.headline[:100]
    if answer.series_chunks or answer.files:
        yield (
            f"  {answer.series_chunks} chunks of series and {answer.files} files agree too"
            if answer.whole
            else ""
        )
    for fault in answer.faults[:_LONGEST]:
        yield from lines(f"{fault.kind} {fault.name}: {fault.what}", indent="  ")
    if len(answer.faults) > _LONGEST:
        yield f"  and {len(answer.faults) - _LONGEST} more: --json shows them"
    for step in dict.fromkeys(fault.next_step for fault in answer.faults):
        yield from lines(f"Next: {step}")
    if answer.newest_good_copy:
        yield from lines(f"Newest good copy: {answer.newest_good_copy} (aerode bench restore)")
    for conflict in answer.conflicts:
        yield f"  Two newest states, to be settled: {conflict}"


for _module in (
    bench_in_out,
    bench_copies,
    bench_two,
    bench_proofs,
    bench_files,
    bench_results,
    bench_shelf,
):
    for _more in _module.COMMANDS:
        command.add_command(_more)
