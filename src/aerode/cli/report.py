"""`aerode report`: one self-contained HTML page with everything that a claim rests on."""

from __future__ import annotations

import click

from aerode.cli.console import bench_option, json_option, print_answer

__all__ = ["command"]


@click.command(
    "report", epilog='Example:  aerode report T1 T2 T3 --at "0.45 V" --by binder --to report.html'
)
@click.argument("electrodes", nargs=-1)
@click.option("--at", default="", help='Where: "0.45 V" or "2 mA/cm^2"; else as the claim says.')
@click.option("--by", default="", help="A factor whose effect is asked for.")
@click.option("--claim", default="", help="A claim of the bench, written down before the result.")
@click.option(
    "--same",
    multiple=True,
    metavar="WHAT",
    help='A condition that was the same for all, or "rest". Repeat it.',
)
@click.option("--room", default="", help="The room, for the cautions.")
@click.option(
    "--to",
    "place",
    default="report.html",
    show_default=True,
    metavar="FILE",
    help="The page that is written.",
)
@click.option(
    "--figures", default="", metavar="FOLDER", help="Also write every figure as an SVG file."
)
@click.option(
    "--pdf",
    "as_pdf",
    is_flag=True,
    help="Also write it as a PDF beside the page; needs aerode[pdf].",
)
@bench_option
@json_option
def command(electrodes: tuple[str, ...], at: str, by: str, claim: str, room: str, same: tuple[str, ...], place: str, figures: str,
            as_pdf: bool, bench: str, as_json: bool) -> None:  # fmt: skip
    """Write the one-page report of a comparison: verdict, why, curves, leaks, cautions, conditions, data."""
    from pathlib import Path

    from aerode.cli.console import progress
    from aerode.devices.files import make_folder, write_bytes, write_text
    from aerode.measure.telling import given_word
    from aerode.report.page import html, standalone_svg
    from aerode.report.pdf import need_typesetter, pdf
    from aerode.store.bench_file import BenchFile, now
    from aerode.usecases.report import compare_and_report

    if as_pdf:
        need_typesetter()
    with progress("report") as step, BenchFile.open(bench, read_only=True) as store:
        page = compare_and_report(
            store,
            electrodes,
            at=at,
            by=by,
            claim=claim,
            room=room,
            same=same,
            moment=now(),
            step=step,
        )
    written = write_text(place, html(page))
    word = given_word(page.comparison)
    text = [page.sentence, *([word] if word else []), f"Report: {written}"]
    if as_pdf:
        text.append(f"PDF: {write_bytes(Path(place).with_suffix('.pdf'), pdf(page))}")
    if figures:
        folder = make_folder(figures)
        drawn = [page.lead_figure, *(f for section in page.sections for f in section.figures)]
        for figure in drawn:
            write_text(folder / f"{figure.name}.svg", standalone_svg(figure))
        text.append(f"Figures: {len(drawn)} in {folder}")
    print_answer(page, text, as_json=as_json)
