"""`aerode size`: a battery for a load, from what the electrodes of a recipe gave."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from aerode.records.sizes import BatterySize

__all__ = ["command"]

_WIDTH = 80


@click.command(
    "size",
    epilog="""Examples:

  aerode size "b10 m16 70C" --power 18mW --voltage 3V --on 12h --days 14 --converter 75% --least-input 0.9V

  aerode size T3 --current 6mA --voltage 1.2V --days 5""",
)
@click.argument("recipe", required=False, default="")
@click.option("--power", default="", help="Of the load while it is on, as in 18mW.")
@click.option("--current", default="", help="Or its current, with --voltage.")
@click.option("--voltage", "load_voltage", default="", help="Of the load.")
@click.option("--on", "on", default="", help="Time on in a day; all of it if left out.")
@click.option("--days", default="", help="For how long, as in 14.")
@click.option("--converter", default="", help="Share that a converter passes on, as in 75%.")
@click.option("--least-input", default="", help="Lowest voltage that the converter takes.")
@click.option("--burst", default="", help="A short burst of current at the load.")
@click.option("--burst-time", default="", help="How long it lasts, as in 100ms.")
@click.option("--left", default="", help="Share of the measured current to count on.  [60 %]")
@click.option("--chance", default="", help="Wanted chance that all cells carry it.  [90 %]")
@click.option("--used", default="", help="Share of the aluminium that gives current.  [50 %]")
@click.option("--area", default="", help="Of one electrode; as those that were read if left out.")
@click.option("--aluminium-area", default="", help="Wetted aluminium of each cell, both faces.")
@click.option(
    "--lead",
    default="",
    help="Resistance of the lead of each electrode; as measured on the pieces if left out.",
)
@click.option("--salt", default="", help="Liquid of the battery; that of the cells if left out.")
@click.option("--room", default="", help="Where it stands; the only room of the bench if left out.")
@click.option("--box", default="", help="Free volume of the box around it, as in 5L.")
@click.option("--detail", is_flag=True, help="Every battery that was tried, what was assumed, sources.")  # fmt: skip
@bench_option
@json_option
def command(bench: str, *, detail: bool, as_json: bool, **said: str) -> None:
    """Size a battery: cells in a row, air electrodes, aluminium, water, hydrogen, heat.

    RECIPE, or one of its electrodes. Predicted from what its builds gave, with what builds differ by;
    what can hurt stands first.
    """
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.size import size_battery
    from aerode.usecases.size_load import SizeQuestion

    with BenchFile.open(bench, read_only=True) as store:
        answer = size_battery(store, SizeQuestion(**said))
    print_answer(answer, _text(answer, detail=detail), as_json=as_json)


def _text(answer: BatterySize, *, detail: bool) -> list[str]:
    """The answer, what can hurt, the facts, what to mind, what is next; with --detail all of it."""
    from aerode.records.cautions import CautionLevel
    from aerode.usecases.size_words import option_line, size_facts

    text = lines(f"{answer.headline}.")
    hard = sum(one.level is not CautionLevel.NOTE for one in answer.cautions)
    shown = answer.cautions if detail else answer.cautions[: max(2, hard)]
    for one in shown:
        text += _hung(f"{one.level}: ", f"{one.hazard}: {one.headline}. {one.do}")
    if len(answer.cautions) > len(shown):
        more = len(answer.cautions) - len(shown)
        names = ", ".join(dict.fromkeys(one.hazard for one in answer.cautions[len(shown) :]))
        text += _hung(f"  {more} more caution{'' if more == 1 else 's'}: ", f"{names}; --detail.")
    for label, told in size_facts(answer):
        text += _hung(f"  {label}: ", told)
    for warning in answer.warnings:
        text += _hung("Mind: ", f"{warning}.")
    for step in answer.next_steps[: None if detail else 1]:
        text += _hung("Next: ", f"{step}.")
    if not detail:
        count = len(answer.assumed)
        return [*text, f"{count} thing{'' if count == 1 else 's'} not given, taken as --detail lists."]  # fmt: skip
    text += ["", "Batteries that were tried"]
    for option in answer.options:
        text += _hung("  ", option_line(option))
    for one in answer.assumed:
        text += _hung("Taken: ", f"{one.what}: {one.taken} ({one.give} replaces it)")
    for understood in answer.understood:
        text += _hung("Read as: ", understood)
    for source in answer.sources:
        text += _hung("Source: ", source)
    return text


def _hung(head: str, body: str) -> list[str]:
    """A paragraph with its first words standing out to the left."""
    inner = " " * (len(head) if len(head) < 12 else 4)
    first, *rest = lines(
        f"{head.strip()} {body}", width=_WIDTH - len(inner) if len(head) < 12 else _WIDTH - 4
    )
    lead = head[: len(head) - len(head.lstrip())]
    return [lead + first, *(inner + line for line in rest)]
