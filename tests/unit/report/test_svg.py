"""Figures as SVG: everything placed inside, nothing styled inline, words for those who cannot see."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from aerode.errors import InputError
from aerode.quantities import Basis
from aerode.records.figures import Axis, Dash, Figure, Mark, Scale, Series, Stretch
from aerode.report.figure_table import data_table
from aerode.report.label_places import crosses
from aerode.report.page import standalone_svg
from aerode.report.scales import place_axis, tick_text
from aerode.report.svg import draw

SVG = "{http://www.w3.org/2000/svg}"


def _figure(**changes: object) -> Figure:
    series = Series(
        label="run 1",
        x=(1.0, 2.0, 3.0),
        y=(0.6, 0.5, 0.35),
        y_low=(0.59, 0.49, 0.33),
        y_high=(0.61, 0.51, 0.37),
        mark=Mark.CIRCLE,
        dash=Dash.SOLID,
    )
    settings: dict[str, object] = {
        "name": "curve",
        "title": "A curve <of> T1 & T2",
        "x": Axis(title="Current density", unit="mA/cm²"),
        "y": Axis(title="Voltage", unit="V"),
        "series": (series,),
        "alt": "Voltage falls from 0.6 to 0.35 V.",
    }
    return Figure(**{**settings, **changes})  # pyright: ignore[reportArgumentType]


def _numbers_of_paths(svg: str) -> list[float]:
    tree = ET.fromstring(svg)
    marks = [p.get("d", "") for p in tree.iter(f"{SVG}path") if "mark" in p.get("class", "")]
    return [float(re.match(r"M(-?[\d.]+)", d)[1]) for d in marks]  # pyright: ignore[reportOptionalSubscript]


@pytest.mark.parametrize("width", [328, 720])
def test_it_is_well_formed_and_inside(width: int) -> None:
    """The SVG parses, texts are escaped, and every mark lies inside the plane."""
    svg = draw(_figure(), width=width)
    tree = ET.fromstring(svg)

    assert tree.find(f"{SVG}title").text == "A curve <of> T1 & T2"  # pyright: ignore[reportOptionalMemberAccess]
    assert tree.find(f"{SVG}desc").text == "Voltage falls from 0.6 to 0.35 V."  # pyright: ignore[reportOptionalMemberAccess]
    assert all(0 <= x <= width for x in _numbers_of_paths(svg))


def test_nothing_is_styled_inline() -> None:
    """A strict style policy can hold: no style attribute, no script, no outside address."""
    svg = draw(_figure(), width=720)

    assert "style=" not in svg
    assert "script" not in svg
    assert not re.search(r'(href|src)="http', svg)


def test_axes_carry_title_and_unit() -> None:
    """Both axes say what they show and in which unit."""
    svg = draw(_figure(), width=720)

    assert "Current density [mA/cm²]" in svg
    assert "Voltage [V]" in svg


def test_predicted_never_looks_like_measured() -> None:
    """A predicted series is drawn hollow and dashed, and the legend names it."""
    predicted = Series(
        label="predicted",
        x=(1.0, 2.0),
        y=(0.5, 0.4),
        mark=Mark.CIRCLE,
        dash=Dash.SOLID,
        basis=Basis.PREDICTED,
    )
    svg = draw(_figure(series=(_figure().series[0], predicted)), width=720)

    assert "predicted" in svg
    assert 'class="mark t0 hollow"' in svg


def test_unknown_span_is_hatched() -> None:
    """A span in which something happened at an unknown time is hatched."""
    svg = draw(
        _figure(stretches=(Stretch(along="x", low=1.5, high=2.5, label="", hatched=True),)),
        width=720,
    )

    assert 'fill="url(#curve-720-hatch)"' in svg


def test_names_are_read_from_the_top() -> None:
    """On an axis of names the first name stands highest."""
    rows = Series(label="a", x=(1.0, 2.0), y=(0.0, 1.0), mark=Mark.CIRCLE)
    svg = draw(
        _figure(y=Axis(title="", scale=Scale.NAMES, names=("first", "second")), series=(rows,)),
        width=400,
    )
    heights = {t.text: float(t.get("y", "0")) for t in ET.fromstring(svg).iter(f"{SVG}text")}

    assert heights["first"] < heights["second"]


def test_a_log_axis_refuses_nothing_positive() -> None:
    """A logarithmic axis without positive values is refused with the axis named."""
    with pytest.raises(InputError, match="Current density"):
        draw(
            _figure(
                x=Axis(title="Current density", scale=Scale.LOG),
                series=(Series(label="", x=(-1.0,), y=(1.0,)),),
            )
        )


@pytest.mark.parametrize(
    ("low", "high", "scale"),
    [
        (0.0, 1.0, Scale.LINEAR),
        (0.69, 1.22, Scale.LOG),
        (1e-3, 50.0, Scale.LOG),
        (-7.0, -6.9, Scale.LINEAR),
        (3.0, 3.0, Scale.LINEAR),
    ],
)
def test_ticks_stand_on_the_axis(low: float, high: float, scale: Scale) -> None:
    """At least two ticks, all on the axis, all with different words."""
    placed = place_axis(Axis(title="x", scale=scale), (low, high), 0.0, 500.0, room_per_tick=70.0)
    words = [tick_text(placed, t) for t in placed.ticks]

    assert len(placed.ticks) >= 2
    assert all(placed.low - 1e-9 <= t <= placed.high + 1e-9 for t in placed.ticks)
    assert len(set(words)) == len(words)


def test_the_table_holds_every_point() -> None:
    """The numbers behind the figure are all in its table."""
    table = data_table(_figure())

    assert [row[1:3] for row in table.rows] == [("1", "0.6"), ("2", "0.5"), ("3", "0.35")]
    assert table.rows[0][3] == "0.59 to 0.61"


def test_a_file_of_its_own_carries_its_colours() -> None:
    """The downloaded SVG defines the tokens it uses."""
    svg = standalone_svg(_figure())

    for token in set(re.findall(r"var\(--([a-z0-9-]+)\)", svg)):
        assert f"--{token}:" in svg


def _texts(svg: str, sort: str) -> list[tuple[float, float, str]]:
    found = ET.fromstring(svg).iter(f"{SVG}text")
    return [
        (float(t.get("x", "")), float(t.get("y", "")), t.text or "")
        for t in found
        if sort in t.get("class", "")
    ]


def test_a_long_pair_takes_two_lines_on_a_phone_and_one_on_a_desk() -> None:
    """The plane keeps more than half of a phone, and no name is lost."""
    pairs = ("b10 m0 100C / b20 m16 100C", "b10 m16 70C / b20 m0 70C")
    figure = _figure(
        x=Axis(title="Ratio", scale=Scale.LOG),
        y=Axis(title="", scale=Scale.NAMES, names=pairs),
        series=(Series(label="ratio", x=(0.8, 1.9), y=(0.0, 1.0), mark=Mark.CIRCLE),),
    )
    desk = [words for _, _, words in _texts(draw(figure, width=720), "tick")]
    narrow = _texts(draw(figure, width=340), "tick")

    assert desk[:2] == list(pairs)
    assert [w.strip() for _, _, w in narrow[:4]] == [
        "b10 m0 100C /", "b20 m16 100C", "b10 m16 70C /", "b20 m0 70C",
    ]  # fmt: skip
    assert narrow[0][0] < 0.45 * 340
    assert narrow[1][1] - narrow[0][1] >= 13.0  # the text size: lines do not cover one another


def test_names_of_curves_that_end_near_each_other_stand_in_one_column() -> None:
    """No name stands on the marks of a curve that goes a little farther."""
    ends = ((1.0, 3.7), (1.0, 4.0))
    curves = tuple(
        Series(
            label=f"T{k}",
            x=x,
            y=(0.6, 0.3 + 0.01 * k),
            mark=Mark.CIRCLE,
            point_labels=("", f"T{k}"),
        )
        for k, x in enumerate(ends)
    )
    labels = _texts(draw(_figure(series=curves), width=340), "point-label")

    assert [words for *_, words in labels] == ["T0", "T1"]
    assert labels[0][0] == labels[1][0]


def test_a_lone_ring_has_a_key_and_a_lone_dot_needs_none() -> None:
    """A hollow mark is a sign of its own: it is told what it stands for."""
    ring = Series(label="seen dry", x=(1.0, 2.0), y=(0.5, 0.5), mark=Mark.RING)

    assert "seen dry" in [w for *_, w in _texts(draw(_figure(series=(ring,))), "legend")]
    assert _texts(draw(_figure()), "legend") == []


def test_the_table_begins_with_what_tells_its_rows_apart() -> None:
    """Names on the axis come first; what all rows share stands once, in the caption."""
    pair = Series(label="ratio with its 95 % interval", x=(1.1, 1.3), y=(0.0, 1.0), x_low=(1.0, 1.2), x_high=(1.2, 1.4))  # fmt: skip
    names = Axis(title="", scale=Scale.NAMES, names=("T1 / T2", "T1 / T3"))
    figure = Figure(name="f", title="Which differ", x=Axis(title="Ratio"), y=names, series=(pair,), caption="", alt="")  # fmt: skip
    table = data_table(figure)

    assert table.columns == ("name", "Ratio", "from, to")
    assert table.rows[0] == ("T1 / T2", "1.1", "1 to 1.2")
    assert table.caption == "Which differ: ratio with its 95 % interval"


def test_units_in_a_drawing_are_printed_ones() -> None:
    """A change that was typed as "+200 um" stands in the legend as µm."""
    change = Series(label="+200 um", x=(1.0, 2.0), y=(1.0, 2.0), dash=Dash.DASHED)
    plain = Series(label="as it is", x=(1.0, 2.0), y=(1.1, 2.1), dash=Dash.SOLID, tone=1)
    figure = Figure(name="f", title="What if", x=Axis(title="j", unit="mA/cm^2"), y=Axis(title="V"), series=(change, plain), caption="", alt="")  # fmt: skip
    svg = draw(figure, width=720)

    assert "+200 µm" in svg
    assert "mA/cm²" in svg


def _label(drawn: str, words: str) -> tuple[float, float, str]:
    found = re.search(rf'<text class="stretch-label" x="([\d.]+)" y="([\d.]+)" text-anchor="(\w+)">{words}<', drawn)  # fmt: skip
    assert found
    return float(found[1]), float(found[2]), found[3]


def test_nothing_runs_through_the_label_of_a_stretch() -> None:
    """A bar at the right end, a line along the stretch, a stretch at the top: the label stands where it can be read."""
    line = Stretch(along="y", low=1.3, high=1.3, label="no load")
    y = Axis(title="Voltage", unit="V")
    x = Axis(title="Current", unit="mA", low=0.0)
    bar = Series(label="expected", x=(10.0,), y=(1.2,), y_low=(1.0,), y_high=(1.45,), mark=Mark.RING)  # fmt: skip
    near = Series(label="read", x=(0.5, 10.0), y=(1.29, 1.33), mark=Mark.CIRCLE, dash=Dash.SOLID)
    for series in ((bar,), (near,), (bar, near)):
        figure = Figure(name="f", title="t", x=x, y=y, series=series, stretches=(line,), alt="a")
        drawn = draw(figure, width=320)
        at, level, anchor = _label(drawn, "no load")
        wide = 7 * 6.4
        start = at - {"end": wide, "start": 0.0, "middle": wide / 2}[anchor]
        box = (start, level - 9.0, start + wide, level + 2.0)
        pieces = [
            tuple(float(n) for n in re.findall(r"-?[\d.]+", path))
            for path in re.findall(r'class="line [^"]*" d="([^"]+)"', drawn)
        ]
        assert not any(crosses(box, p) for p in pieces if len(p) == 4)
        for px, low, high in re.findall(r'class="bar [^"]*" d="M([\d.]+) ([\d.]+)V([\d.]+)', drawn):
            assert not crosses(box, (float(px), float(high), float(px), float(low)))
