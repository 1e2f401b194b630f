"""What a report tells once: cautions that differ only in their figure, sources, columns of one value."""

from __future__ import annotations

from dataclasses import replace

from aerode.records.cautions import Caution, CautionLevel, CautionSheet
from aerode.records.reports import Table
from aerode.report.printed import dated, tied
from aerode.report.told_cautions import (
    adds_to_headline,
    figure_beside,
    more_to_do,
    told_cautions,
)
from aerode.usecases.report_tables import without_the_same


def _caution(headline: str, figure: str, *, level: CautionLevel = CautionLevel.NOTE, do: str = "Air it.") -> Caution:  # fmt: skip
    return Caution(
        key=headline, level=level, hazard="vapour breathed", headline=headline, figure=figure,
        source=("A table [table]",), do=do,
    )  # fmt: skip


def test_cautions_of_several_mixes_are_told_once_with_every_figure() -> None:
    """Two mixes, one act, one source: one caution with both figures; another act stands by itself."""
    sheets = (
        CautionSheet(headline="", about=("a",), cautions=(_caution("0.3 ppm", "0.3 ppm of 1000"),)),
        CautionSheet(
            headline="",
            about=("b",),
            cautions=(
                _caution("0.4 ppm", "0.4 ppm; 1 % of the other limit"),
                _caution("a flame", "", level=CautionLevel.FIRST, do="Put it out."),
            ),
        ),
    )
    told = told_cautions(sheets)

    assert [one.caution.headline for one in told] == ["a flame", "0.3 ppm"]
    assert [other.headline for other in told[1].also] == ["0.4 ppm"]
    assert not adds_to_headline(told[1].caution)
    assert adds_to_headline(told[1].also[0])


def test_cautions_that_differ_in_a_figure_of_what_to_do_are_told_once() -> None:
    """The same first act: the first at full length, of the others what they say beyond it."""
    first, second, third = (
        CautionSheet(headline="", about=(name,), cautions=(replace(_caution(
            f"{amount} g: 20 ppm", f"20 ppm from {amount} g; {amount} % of the flammable limit",
            level=CautionLevel.FIRST, do=f"Work outdoors. Air: {amount} m³/h. No mask.",
        ), further=f"The room: length. Over 8 h {amount} L."),))
        for name, amount in (("a", 9), ("b", 18), ("c", 9))
    )  # fmt: skip
    (told,) = told_cautions((first, second, third))

    assert told.caution.headline == "9 g: 20 ppm"
    assert [more_to_do(other, told.caution) for other in told.also] == ["Air: 18 m³/h. Over 8 h 18 L.", ""]  # fmt: skip
    assert figure_beside(told.also[0]) == "18 % of the flammable limit"
    assert figure_beside(_caution("x: 30 ppm", "20 ppm; 3 %")) == "20 ppm; 3 %"
    assert figure_beside(_caution("x", "not worked out")) == "not worked out"


def test_the_pot_that_may_pass_its_limit_the_most_is_told_first() -> None:
    """16 g before 11 g, whichever mix comes first, also where their acts part them; of no known end before both."""
    pots = {"11 g": 1.3, "16 g": 2.0, "13 g": 1.6}
    for act in ("Air it.", ""):
        sheets = tuple(
            CautionSheet(headline="", about=(head,), cautions=(replace(
                _caution(head, "", level=CautionLevel.FIRST, do=act or f"{head}."), share=share,
            ),))
            for head, share in pots.items()
        )  # fmt: skip
        told = [one for group in told_cautions(sheets) for one in (group.caution, *group.also)]
        assert [one.headline for one in told] == ["16 g", "13 g", "11 g"]
    open_end = replace(_caution("9 g", "", level=CautionLevel.FIRST), key="vapour.breathed")
    first = told_cautions((*sheets, CautionSheet(headline="", about=("d",), cautions=(open_end,))))
    assert first[0].caution.headline == "9 g"


def test_another_first_act_stands_by_itself() -> None:
    """A STOP or another act is never told in the shadow of another caution."""
    sheets = tuple(
        CautionSheet(headline="", about=("a",), cautions=(_caution("h", "", level=level, do=do),))
        for level, do in (
            (CautionLevel.FIRST, "Air it."),
            (CautionLevel.STOP, "Air it."),
            (CautionLevel.FIRST, "Put it out. Air it."),
        )
    )

    assert [one.caution.level.value for one in told_cautions(sheets)] == ["STOP", "FIRST", "FIRST"]
    assert all(one.also == () for one in told_cautions(sheets))


def test_a_column_that_says_one_thing_goes_below_the_table() -> None:
    """The note names the value and who has none; columns that differ, and the first, stay."""
    table = Table(
        caption="pieces",
        columns=("electrode", "mesh", "area", "what would mend it"),
        rows=(("T1", "fly screen", "9.5", "–"), ("T2", "fly screen", "9.1", "–"), ("C0", "–", "9.2", "–")),
        numbers=(2,),
    )  # fmt: skip
    kept = without_the_same(table)

    assert kept.columns == ("electrode", "area")
    assert kept.rows[0] == ("T1", "9.5")
    assert kept.numbers == (1,)
    assert kept.note == "Mesh: fly screen for all but C0."


def test_dates_read_as_people_write_them() -> None:
    """Day, month, year; what is no date of the calendar, and a number with strokes, stays."""
    assert dated("2026-05-09").replace("\u00a0", " ") == "9 May 2026"
    assert dated("part 2026-13-40 of 1234-56-78-9") == "part 2026-13-40 of 1234-56-78-9"


def test_units_stay_with_their_numbers() -> None:
    """A line never ends between a number and its unit; a word that only begins like one is left."""
    assert tied("70 °C") == "70\u00a0°C"
    assert tied("10 minutes") == "10 minutes"
