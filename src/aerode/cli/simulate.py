"""`aerode simulate`: what a change to an electrode would do, and cathodes, cells and discharges from numbers."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from aerode.records.figures import Figure
    from aerode.records.results import Estimate
    from aerode.records.simulations import (
        CathodeSimulation,
        CellSimulation,
        DischargeSimulation,
        PorousFit,
        Simulation,
    )
    from aerode.usecases.simulate_change import ChangeQuestion

__all__ = ["command"]

_WIDTH = 80
_MOST_LINES = 12
_LOOK = 0.25
"""How often the solver on its way is looked at [s]."""
_KINDS = ("cathode", "cell", "discharge")


@click.command(
    "simulate",
    epilog="""Examples:

  aerode simulate T1 --bench shed.aerode --change "thickness +200 um"

  aerode simulate T1 --vary thickness --from 0.1mm --to 0.6mm --steps 6

  aerode simulate T1 --change "flooded by half" --change "20 % more binder"

  aerode simulate T1 --change "saturation 50 %" --known "saturation = 20 to 40 %"

  aerode simulate T1 --fit

  aerode simulate cathode numbers.toml --json""",
)
@click.argument("what", metavar="ITEM|cathode|cell|discharge")
@click.argument("source", metavar="[INPUT.toml]", required=False, default="")
@click.option("--change", "changes", multiple=True, metavar="WHAT HOW",
              help='"thickness +200 um", "binder +20 %", "saturation 50 %", "activity x2". Repeat it.')  # fmt: skip
@click.option("--vary", default="", metavar="WHAT", help="Go through settings of one thing.")
@click.option("--from", "low", default="", metavar="VALUE", help="First setting of --vary.")
@click.option("--to", "high", default="", metavar="VALUE", help="Last setting of --vary.")
@click.option(
    "--steps", type=click.IntRange(2, 60), default=6, show_default=True, help="Settings of --vary."
)
@click.option(
    "--at",
    "at",
    default="",
    metavar="DENSITY",
    help='Current density asked about; "2 mA/cm^2" if left out.',
)
@click.option(
    "--electrolyte",
    default="",
    help='One of the bench, or "KOH 4 mol/L"; that of its cell if left out.',
)
@click.option(
    "--temperature",
    default="",
    help='As in "15 degC", with its unit; that of its run, else 25 degC.',
)
@click.option("--known", multiple=True, metavar="INPUT=BAND",
              help='Known better than the bench says: "saturation = 20 to 40 %". Repeat it.')  # fmt: skip
@click.option(
    "--run",
    "run",
    default="",
    help='The run to fit beforehand; its own if left out, "no" for none.',
)
@click.option(
    "--fit",
    "fit",
    is_flag=True,
    help="Fit the porous model to a run of ITEM; is it better than the plain curve?",
)
@click.option("--no-ranking", is_flag=True, help="Leave out which unknown matters most.")
@click.option("--profile", is_flag=True, help="With cathode: the inside of the layer too.")
@click.option(
    "--draws",
    type=click.IntRange(min=1),
    help="Curves drawn for the bands; 1000000 takes half a minute or so.",
)
@click.option("--workers", type=click.IntRange(min=1, max=64), default=1, show_default=True,
              help="Threads; the answer does not depend on them.")  # fmt: skip
@click.option(
    "--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Of the dice."
)
@click.option(
    "--figures", default="", metavar="FOLDER", help="Also write every figure as an SVG file."
)
@bench_option
@json_option
def command(
    what: str, source: str, changes: tuple[str, ...], vary: str, low: str, high: str, steps: int,
    at: str, electrolyte: str, temperature: str, known: tuple[str, ...], run: str, fit: bool, no_ranking: bool,
    profile: bool, draws: int | None, workers: int, seed: int, figures: str, bench: str, as_json: bool,
) -> None:  # fmt: skip
    """Predict what a change would do, or a cathode, a cell, a discharge from numbers. Nothing here is measured.

    ITEM is an electrode or a mix of the bench. INPUT.toml holds one key for each number, its unit
    in the key (thickness_m = 4e-4); - reads standard input; two numbers in a list are a band.
    """
    if source and what not in _KINDS:
        raise click.UsageError(f"{what!r} is none of {', '.join(_KINDS)}.")
    if what in _KINDS and not source and not (changes or vary):
        raise click.UsageError(f"simulate {what} needs INPUT.toml, or - for standard input.")
    if fit and (source or changes or vary):
        raise click.UsageError(
            "--fit stands alone: it asks what a run tells, not what a change does."
        )
    if fit:
        found, text = _fit(what, bench, run, electrolyte, temperature, known, seed)
    elif source:
        found, text = _from_numbers(
            what, source, bench, electrolyte, temperature, known, profile, draws, workers, seed
        )
    else:
        from aerode.usecases.simulate_change import ChangeQuestion

        question = ChangeQuestion(
            changes=changes, vary=vary, low=low, high=high, steps=steps, at=at,
            electrolyte=electrolyte, temperature=temperature, known=known, run=run,
            draws=2000 if draws is None else draws, seed=seed, rank=not no_ranking,
        )  # fmt: skip
        found, text = _from_bench(what, bench, question)
    if figures:
        text.append(_write_figures(found.figures, figures))
    print_answer(found, text, as_json=as_json)


def _from_bench(name: str, bench: str, question: ChangeQuestion) -> tuple[Any, list[str]]:
    from aerode.cli.console import progress
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.simulate_bench import item_of
    from aerode.usecases.simulate_change import simulate_change
    from aerode.usecases.simulate_patience import change_curves

    settings = question.steps if question.vary else 0
    with BenchFile.open(bench, read_only=True) as store:
        item_of(
            store, name, electrolyte=question.electrolyte, temperature=question.temperature,
            known=question.known,
        )  # a slip is told before anything takes its time  # fmt: skip
        _warn_of_waiting(change_curves(question.draws, settings, rank=question.rank))
        with progress("draws") as step:
            found = simulate_change(store, name, question, step=step)
    return found, _change_text(found)


def _fit(
    name: str, bench: str, run: str, electrolyte: str, temperature: str, known: tuple[str, ...], seed: int
) -> tuple[Any, list[str]]:  # fmt: skip
    from aerode.cli.console import progress
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.simulate_bench import item_of
    from aerode.usecases.simulate_fit import run_for_fit, simulate_fit
    from aerode.usecases.simulate_patience import fit_curves

    with BenchFile.open(bench, read_only=True) as store:
        item = item_of(store, name, electrolyte=electrolyte, temperature=temperature, known=known)
        run_for_fit(store, item, run)  # a slip is told before anything takes its time
        _warn_of_waiting(fit_curves())
        with progress("fit") as step:
            found = simulate_fit(
                store, name, run=run, electrolyte=electrolyte, temperature=temperature,
                known=known, seed=seed, step=step,
            )  # fmt: skip
    return found, _fit_text(found)


def _warn_of_waiting(curves: int) -> None:
    """Say before the work starts how long it takes without the fast solver; on standard error."""
    from time import perf_counter

    from aerode.usecases.simulate_patience import patience

    _make_ready()
    for line in lines(patience(curves, perf_counter)):
        click.echo(line, err=True)


def _make_ready() -> None:
    """Translate the solver where nobody did yet, with a bar that counts its parts."""
    from time import sleep

    from aerode.cli.console import progress
    from aerode.usecases.simulate_ready import GettingReady

    work = GettingReady()
    work.start()
    try:
        with progress("solver") as step:
            while (standing := work.standing()) is not None:
                step(
                    f"solver, once: part {standing.done + 1} of {standing.of}",
                    standing.done / standing.of,
                )
                sleep(_LOOK)
    finally:
        work.stop()


def _fit_text(found: PorousFit) -> list[str]:
    text = [found.headline]
    if found.reason is not None:
        return text + _folded("Why: ", found.reason, most=4)
    kept = [row for row in found.parameters if row.kept_prior]
    text += [
        f"  {row.name:<20}{_band(row.estimate, 1.0)} {row.estimate.unit}; "
        f"{100 * row.width_ratio:.0f} % of the width before"
        for row in found.parameters
        if not row.kept_prior
    ]
    names = ", ".join(row.name for row in kept)
    text += _folded("  not told, as assumed: ", names, most=3)
    split = ", ".join(f"{name} {_band(one, 1e3)}" for name, one in found.losses_V.items())
    text += _folded(
        f"  predicted losses at {found.losses_at_mA_cm2:.3g} mA/cm², mV: ", split, most=3
    )
    text.append(
        f"  foretelling left-out loads: porous less curve {found.score_difference:+.2f} "
        f"± {found.score_difference_uncertainty:.2f}"
    )
    for warning in found.warnings[: max(0, _MOST_LINES - len(text))]:
        text += _folded("Mind: ", warning, most=1)
    return text


def _change_text(found: Simulation) -> list[str]:
    text = [found.headline]
    if found.sweep and not found.understood[0].split(":")[0].count(" "):
        text.append(f"  {'setting':<22}change of loss, mV        current at same loss")
        for k in _sampled(len(found.sweep), 6):
            point = found.sweep[k]
            text.append(
                f"  {point.text:<22}{_band(point.change_V, 1e3):<26}{_band(point.ratio, 1.0)}"
            )
    else:
        text.append(
            f"  as it is {_band(found.loss_before_V, 1.0)} V, after {_band(found.loss_after_V, 1.0)} V"
        )
        text.append(
            f"  current at this loss times {_band(found.ratio, 1.0)}; "
            f"a gain in {100 * found.helps:.0f} % of draws"
        )
        if found.losses_before_V:
            moved = ", ".join(
                f"{name} {1e3 * v:.3g} → {_cell_of(found.losses_after_V.get(name), 1e3, '.3g')}"
                for name, v in found.losses_before_V.items()
            )
            text += _folded("  its parts on the draws in the middle, mV: ", moved)
    fitted = f"fitted to {found.calibrated_by}" if found.calibrated_by else "not fitted to any run"
    text.append(f"  {found.draws:,} draws, the same before and after; {fitted}")
    if found.ranking:
        led = [one for one in found.ranking if one.total_share > 0.02][:3]
        said = ", ".join(f"{one.name} {min(100.0, 100 * one.total_share):.0f} %" for one in led)
        text += _folded("  The band comes from: ", said)
    elif found.ranking_note:
        text += _folded("  ", found.ranking_note)
    for line in found.understood[:2]:
        text += _folded("  Read as: ", line)
    said = [("  Read as: ", line) for line in found.understood[2:]]
    for head, line in (*said, *(("Mind: ", warning) for warning in found.warnings)):
        folded = _folded(head, line)
        if len(text) + len(folded) <= _MOST_LINES:
            text += folded
    return text


def _band(one: Estimate, factor: float) -> str:
    if one.value is None or one.interval_95 is None:
        return (one.reason or "not told").split(":")[0]
    low, high = one.interval_95
    return f"{factor * one.value:.3g} [{factor * low:.3g}, {factor * high:.3g}]"


def _from_numbers(
    what: str, source: str, bench: str, electrolyte: str, temperature: str, known: tuple[str, ...],
    profile: bool, draws: int | None, workers: int, seed: int,
) -> tuple[Any, list[str]]:  # fmt: skip
    from aerode.cli.console import progress

    text, name = _read(source)
    if what == "cathode":
        from aerode.usecases.simulate_cathode import named_item, simulate_cathode

        item, recipe = named_item(text, name=name), None
        if item:
            from aerode.store.bench_file import BenchFile
            from aerode.usecases.simulate_bench import item_of, recipe_of

            with BenchFile.open(bench, read_only=True) as store:
                found = item_of(
                    store, item, electrolyte=electrolyte, temperature=temperature, known=known
                )
            recipe = recipe_of(found.layer)
        with progress("curves") as step:
            curve = simulate_cathode(
                text, with_profiles=profile, draws=draws, seed=seed, workers=workers, name=name,
                step=step,
                recipe=recipe,
            )  # fmt: skip
        return curve, _cathode_text(curve)
    if what == "cell":
        from aerode.usecases.simulate_cell import simulate_cell

        cell = simulate_cell(text, name=name)
        return cell, _cell_text(cell)
    from aerode.usecases.simulate_discharge import simulate_discharge

    run = simulate_discharge(text, name=name)
    return run, _discharge_text(run)


def _read(source: str) -> tuple[str, str]:
    from pathlib import Path

    from aerode.errors import InputError

    if source == "-":
        return sys.stdin.read(), "standard input"
    try:
        return Path(source).read_text("utf-8"), Path(source).name
    except (OSError, UnicodeDecodeError) as problem:
        raise InputError(
            f"cannot be read: {problem}", where=source, allowed="a text file, or -",
            next_step="look at the name; - reads standard input",
        ) from problem  # fmt: skip


def _write_figures(drawn: tuple[Figure, ...], place: str) -> str:
    from aerode.devices.files import make_folder, write_text
    from aerode.report.page import standalone_svg

    folder = make_folder(place)
    for figure in drawn:
        write_text(folder / f"{figure.name}.svg", standalone_svg(figure))
    return f"Figures: {len(drawn)} in {folder}"


def _folded(head: str, body: str, most: int = 2) -> list[str]:
    # a number and its per cent sign stay on one line
    folded = lines(body.replace(" %", "\u00a0%"), width=_WIDTH - len(head))[:most]
    told = [line.replace("\u00a0", " ") for line in folded]
    return [(head if k == 0 else " " * len(head)) + line for k, line in enumerate(told)]


def _sampled(count: int, room: int) -> list[int]:
    """Which of many rows are printed: all, or some evenly spread with both ends."""
    if count <= room:
        return list(range(count))
    return sorted({round(k * (count - 1) / (room - 1)) for k in range(room)})


def _cell_of(value: float | None, factor: float, form: str) -> str:
    return "-" if value is None else format(factor * value, form)


def _cathode_text(found: CathodeSimulation) -> list[str]:
    text = [found.headline]
    text.append("  mA/cm²      loss V  = kinetic + oxygen + ionic + electronic (mV)   95 % band V")
    parts, bands = found.loss_V, {b.current_density_A_m2: b for b in found.bands}
    count = len(found.current_density_A_m2)
    for k in _sampled(count, 8):
        current = found.current_density_A_m2[k]
        band = None if current is None else bands.get(current)
        row = f"  {_cell_of(current, 0.1, '<10.4g')}  {_cell_of(found.cathode_loss_V[k], 1.0, '<7.4f')}"
        if found.reasons[k] is not None:
            text.append(f"{row} {(found.reasons[k] or '').split(';')[0]}"[:_WIDTH])
            continue
        row += "".join(
            f" {_cell_of(part[k], 1e3, '>9.1f')}"
            for part in (parts.kinetic, parts.oxygen, parts.ionic, parts.electronic)
        )
        if band is not None and band.low_V is not None and band.high_V is not None:
            row += f"   {band.low_V:.3f} to {band.high_V:.3f}"
        text.append(row)
    limit = found.limiting_current_A_m2
    text.append(f"  oxygen limit {'none' if limit is None else f'{0.1 * limit:.4g} mA/cm²'}"
                + (f"; {found.draws:,} draws" if found.draws else ""))  # fmt: skip
    for warning in found.warnings[: max(0, _MOST_LINES - len(text))]:
        text += _folded("Mind: ", warning, most=1)
    return text


def _cell_text(found: CellSimulation) -> list[str]:
    text = [found.headline, "  mA/cm²      voltage V   mW/cm²   gap mV  contacts mV"]
    for k in _sampled(len(found.current_density_A_m2), 8):
        row = f"  {_cell_of(found.current_density_A_m2[k], 0.1, '<10.4g')}  "
        if found.reasons[k] is not None:
            text.append(f"{row}{(found.reasons[k] or '').split(';')[0]}"[:_WIDTH])
            continue
        row += f"{_cell_of(found.voltage_V[k], 1.0, '<10.4f')}  {_cell_of(found.power_density_W_m2[k], 0.1, '<7.3g')}"
        row += f"  {_cell_of(found.gap_V[k], 1e3, '<6.1f')}  {_cell_of(found.contacts_V[k], 1e3, '<6.1f')}"
        text.append(row)
    for warning in found.warnings[: max(0, _MOST_LINES - len(text))]:
        text += _folded("Mind: ", warning, most=1)
    return text


def _discharge_text(found: DischargeSimulation) -> list[str]:
    text = [found.headline, "  hours     V        mA       Ah       water    gel %   H2 mol"]
    first = found.water_mol[0]
    text += [
        f"  {found.time_s[k] / 3600.0:<8.4g}  {found.voltage_V[k]:<7.4f}  "
        f"{1e3 * found.current_A[k]:<7.4g}  {found.charge_C[k] / 3600.0:<7.4g}  "
        f"{100 * found.water_mol[k] / first:<5.3g} %  {100 * found.solids_share[k]:<5.3g}   "
        f"{found.hydrogen_made_mol[k]:.3g}"
        for k in _sampled(len(found.time_s), 6)
    ]
    for warning in found.warnings[: max(0, _MOST_LINES - len(text))]:
        text += _folded("Mind: ", warning, most=2)
    return text
