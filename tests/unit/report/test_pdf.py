"""The PDF of a report: tagged, titled, with a text for every figure, the same bytes each time."""

from __future__ import annotations

import re
import zlib
from dataclasses import replace

import pytest

from aerode.errors import MissingExtraError
from aerode.quantities import Basis
from aerode.records.cautions import Caution, CautionLevel, CautionSheet
from aerode.records.comparisons import Comparison, Verdict
from aerode.records.figures import Axis, Dash, Figure, Mark, Scale, Series, Stretch
from aerode.records.reports import Report, Section, SourceLine, Table
from aerode.records.results import Estimate
from aerode.report import pdf as printing
from aerode.report.pdf import figure_style, pdf
from aerode.report.tokens import TONES_LIGHT

FIGURE = Figure(
    name="curves",
    title="Two curves",
    x=Axis(title="Current density", unit="mA/cm²"),
    y=Axis(title="Voltage", unit="V", scale=Scale.LINEAR),
    series=(
        Series(label="T1", x=(0.0, 1.0), y=(0.7, 0.5), dash=Dash.SOLID, mark=Mark.CIRCLE),
        Series(
            label="guess",
            x=(0.0, 1.0),
            y=(0.8, 0.6),
            dash=Dash.SOLID,
            tone=3,
            basis=Basis.PREDICTED,
        ),
    ),
    stretches=(Stretch(along="y", low=0.45, high=0.45, label="compared here"),),
    caption="Invented for this test.",
    alt="Voltage falls as the current rises.",
)
_NOTHING = Estimate(value=None, unit="%")
REPORT = Report(
    title="A bench: which is better",
    bench="A bench",
    sentence="It is not shown that wax changes the current density.",
    lead_figure=FIGURE,
    lead_lines=("Next: build two more.",),
    sections=(
        Section(
            name="verdicts",
            title="What is shown and what is not",
            sentence="Margin: 1.1.",
            figures=(FIGURE,),
            tables=(Table(caption="Pairs", columns=("pair", "ratio"), rows=(("a / b", "1.02"),), numbers=(1,)),),
        ),
        Section(name="cautions", title="Cautions"),
    ),
    cautions=(
        CautionSheet(
            headline="One thing",
            about=("m",),
            cautions=(
                Caution(key="k", level=CautionLevel.FIRST, hazard="vapour", headline="it burns", do="Air the room.", source=("a sheet [s]",)),
            ),
        ),
    ),
    comparison=Comparison(
        headline="Not shown.", question="which", response="current density", at=0.45, at_unit="V",
        value_unit="mA/cm^2", margin=1.1, verdict=Verdict.NOT_SHOWN, pieces=(), build_spread=_NOTHING,
        drift_per_run=_NOTHING, control_ageing=_NOTHING,
    ),
    sources=(SourceLine(key="s", reference="a sheet", unverified=True),),
    made="2026-05-09",
    version="0",
    data_digest="0" * 64,
)  # fmt: skip


def _streams(data: bytes) -> bytes:
    """All that stands in the file, with compressed streams opened."""
    opened = [data]
    for found in re.finditer(rb"stream\r?\n(.*?)\r?\nendstream", data, re.DOTALL):
        try:
            opened.append(zlib.decompress(found[1]))
        except zlib.error:
            continue
    return b"\n".join(opened)


def test_it_declares_what_a_screen_reader_needs() -> None:
    """ISO 14289-1 (PDF/UA-1): tagged, language, title shown, part 1 named in the metadata, a text for each figure."""
    whole = _streams(pdf(REPORT))

    assert b"/MarkInfo" in whole
    assert re.search(rb"/Marked\s+true", whole)
    assert b"/StructTreeRoot" in whole
    assert re.search(rb"/Lang\s*\(en", whole)
    assert re.search(rb"/DisplayDocTitle\s+true", whole)
    assert b"<pdfuaid:part>1</pdfuaid:part>" in whole
    assert b"/Alt" in whole
    assert re.search(rb"/S\s*/TH\b", whole)
    assert re.search(rb"/S\s*/H1\b", whole)


def test_equal_records_give_equal_bytes() -> None:
    """No clock and no dice; another word gives another file."""
    assert pdf(REPORT) == pdf(REPORT)
    assert pdf(REPORT) != pdf(replace(REPORT, sentence="Another verdict."))


def test_texts_are_never_read_as_marks() -> None:
    """What a person typed stays what it is, whatever the typesetter would make of it."""
    odd = "#panic() *x* _y_ $z$ [a] <b> \\ @c `d` ~ https://e //"
    pdf(replace(REPORT, sentence=odd, title=odd, bench=odd, lead_lines=(odd,)))


def test_the_style_of_figures_is_plain() -> None:
    """No custom property is left; every tone has its own rule for lines and marks."""
    style = figure_style()

    assert "var(" not in style
    for k, tone in enumerate(TONES_LIGHT):
        assert f".figure .line.t{k}{{fill: none; stroke: {tone}" in style.replace("{ ", "{")


def test_without_the_typesetter_it_says_what_to_type(monkeypatch: pytest.MonkeyPatch) -> None:
    """The refusal holds the line."""
    monkeypatch.setattr(printing, "can_make_pdf", lambda: False)

    with pytest.raises(MissingExtraError, match=r"aerode\[pdf\]"):
        pdf(REPORT)
