"""`aerode bench keep`: computed answers with what they rest on; `bench show results` lists them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["COMMANDS", "result_lines"]

_LONGEST = 12


@click.command(
    epilog="""Examples:

  aerode bench keep fit "T6 loads 1" --bench shed.aerode

  aerode bench keep mix T5 --with "area=9 cm^2" --with "loading=25 mg/cm^2"

  aerode bench keep --again --bench shed.aerode"""
)
@click.argument("verb", required=False, default="")
@click.argument("about", required=False, default="")
@click.option("--with", "told", multiple=True, metavar="WORD=VALUE",
              help="What is asked beside, by the words of that verb. Repeat it.")  # fmt: skip
@click.option("--again", is_flag=True, help="Compute every stale answer once more.")
@click.option("--forget-stale", is_flag=True, help="Throw the stale ones away.")
@click.option("--forget-all", is_flag=True, help="Throw all of them away.")
@bench_option
@json_option
def keep(
    verb: str, about: str, told: tuple[str, ...], again: bool, forget_stale: bool, forget_all: bool,
    bench: str, as_json: bool,
) -> None:  # fmt: skip
    """Compute fit, compare, cautions or mix, and keep the answer with what it rests on.

    It is marked stale when a record, the program or a published figure under it changes. It never
    enters the history, and may be thrown away. `bench show results` lists what is kept.
    """
    from aerode.store.bench_file import BenchFile
    from aerode.usecases import bench_results

    if sum([bool(verb), again, forget_stale, forget_all]) != 1:
        raise click.UsageError(
            "Give VERB and ABOUT, or one of --again, --forget-stale, --forget-all."
        )
    with BenchFile.open(bench) as store:
        if again:
            answer = bench_results.keep_again(store)
        elif verb:
            answer = bench_results.compute_and_keep(store, verb, about, dict(map(_word, told)))
        else:
            answer = bench_results.forget(store, stale_only=forget_stale)
    print_answer(answer, result_lines(answer, every=False), as_json=as_json)


def _word(text: str) -> tuple[str, str]:
    word, sign, value = text.partition("=")
    if not sign or not word.strip():
        raise click.UsageError(f"--with wants WORD=VALUE, not {text!r}.")
    return word.strip().replace("-", "_"), value.strip()


def result_lines(answer: Any, *, every: bool) -> Iterator[str]:
    """The lines for people: each answer, and what has changed under it."""
    yield answer.headline
    shown = answer.results if every else answer.results[:_LONGEST]
    for one in shown:
        verb = one.answer.removeprefix("aerode.").split("/")[0]
        mark = "STALE " if one.stale else ""
        yield f"  {mark}{verb} {one.about}  ({one.at[:16].replace('T', ' ')}, {one.key[:8]})"
        yield from lines(one.headline, indent="    ")
        for why in one.stale[:3]:
            yield from lines(why, indent="    ")
        if len(one.stale) > 3:
            yield f"    and {len(one.stale) - 3} more changes: --json shows them"
    if len(shown) < len(answer.results):
        yield f"  and {len(answer.results) - len(shown)} more: --all shows them"
    for failed in answer.again:
        yield from lines(f"Not computed: {failed}", indent="  ")
    if any(one.stale for one in answer.results):
        yield "Next: aerode bench keep --again"


COMMANDS: tuple[click.Command, ...] = (keep,)
