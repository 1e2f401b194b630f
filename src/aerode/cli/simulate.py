"""`aerode simulate`: what a change to an electrode would do, and cathodes, cells and discharges from numbers."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import click

from aerode.cli.console import bench_option, json_option, lines, print_answer

if TYPE_CHECKING:
    from aerode.records.figures import Figure
    from aerode.records.simulations import (
        CathodeSimulation,
        CellSimulation,
        DischargeSimulation,
    )

__all__ = ["command"]

_WIDTH = 80
_MOST_LINES = 12
_KINDS = ("cathode", "cell", "discharge")


@click.command(
    "simulate",
    epilog="""Examples:

  aerode simulate cathode numbers.toml --json

  aerode simulate discharge cell.toml --figures out""",
)
@click.argument("what", metavar="cathode|cell|discharge")
@click.argument("source", metavar="[INPUT.toml]", required=False, default="")
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
    what: str, source: str, profile: bool, draws: int | None, workers: int, seed: int, figures: str,
    bench: str, as_json: bool,
) -> None:  # fmt: skip
    """Predict a cathode, a cell or a discharge from numbers. Nothing here is measured.

    INPUT.toml holds one key for each number, its unit in the key (thickness_m = 4e-4); - reads
    standard input. Two numbers in a list are a band: [100, 10000].
    """
    if what not in _KINDS:
        raise click.UsageError(f"{what!r} is none of {', '.join(_KINDS)}.")
    if not source:
        raise click.UsageError(f"simulate {what} needs INPUT.toml, or - for standard input.")
    found, text = _from_numbers(what, source, profile, draws, workers, seed)
    if figures:
        text.append(_write_figures(found.figures, figures))
    print_answer(found, text, as_json=as_json)


def _from_numbers(
    what: str, source: str, profile: bool, draws: int | None, workers: int, seed: int
) -> tuple[Any, list[str]]:
    from aerode.cli.console import progress

    text, name = _read(source)
    if what == "cathode":
        from aerode.usecases.simulate_cathode import simulate_cathode

        with progress("curves") as step:
            curve = simulate_cathode(
                text, with_profiles=profile, draws=draws, seed=seed, workers=workers, name=name,
                step=step,
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
    folded = lines(body, width=_WIDTH - len(head))[:most]
    return [(head if k == 0 else " " * len(head)) + line for k, line in enumerate(folded)]


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
    for k in _sampled(len(found.time_s), 6):
        text.append(
            f"  {found.time_s[k] / 3600.0:<8.4g}  {found.voltage_V[k]:<7.4f}  "
            f"{1e3 * found.current_A[k]:<7.4g}  {found.charge_C[k] / 3600.0:<7.4g}  "
            f"{100 * found.water_mol[k] / first:<5.3g} %  {100 * found.solids_share[k]:<5.3g}   "
            f"{found.hydrogen_made_mol[k]:.3g}"
        )
    for warning in found.warnings[: max(0, _MOST_LINES - len(text))]:
        text += _folded("Mind: ", warning, most=2)
    return text
