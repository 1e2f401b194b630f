"""`aerode bench merge`, `settle`, `diff`, `undo`: two benches, two states, and the way back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["COMMANDS"]

_LONGEST = 12


@click.command(epilog="Example: aerode bench merge laptop.aerode --bench shed.aerode")
@click.argument("other", type=click.Path())
@bench_option
@json_option
def merge(other: str, bench: str, as_json: bool) -> None:
    """Take OTHER in, a bench file or a package: what is not here yet, nothing chosen.

    What was changed in both has two newest states then; `settle` ends that.
    """
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_merge import merge as take_in

    with BenchFile.open(bench) as store:
        answer = take_in(store, other)
    print_answer(answer, _merge_lines(answer), as_json=as_json)


def _merge_lines(answer: Any) -> Iterator[str]:
    yield answer.headline
    if answer.kinds:
        yield from lines(", ".join(f"{k.states} {k.kind}" for k in answer.kinds), indent="  ")
    if answer.series_chunks or answer.files:
        yield f"  {answer.series_chunks} chunks of series, {answer.files} files"
    yield from _conflict_lines(answer.conflicts)


def _conflict_lines(conflicts: Any) -> Iterator[str]:
    for one in conflicts[:5]:
        what = "newest states" if one.one_record else "different records of this name"
        yield f"{one.kind} {one.name}: {len(one.states)} {what}"
        for state in one.states:
            who = f" by {state.who}" if state.who else ""
            why = f" ({state.why})" if state.why else ""
            mark = ", withdrawn" if state.changes else ""
            yield f"  {state.digest[:8]} {state.at[:16].replace('T', ' ')}{who}{why}{mark}"[:80]
        for field in one.fields[:4]:
            yield from lines(f"{field.field}: {' | '.join(field.values)}", indent="    ")
    if len(conflicts) > 5:
        yield f"and {len(conflicts) - 5} more: --json shows them"
    if conflicts:
        first = conflicts[0]
        rename = "" if first.one_record else " --rename 'NEW NAME'"
        yield (
            f"Next: aerode bench settle {first.kind} '{first.name}' "
            f"--keep {first.states[0].digest[:8]}{rename}"
        )


@click.command(epilog="Example: aerode bench settle electrode T3 --keep 4f2a --take note=91bc")
@click.argument("kind", required=False, default="")
@click.argument("name", required=False, default="")
@click.option(
    "--keep", default="", metavar="STATE", help="The state to keep: how its digest begins."
)
@click.option("--take", "taken", multiple=True, metavar="FIELD=STATE",
              help="A field to take from another state. Repeat it.")  # fmt: skip
@click.option("--rename", default="", metavar="NAME",
              help="Another name for the record of that state, where two bear one name.")  # fmt: skip
@click.option("--why", default="", help="The reason, for the history.")
@click.option("--who", default="", help="Who settles it.")
@bench_option
@json_option
def settle(
    kind: str, name: str, keep: str, taken: tuple[str, ...], rename: str, why: str, who: str,
    bench: str, as_json: bool,
) -> None:  # fmt: skip
    """Show what is to be settled, or end it with the state to keep; both stay in the history."""
    from aerode.records.bench_two import BenchSettle
    from aerode.store.bench_file import BenchFile
    from aerode.usecases import bench_settle

    if not keep:
        with BenchFile.open(bench, read_only=True) as store:
            found = bench_settle.conflicts_of(store, kind, name)
        count = "One is" if len(found) == 1 else f"{len(found) or 'None'} are"
        answer = BenchSettle(headline=f"{count} to be settled", conflicts=found)
        print_answer(answer, [answer.headline, *_conflict_lines(found)], as_json=as_json)
        return
    if not kind or not name:
        raise click.UsageError("Say which record: aerode bench settle KIND NAME --keep STATE.")
    pairs = dict(_pair(text) for text in taken)
    with BenchFile.open(bench) as store:
        answer = bench_settle.settle(
            store, kind, name, keep=keep, take=pairs, rename=rename, why=why, who=who
        )
    print_answer(answer, [answer.headline, *_conflict_lines(answer.conflicts)], as_json=as_json)


def _pair(text: str) -> tuple[str, str]:
    field, sign, state = text.partition("=")
    if not sign or not field or not state:
        raise click.UsageError(f"--take wants FIELD=STATE, not {text!r}.")
    return field.strip(), state.strip()


@click.command(
    epilog="""Examples:

  aerode bench diff electrode T3 --bench shed.aerode

  aerode bench diff electrode T3 4f2a 91bc --bench shed.aerode

  aerode bench diff --with laptop.aerode --bench shed.aerode"""
)
@click.argument("kind", required=False, default="")
@click.argument("name", required=False, default="")
@click.argument("left", required=False, default="")
@click.argument("right", required=False, default="")
@click.option("--with", "other", default="", metavar="FILE", help="Another bench to compare with.")
@bench_option
@json_option
def diff(
    kind: str, name: str, left: str, right: str, other: str, bench: str, as_json: bool
) -> None:
    """What differs between two states of a record, or between two benches.

    LEFT and RIGHT are the beginnings of digests; otherwise the newest state and the one before.
    """
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_diff import diff_benches, diff_states

    if bool(other) == bool(kind and name):
        raise click.UsageError("Give KIND and NAME of a record, or --with FILE.")
    with BenchFile.open(bench, read_only=True) as store:
        answer = (
            diff_benches(store, other) if other else diff_states(store, kind, name, left, right)
        )
    print_answer(answer, _diff_lines(answer, bool(other)), as_json=as_json)


def _diff_lines(answer: Any, two_benches: bool) -> Iterator[str]:
    yield answer.headline
    yield from lines(f"{answer.left} -> {answer.right}", indent="  ")
    for words, names in (("Only here", answer.only_left), ("Only there", answer.only_right)):
        if names:
            more = f" and {len(names) - 8} more" if len(names) > 8 else ""
            yield from lines(f"{words}: {', '.join(names[:8])}{more}")
    for one in answer.differing[:_LONGEST]:
        if two_benches:
            yield f"{one.kind} {one.name}"
        for change in one.changes[: 4 if two_benches else 40]:
            yield from lines(f"{change.field}: {change.before} -> {change.after}", indent="  ")
    if len(answer.differing) > _LONGEST:
        yield f"and {len(answer.differing) - _LONGEST} more: --json shows them"
    if answer.states_only_left or answer.states_only_right:
        yield (
            f"States of the history: {answer.states_only_left} only here, "
            f"{answer.states_only_right} only there"
        )


@click.command(epilog='Example: aerode bench undo electrode T3 --why "typed into the wrong one"')
@click.argument("kind")
@click.argument("name")
@click.option(
    "--to", default="", metavar="STATE", help="The state to go back to: how its digest begins."
)
@click.option("--why", default="", help="The reason, for the history.")
@click.option("--who", default="", help="Who undoes it.")
@bench_option
@json_option
def undo(kind: str, name: str, to: str, why: str, who: str, bench: str, as_json: bool) -> None:
    """Go back to the state before, as a new state: nothing is lost, and this can be undone too."""
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.bench_settle import undo as go_back

    with BenchFile.open(bench) as store:
        answer = go_back(store, kind, name, to=to, why=why, who=who)
    text = [answer.headline]
    for change in answer.state.changes[:_LONGEST]:
        text += lines(change, indent="  ")
    print_answer(answer, text, as_json=as_json)


COMMANDS: tuple[click.Command, ...] = (merge, settle, diff, undo)
