"""`aerode demo`: the whole job on an invented bench, and how near the answer came to the hidden truth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from aerode.cli.console import json_option, lines, print_answer

if TYPE_CHECKING:
    from collections.abc import Iterator

    from aerode.records.comparisons import Comparison, Effect
    from aerode.records.demos import DemoAnswer

__all__ = ["command"]


@click.command("demo", epilog="Example:  aerode demo --out out")
@click.option(
    "--out",
    default="out",
    show_default=True,
    metavar="FOLDER",
    help="Where the bench file and the report go.",
)
@click.option(
    "--seed",
    default=1,
    show_default=True,
    type=click.IntRange(min=0),
    help="Another seed is another invented bench.",
)
@json_option
def command(out: str, seed: int, as_json: bool) -> None:
    """Run the whole job on an invented bench: eight electrodes, their readings, the verdicts, a report.

    The bench is drawn at random with planted faults; what is true of it is kept out of the bench
    file, so the answer can be scored.
    """
    from aerode.cli.console import progress
    from aerode.devices.files import write_text
    from aerode.report.page import html
    from aerode.store.bench_file import now
    from aerode.usecases.demo import run_demo

    with progress("demo") as step:
        made = run_demo(out, seed=seed, clock=now, step=step)
        write_text(made.report_file, html(made.report))
    print_answer(made.answer, _lines(made.answer), as_json=as_json)


def _lines(answer: DemoAnswer) -> Iterator[str]:
    comparison = answer.comparison
    yield answer.headline
    yield ""
    yield from _rankings(comparison)
    if answer.fall:
        yield from lines(answer.fall)
    for effect in comparison.effects:
        yield from lines(_effect(effect), indent="")
    yield from _needed(comparison)
    for refused in comparison.refused[:1]:
        yield from lines(f"Refused: {refused.run} {refused.text!r}: {refused.why}.")
    for leak in comparison.leaks:
        if leak.first_wet is not None:
            yield from lines(
                f"Leak: {leak.electrode} went wet between {leak.last_dry or 0:g} and {leak.first_wet:g} h; when is not known."
            )
    if answer.caution is not None:
        yield from lines(f"{answer.caution.level}: {answer.caution.headline}")
    yield from lines(
        f"Score against the hidden truth: off by {100 * answer.rms_log_error:.1f} % (rms); order {answer.rank_agreement:.2f}, "
        f"the ammeter's {answer.ammeter_rank_agreement:.2f} (1 is perfect)."
    )
    yield f"Report: {answer.report_file}"
    yield f"Look around: aerode bench show --bench {answer.bench_file}"
    yield 'Next, your own readings: aerode fit readings.csv --area "9 cm^2"'


def _rankings(comparison: Comparison) -> Iterator[str]:
    from aerode.measure.telling import ammeter_order, fair_order

    pieces = {p.electrode: p for p in comparison.pieces}
    yield f"     the ammeter says      fair: {comparison.value_unit.replace('^2', '²')} at {comparison.at:g} {comparison.at_unit}"
    for place, (loud, fair) in enumerate(
        zip(ammeter_order(comparison), fair_order(comparison), strict=True), start=1
    ):
        value = pieces[fair].fair
        spread = f" ± {value.standard_uncertainty:.2f}" if value.standard_uncertainty else ""
        yield f"  {place}  {loud}  {pieces[loud].ammeter_mA or 0:5.1f} mA          {fair}  {value.value or 0:.2f}{spread}   {pieces[fair].recipe}"


def _effect(effect: Effect) -> str:
    if effect.ratio is None or effect.interval_95 is None:
        return f"{effect.factor}: {effect.reason}"
    low, high = effect.interval_95
    return f"{effect.factor} {effect.low} → {effect.high}: x {effect.ratio:.2f} [{low:.2f}, {high:.2f}] {effect.verdict}"


def _needed(comparison: Comparison) -> Iterator[str]:
    from aerode.records.comparisons import Verdict

    waiting = [
        e
        for e in comparison.effects
        if e.builds_per_arm_needed and e.verdict not in {Verdict.SHOWN, Verdict.SHOWN_SMALL}
    ]
    if waiting:
        nearest = min(waiting, key=lambda e: e.builds_per_arm_needed or 0)
        yield from lines(
            f"To show an effect like that of {nearest.factor}: about {nearest.builds_per_arm_needed} builds per setting."
        )
