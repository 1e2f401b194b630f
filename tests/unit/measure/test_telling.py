"""Sentences that an answer supports, and none that it does not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from aerode.measure.telling import (
    ammeter_order,
    biggest_fall,
    fair_order,
    given_word,
    plain_verdict,
    recipes_said,
    rested_on,
    rests_on,
    together_said,
    what_it_may_be_instead,
    who_leads,
    why_it_moved,
)
from aerode.records.comparisons import (
    Comparison,
    Contrast,
    Correction,
    Effect,
    Overturn,
    Piece,
    RecipeWords,
    Together,
    Verdict,
)
from aerode.records.marks import Known
from aerode.records.results import ConditionLine, Estimate, Level

NONE = Estimate(value=None, unit="", reason="not asked", identifiable=False)


def _piece(name: str, fair: float, loud: float, area: float = 1.0) -> Piece:
    return Piece(
        electrode=name,
        recipe="r",
        build=name,
        runs=(name,),
        fair=Estimate(
            value=fair,
            unit="mA/cm^2",
            standard_uncertainty=0.05,
            interval_95=(fair - 0.1, fair + 0.1),
        ),
        ammeter_mA=loud,
        corrections=(
            Correction(what="area", ratio=area, detail="own area"),
            Correction(what="lead", ratio=1.05),
        ),
        factors={},
    )


def _comparison(pieces: tuple[Piece, ...], *effects: Effect) -> Comparison:
    return Comparison(
        headline="the headline",
        question="which?",
        response="current density at 0.45 V",
        at=0.45,
        at_unit="V",
        value_unit="mA/cm^2",
        margin=1.1,
        verdict=Verdict.NOT_SHOWN,
        pieces=pieces,
        effects=effects,
        build_spread=NONE,
        drift_per_run=NONE,
        control_ageing=NONE,
    )


FLATTERED = _comparison(
    (
        _piece("A", 2.0, 60.0),
        _piece("B", 1.9, 55.0),
        _piece("C", 1.5, 90.0, area=0.7),
        _piece("D", 1.8, 50.0),
    )
)


def test_both_orders() -> None:
    """Best first, by the fair value and by the ammeter."""
    assert fair_order(FLATTERED) == ["A", "B", "D", "C"]
    assert ammeter_order(FLATTERED) == ["C", "A", "B", "D"]


def test_controls_are_not_ranked() -> None:
    """A control stands outside the ranking."""
    pieces = (*FLATTERED.pieces, replace(_piece("K", 9.0, 99.0), control=True))

    assert "K" not in fair_order(_comparison(pieces))


def test_the_flattered_one_and_its_reason() -> None:
    """The electrode that lost most places is named with the correction that stands out."""
    fall = biggest_fall(FLATTERED)

    assert fall is not None
    assert (fall.piece.electrode, fall.ammeter_place, fall.fair_place) == ("C", 1, 4)
    assert fall.because is not None
    assert fall.because.what == "area"
    assert "place 1 of 4" in fall.sentence()


def test_no_fall_no_sentence() -> None:
    """Where both orders agree, nothing is said."""
    assert biggest_fall(_comparison((_piece("A", 2.0, 60.0), _piece("B", 1.0, 30.0)))) is None


def test_what_moved_a_piece() -> None:
    """The correction that differs clearly from the others' is named with its size, else none is."""
    others = FLATTERED.pieces[:2]

    assert why_it_moved(FLATTERED.pieces[2], others) == "wetted area −30 %"
    assert why_it_moved(FLATTERED.pieces[0], others) == "as the others"


@pytest.mark.parametrize(
    ("verdict", "ratio", "says"),
    [
        (Verdict.SHOWN, 0.8, "It is shown that raising the binder from 10 to 20 lowers"),
        (Verdict.SHOWN, 1.2, "raises"),
        (Verdict.SHOWN_SMALL, 1.03, "by less than matters"),
        (Verdict.EQUIVALENT, 1.0, "no difference that matters"),
        (Verdict.NOT_SHOWN, 1.1, "It is not shown that"),
    ],
)
def test_the_verdict_in_plain_words(verdict: Verdict, ratio: float, says: str) -> None:
    """Each verdict has its own sentence, with the ratio and its interval."""
    effect = Effect(
        factor="binder", low="10", high="20", ratio=ratio, interval_95=(ratio - 0.1, ratio + 0.1),
        degrees_of_freedom=3.0, verdict=verdict, asked=True,
    )  # fmt: skip
    sentence = plain_verdict(_comparison(FLATTERED.pieces, effect))

    assert says in sentence
    assert f"{ratio:.2f} times" in sentence


