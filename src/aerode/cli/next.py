"""`aerode next`: the few electrodes worth building next."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from aerode.records.next_batches import NextBatch

__all__ = ["command"]


@click.command(
    "next",
    epilog="""Examples:

  aerode next --bench shed.aerode

  aerode next --builds 4 --mixes 2 --between "binder 8 % to 13 %" --at 0.45V""",
)
@click.option("--builds", type=click.IntRange(1, 24), default=4, show_default=True, help="Electrodes to build.")  # fmt: skip
@click.option("--mixes", type=click.IntRange(1, 24), help="At most so many different recipes.")
@click.option("--between", multiple=True, metavar="FACTOR LOW to HIGH",
              help='A limit of your own, as in "binder 8 % to 13 %". Repeat it.')  # fmt: skip
@click.option("--factor", "factors", multiple=True, metavar="NAME",
              help="What to vary: as entered with the electrodes, or a lot or press setting on record. Repeat it.")  # fmt: skip
@click.option("--at", default="", metavar="POINT", help='Where they are compared: "0.45 V".')
@click.option("--room", default="", help="Where they are made; the only room of the bench if left out.")  # fmt: skip
@click.option("--detail", is_flag=True, help="Every caution, and the shares of each mix.")
@bench_option
@json_option
def command(
    bench: str, *, builds: int, mixes: int | None, between: tuple[str, ...], factors: tuple[str, ...],
    at: str, room: str, detail: bool, as_json: bool,
) -> None:  # fmt: skip
    """The few electrodes whose readings are worth most for the best recipe.

    From what the recipes so far gave, what was varied, and by how much builds differ. Where nobody
    entered what was varied, the shares of the mixes and the press settings on record are taken, and
    said. Settings that cannot be mixed, or whose press is a STOP, are left out. Predicted, never measured.
    """
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.next_asked import NextQuestion
    from aerode.usecases.next_batch import next_batch

    question = NextQuestion(
        builds=builds, mixes=mixes or 0, at=at, between=between, room=room, factors=factors
    )
    with BenchFile.open(bench, read_only=True) as store:
        answer = next_batch(store, question)
    print_answer(answer, _text(answer, detail=detail), as_json=as_json)


def _text(answer: NextBatch, *, detail: bool) -> list[str]:
    """The batch, what can hurt in making it, why, what to mind, what it takes for granted."""
    from aerode.records.cautions import CautionLevel
    from aerode.usecases.next_words import build_line, shares_line

    text = lines(f"{answer.headline}.")
    hard = sum(one.level is not CautionLevel.NOTE for one in answer.cautions)
    shown = answer.cautions if detail else answer.cautions[: max(1, hard)]
    for one in shown:
        said = " ".join(part for part in (one.do, one.further) if part)
        text += _hung("", f"{one.level}: {one.hazard}: {one.headline}. {said}")
    if len(answer.cautions) > len(shown):
        text.append(f"  {len(answer.cautions) - len(shown)} more to read before mixing: --detail.")
    if answer.at_edge:
        text += _hung("", f"{answer.at_edge}.")
    if answer.factors:
        text += _hung("", f"{answer.factors[0].upper()}{answer.factors[1:]}.")
    for one in answer.builds:
        text += _hung("  ", f"{build_line(one, answer.best_read)}.")
        if detail and one.shares:
            text += _hung("    ", f"dry mass: {shares_line(one)}.")
    if answer.outside:
        text.append("Outside what was read, no part of the batch nor of its gain:")
        for one in answer.outside:
            text += _hung("  ", f"{build_line(one, answer.best_read)}.")
    for one in answer.left_out:
        text += _hung("", f"Left out: {one.why}.")
    for line in answer.warnings:
        text += _hung("", f"Mind: {line}.")
    if answer.leave:
        text += _hung(
            "",
            f'Next: aerode size "{answer.best_read}", with --power or --current and --voltage, and --days.',
        )
    for line in answer.next_steps:
        text += _hung("", f"Next: {line}.")
    for line in answer.assumptions:
        text += _hung("", f"Taken: {line}.")
    return text


def _hung(margin: str, body: str) -> list[str]:
    """A paragraph whose first line stands further left."""
    first, *rest = lines(body, width=76 - len(margin))
    return [margin + first, *(f"{margin}    {line}" for line in rest)]
