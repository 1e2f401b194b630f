"""`aerode bench digest` and `recipe`: what of a bench is shown to others."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from aerode import units
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


@click.command(
    epilog="""Examples:

  aerode bench recipe T5 --out T5-card.toml --bench shed.aerode

  aerode bench recipe T5-card.toml --area "12 cm^2" --electrodes 4 --bench mine.aerode"""
)
@click.argument("name", metavar="ELECTRODE|MIX|CARD.toml")
@click.option(
    "--out", default="", metavar="FILE", help="Where to write the card; NAME-card.toml otherwise."
)
@click.option("--by", default="", help="Who signs the card.")
@click.option("--note", default="", help="A line for its readers.")
@click.option("--area", default="", help='Of one electrode of yours, as in "12 cm^2".')
@click.option("--loading", default="", help="Dry mass per area, where not that of the card.")
@click.option("--electrodes", type=click.IntRange(min=1), default=1, show_default=True,
              help="How many to mix for.")  # fmt: skip
@click.option("--spare", default="10 %", show_default=True, help="Extra for pot and brush.")
@click.option("--solids", default="", help="Dry mass over wet mass, where not that of the card.")
@click.option("--scale", default="", help='A scale of the bench, or its step, as in "0.01 g".')
@click.option("--use", "used", multiple=True, metavar="PART=LOT",
              help="What of your shelf stands for a part of the card. Repeat it.")  # fmt: skip
@click.option("--as", "called", default="", metavar="NAME", help="Another name for the mix here.")
@click.option("--room", default="", help="Where it is mixed; the only room of the bench otherwise.")
@bench_option
@json_option
def recipe(
    name: str, out: str, by: str, note: str, area: str, loading: str, electrodes: int, spare: str,
    solids: str, scale: str, used: tuple[str, ...], called: str, room: str, bench: str, as_json: bool,
) -> None:  # fmt: skip
    """Write a recipe card, or dose the card of somebody else on your own bench.

    A card is plain TOML: shares of the dry mass, steps, tolerances, cautions. CARD.toml is dosed
    for your scale, your stock and your area; its mix is stored as wanted shares.
    """
    from pathlib import Path

    from aerode.store.bench_file import BenchFile

    if name.endswith(".toml"):
        from aerode.usecases.bench_card_text import read_card
        from aerode.usecases.bench_recipe_doses import dose_card
        from aerode.usecases.mix import MixQuestion

        question = MixQuestion(
            area=area,
            loading=loading,
            electrodes=electrodes,
            spare=spare,
            scale=scale,
            solids=solids,
        )
        card = read_card(Path(name))
        with BenchFile.open(bench) as store:
            doses = dose_card(
                store, card, question, use=dict(map(_use, used)), name=called, room=room
            )
        print_answer(doses, _dose_lines(doses), as_json=as_json)
        return
    from aerode.usecases.bench_recipe import write_card

    with BenchFile.open(bench, read_only=True) as store:
        written = write_card(
            store, name, out or f"{name.replace('/', '-')}-card.toml", by=by, note=note
        )
    print_answer(written, _card_lines(written), as_json=as_json)


def _use(text: str) -> tuple[str, str]:
    part, sign, lot = text.partition("=")
    if not sign or not part.strip() or not lot.strip():
        raise click.UsageError(f"--use wants PART=LOT, not {text!r}.")
    return part.strip(), lot.strip()


def _card_lines(answer: Any) -> Iterator[str]:
    yield answer.headline
    card = answer.card
    mixes = "one mix" if len(card.mixes) == 1 else f"{len(card.mixes)} mixes"
    counts = f"{mixes}, {len(card.steps)} steps, {len(card.cautions)} cautions"
    yield from lines(f"{counts}; no people, prices, rooms or readings.", indent="  ")
    if answer.not_on_it:
        yield from lines(f"A reader would miss: {'; '.join(answer.not_on_it)}.", indent="  ")


def _dose_lines(answer: Any) -> Iterator[str]:
    yield answer.headline
    for mix in answer.mixes:
        for caution in mix.cautions[:3]:
            yield from lines(caution)
        if len(mix.cautions) > 3:
            yield f"and {len(mix.cautions) - 3} more: aerode cautions '{mix.mix}'"
    for caution in answer.cautions[:3]:
        yield from lines(
            f"The card, {caution.level} {caution.hazard}: {caution.headline}. {caution.do}"
        )
    for match in answer.matches:
        if match.differs:
            yield from lines(f"Mind: {match.taken} for {match.part}: {match.differs}.")
    for note in answer.notes:
        yield from lines(f"Mind: {note}.")
    for mix in answer.mixes:
        dose = mix.dose
        yield f"{mix.mix}: weigh, on the scale {dose.scale}"
        for line in dose.lines:
            yield f"  {line.of[:36]:<36} {line.amount_g:>9.3f} g  ±{units.per_cent(line.relative_uncertainty)}"
        for short in dose.stock_short:
            yield from lines(f"Short: {short}", indent="  ")
        if dose.scale_cannot:
            yield from lines(
                f"Too little for this scale: {', '.join(dose.scale_cannot)}", indent="  "
            )
    yield from lines(
        f"Steps as on the card: {len(answer.steps)}. Masterbatch and notes: aerode mix "
        f"'{answer.stored[0]}' --area ... --loading ..."
    )


COMMANDS: tuple[click.Command, ...] = (digest, recipe)