def test_what_the_plan_cannot_tell_is_said() -> None:
    """The alias of the factor asked for stands beside its effect."""
    effect = Effect(
        factor="binder", low="10", high="20", ratio=0.8, interval_95=(0.7, 0.9), degrees_of_freedom=3.0,
        verdict=Verdict.SHOWN, asked=True, aliases=("cannot be told from heat and oxide acting together",),
    )  # fmt: skip

    assert what_it_may_be_instead(_comparison(FLATTERED.pieces, effect)) == (
        "Binder, or heat and oxide together: this plan cannot tell."
    )
    assert what_it_may_be_instead(FLATTERED) == ""


def test_a_verdict_that_hangs_on_one_piece_is_called_fragile() -> None:
    """Leaving out a piece that overturns the verdict is told."""
    drop = Overturn(
        input="leaving out A", contrast="x", change=None, unit="", in_uncertainties=None,
        from_verdict=Verdict.SHOWN, to_verdict=Verdict.NOT_SHOWN,
    )  # fmt: skip

    assert (
        rests_on(replace(FLATTERED, overturn=(drop,)))
        == "Fragile: without A it would no longer stand."
    )
    assert rests_on(FLATTERED) == ""


def test_what_is_not_shown_is_not_called_fragile() -> None:
    """Of a verdict that shows nothing it is said what leaving a piece out would make of it; a block says nothing."""
    drops = [
        Overturn(
            input=f"leaving out {name}", contrast="x", change=None, unit="", in_uncertainties=None,
            from_verdict=Verdict.NOT_SHOWN, to_verdict=to,
        )
        for name, to in (("A", Verdict.SHOWN), ("B", Verdict.SHOWN), ("C", Verdict.EQUIVALENT))
    ]  # fmt: skip

    assert rests_on(replace(FLATTERED, overturn=(drops[0],))) == "Without A it would be shown."
    assert rests_on(replace(FLATTERED, overturn=tuple(drops))) == (
        "Without any one of A, B it would be shown; "
        "without C it would be shown that they do not differ by what matters."
    )
    blocked = replace(drops[0], to_verdict=Verdict.BLOCKED)
    assert rests_on(replace(FLATTERED, overturn=(blocked,))) == ""


def test_a_small_end_of_the_interval_is_told() -> None:
    """A shown effect whose interval reaches into the margin may still be less than matters."""
    effect = Effect(
        factor="binder", low="10", high="20", ratio=0.8, interval_95=(0.68, 0.94), degrees_of_freedom=3.0,
        verdict=Verdict.SHOWN, asked=True,
    )  # fmt: skip

    assert "may still be less than matters" in plain_verdict(_comparison(FLATTERED.pieces, effect))


def test_without_a_factor_the_headline_stands() -> None:
    """Nothing is made up where no factor was asked for."""
    assert plain_verdict(FLATTERED) == "the headline"


def test_equivalent_is_told_with_the_interval_it_rests_on() -> None:
    """Two one-sided tests at 5 % use the 90 % interval; every other verdict the 95 % one."""
    effect = Effect(
        factor="binder", low="10 %", high="20 %", ratio=1.01, interval_95=(0.93, 1.09),
        decision_interval=(0.93, 1.09), equivalence_interval=(0.95, 1.07), degrees_of_freedom=6.0,
        asked=True, verdict=Verdict.EQUIVALENT,
    )  # fmt: skip
    said = plain_verdict(_comparison((), effect))
    assert "90 % interval 0.95 to 1.07" in said
    assert rested_on(effect) == (0.95, 1.07)
    other = replace(effect, verdict=Verdict.NOT_SHOWN)
    assert "95 % interval 0.93 to 1.09" in plain_verdict(_comparison((), other))
    assert rested_on(other) == (0.93, 1.09)


def test_pairs_of_doubts_and_recipes_are_told() -> None:
    """What two inputs do together, and what the codes stand for; nothing where there is nothing."""
    bare = _comparison(())
    assert (together_said(bare), recipes_said(bare)) == ("", "")
    pair = Together(
        inputs=("area of T8", "ageing of C0"), changes=(-2.1, 0.4), units=("%", "%/run"),
        in_uncertainties=1.75, contrast="A over B", from_verdict=Verdict.SHOWN, to_verdict=Verdict.NOT_SHOWN,
    )  # fmt: skip
    words = RecipeWords(recipe="b10", words="10 % binder", electrodes=("T1",))
    told = replace(bare, together=(pair,), recipes=(words,))
    assert together_said(told) == (
        "Together, though neither alone: area of T8 by −2.1 % and ageing of C0 by +0.4 %/run "
        "(1.8 uncertainties each) would overturn it."
    )
    assert recipes_said(told) == "b10: 10 % binder."


def _pair(verdict: Verdict = Verdict.NOT_SHOWN) -> Comparison:
    """A over B: the decision rests on a wider interval than the 95 % one."""
    pieces = (_piece("A", 1.4, 9.0), _piece("B", 1.0, 8.0), _piece("C", 0.5, 7.0))
    contrast = Contrast(
        a="A", b="B", level=Level.PIECES, ratio=1.4, interval_95=(1.01, 1.9),
        decision_interval=(0.92, 2.1), verdict=verdict,
    )  # fmt: skip
    return replace(_comparison(pieces), contrasts=(contrast,))


def test_who_leads_shows_the_interval_that_the_verdict_rests_on() -> None:
    """Not shown stands beside an interval that holds 1, never beside one that does not."""
    assert who_leads(_pair()) == (
        "No single piece is shown to be best: A gives 1.40 times [0.92, 2.10] the current density of B."
    )


def test_who_leads_says_nothing_twice() -> None:
    """Where the headline is about the two pieces already, no second sentence repeats it."""
    said = replace(_pair(), headline="Not shown (pieces): A over B, ratio 1.40 [0.92, 2.10].")
    assert who_leads(said) == ""


def test_what_rests_on_somebodys_word_is_named_and_nothing_else() -> None:
    """Only conditions taken on a word are named; one settled by a record is not."""
    word = ConditionLine(condition="salt in the water", known=Known.SAME, detail="", on_word=True)
    lot = ConditionLine(condition="aluminium", known=Known.SAME, detail="all cells name the lot x")
    assert given_word(replace(_comparison(()), conditions=(lot,))) == ""
    assert given_word(replace(_comparison(()), conditions=(lot, word))) == (
        "This rests on somebody's word: salt in the water was taken as the same for all, and nobody measured it."
    )


def test_one_build_of_each_is_told_with_its_whole_interval() -> None:
    """The plain sentence says why nothing is shown of recipes, and of what the ratio of the pieces is."""
    head = "Not shown (recipes): one build of each; nor the pieces: A/B 1.40 [0.92, 2.10] in current density."
    said = plain_verdict(replace(_pair(), headline=head, ratio=None))
    assert said.startswith("It is not shown which recipe is better: one build of each. ")
    assert "0.92 to 2.10" in said
    assert "current density" in said


def test_the_figure_and_the_table_show_the_interval_of_the_verdict() -> None:
    """What is not shown is drawn across 1, at the level it was judged at."""
    from aerode.measure.picturing import contrast_intervals
    from aerode.usecases.report_tables import contrast_table

    asked = replace(_pair(), look_level=0.012)
    figure = contrast_intervals(asked, asked.contrasts)
    table = contrast_table("pairs", asked.contrasts, asked.look_level)

    assert (figure.series[0].x_low, figure.series[0].x_high) == ((0.92,), (2.1,))
    assert "98.8 %" in figure.caption
    assert "0 of them keep clear of 1" in figure.alt
    assert table.columns[2] == "98.8 % interval, all rows together"
    assert table.rows[0][2] == "0.92 to 2.10"


@pytest.mark.parametrize(
    ("verdict", "said"),
    [
        (
            Verdict.NOT_SHOWN,
            "It is not shown that piece A gives more current density at 0.45 V than B ",
        ),
        (Verdict.SHOWN, "It is shown that piece A gives more current density at 0.45 V than B ("),
        (Verdict.SHOWN_SMALL, "than B, but by less than matters ("),
    ],
)
def test_a_pair_is_told_in_a_sentence(verdict: Verdict, said: str) -> None:
    """No brackets to be known beforehand: what one gives beside the other, with the level of the interval."""
    headline = "Not shown (pieces): A over B, ratio 1.40 [0.92, 2.10] in current density at 0.45 V."
    sentence = plain_verdict(replace(_pair(verdict), headline=headline, look_level=0.012))

    assert said in sentence
    assert "(1.40 times, 98.8 % interval 0.92 to 2.10)" in sentence


def test_a_headline_about_no_pair_stands() -> None:
    """Blocked, or about many recipes: as it is."""
    assert plain_verdict(_pair()) == "the headline"
