"""`aerode compare`: which is better, by how much, shown or not, and what would overturn it."""

from __future__ import annotations

import shlex
import sys
from typing import TYPE_CHECKING, Any

import click

from aerode import units
from aerode.cli.console import bench_option, json_option, lines, print_answer
from aerode.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.comparisons import Comparison, Contrast, Effect, Overturn
    from aerode.records.places import RunOrder
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.claims_on_file import JudgedClaim

__all__ = ["command", "detail_lines", "short_lines"]

_MOST_LINES = 12
_MOST_NAMED = 4


@click.command(
    "compare",
    epilog='Examples:  aerode compare --at "0.45 V" --by binder     aerode compare T5 T6     '
    "aerode compare --order --session 2026-05-09",
)
@click.argument("electrodes", nargs=-1, metavar="[ELECTRODE]...")
@click.option("--at", metavar="POINT", help='Common point: "0.45 V" or "2 mA/cm^2".')
@click.option("--by", default="", metavar="FACTOR", help="The effect of one factor, low to high.")
@click.option("--margin", metavar="RATIO", help='Smallest difference that matters: "10 %" or 1.1.')
@click.option("--claim", default="", metavar="NAME", help="Judge under this claim.")
@click.option(
    "--same",
    multiple=True,
    metavar="CONDITION",
    help='Was the same for all, though not measured: salinity, gap, ... or "rest". Repeatable.',
)
@click.option(
    "--keep", is_flag=True, help="Keep what --same says on the bench, until it is taken back."
)
@click.option(
    "--take-back",
    multiple=True,
    metavar="CONDITION",
    help='Take back what was kept with --keep: a condition, or "rest" for all. Repeatable.',
)
@click.option("--per-kelvin", metavar="BAND", help='Temperature coefficient: "2 +- 1 %/K".')
@click.option("--spread", metavar="SHARE", help='Spread between builds from earlier work: "6 %".')
@click.option(
    "--spread-df", type=float, default=3.0, show_default=True, help="Its degrees of freedom."
)
@click.option("--detail", is_flag=True, help="The tables behind the answer.")
@click.option("--order", "draw", is_flag=True, help="Draw the order of measuring instead.")
@click.option("--session", default="", metavar="DAY", help="With --order: the day it is for.")
@click.option("--control", default="", metavar="ELECTRODE", help="With --order: the control.")
@click.option(
    "--seed", type=int, help="Of the dice; printed, so that the order can be drawn again."
)
@bench_option
@json_option
def command(electrodes: tuple[str, ...], bench: str, as_json: bool, at: str | None, by: str, margin: str | None,
            claim: str, same: tuple[str, ...], keep: bool, take_back: tuple[str, ...], per_kelvin: str | None, spread: str | None, spread_df: float,
            detail: bool, draw: bool, session: str, control: str, seed: int | None) -> None:  # fmt: skip
    """Compare electrodes at one voltage or current density, corrected, with a verdict.

    Four verdicts: shown, shown but smaller than matters, equivalent, not shown. Two levels:
    these pieces, and their recipes. Without names everything measured is compared.
    """
    from aerode.measure.comparison import typed
    from aerode.records.comparisons import Verdict
    from aerode.store.bench_file import BenchFile
    from aerode.usecases.claims_on_file import claims_judged
    from aerode.usecases.compare import compare

    if draw:
        _draw(electrodes, bench, as_json=as_json, session=session, control=control, seed=seed)
        return
    voltage, density = (None, None) if at is None else typed.point_from_text(at)
    past = (0.0, 0.0) if spread is None else (typed.share_from_text(spread, "spread"), spread_df)
    question: dict[str, Any] = {
        "at_voltage": voltage,
        "at_current_density": density,
        "by": by,
        "margin": None if margin is None else typed.margin_from_text(margin),
        "claim": claim,
        "temperature_coefficient": None
        if per_kelvin is None
        else typed.coefficient_from_text(per_kelvin),
        "past_spread": past,
        "seed": 1 if seed is None else seed,
    }
    if keep and not same:
        raise InputError(
            "--keep keeps what --same says, and nothing is said",
            where="--keep",
            next_step="name the condition: --same salinity --keep",
        )
    with BenchFile.open(bench, read_only=not (keep or take_back)) as store:
        if keep or take_back:
            _put_word(store, electrodes, question, same if keep else (), take_back)
        answer = compare(store, electrodes, same=() if keep else same, **question)
        nothing_asked = not (electrodes or at or by or margin or claim or same or per_kelvin or spread or as_json)  # fmt: skip
        stated = claims_judged(store) if nothing_asked and not answer.claim else ()
    text = [
        *_stated(stated, answer),
        *short_lines(answer),
        *(["", *detail_lines(answer)] if detail else []),
    ]
    print_answer(answer, text, as_json=as_json)
    if answer.verdict is Verdict.BLOCKED:
        sys.exit(1)


def _stated(claims: Sequence[JudgedClaim], answer: Comparison) -> list[str]:
    """What was stated beforehand, each with its verdict: it comes before what was only looked at."""
    from aerode.usecases.claims_on_file import same_question

    said: list[str] = []
    for one in claims:
        told = f"{one.sentence} {one.doubt}".rstrip()
        said += _hung(f'Stated beforehand, "{one.name}": {told}')
    again = same_question(answer, claims)
    besides = "The same by recipes, at one look:" if again else "Besides, without a claim:"
    return [*said, "", besides] if said else []


def _hung(text: str) -> list[str]:
    """A paragraph whose first line stands further left."""
    first, *rest = lines(text, indent="  ")
    return [first.strip(), *rest]


def _put_word(
    store: BenchFile,
    electrodes: Sequence[str],
    question: dict[str, Any],
    same: Sequence[str],
    take_back: Sequence[str],
) -> None:
    """Keep somebody's word on the bench, or take it back."""
    from datetime import datetime

    from aerode.usecases.compare import compare
    from aerode.usecases.given_word import keep_word, take_back_word

    if take_back:
        take_back_word(store, compare(store, electrodes, try_changes=False, **question), take_back)
    if same:
        found = compare(store, electrodes, try_changes=False, **question)
        keep_word(store, found, same, moment=datetime.now().astimezone())


def _draw(
    electrodes: Sequence[str],
    bench: str,
    *,
    as_json: bool,
    session: str,
    control: str,
    seed: int | None,
) -> None:
    import secrets
    from datetime import datetime

    from aerode.store.bench_file import BenchFile
    from aerode.usecases.dates import date_or_name
    from aerode.usecases.run_order import run_order

    today = datetime.now().astimezone().date().isoformat()
    with BenchFile.open(bench) as store:
        order = run_order(
            store,
            electrodes,
            session=date_or_name(session, field="--session") or today,
            seed=secrets.randbelow(1_000_000) if seed is None else seed,
            control=control,
            made=today,
        )
        proposed = "" if order.control or as_json else _proposed(store)
    if as_json:
        import json

        from aerode.records.adapter import write_whole

        body = {"schema": "aerode.order/1", **write_whole(order)}
        click.echo(json.dumps(body, ensure_ascii=False, indent=2))
        return
    for line in _order_lines(order, proposed):
        click.echo(line)


def _proposed(store: BenchFile) -> str:
    """The piece to keep as control, where a comparison tells one."""
    from aerode.errors import AerodeError
    from aerode.records.electrodes import Electrode
    from aerode.usecases.compare import compare
    from aerode.usecases.run_order import proposed_control

    known = store.names(Electrode)
    try:
        return proposed_control(compare(store, try_changes=False), known) if len(known) > 2 else ""
    except AerodeError:
        return ""


def _order_lines(order: RunOrder, proposed: str = "") -> list[str]:
    said = [
        f"Order of measuring for {order.session}, drawn at random (seed {order.seed}) and kept:"
    ]
    for place, name in enumerate(order.electrodes, start=1):
        said.append(f"  {place:>2}. {name}" + ("  (control)" if name == order.control else ""))
    if not order.control:
        said += lines(
            "No control yet: keep the first good build as control, and read it first, in the middle "
            "and last; until then a drift cannot be told from the pieces.",
        )
    if proposed:
        said += lines(
            f"{proposed} is proposed: it is a good build that was read. "
            f"Draw once more with it: --order --control {shlex.quote(proposed)}"
        )
    return said


def _ratio(ratio: float | None, interval: tuple[float, float] | None) -> str:
    from aerode.measure.comparison.wording import ratio_text

    return "-" if ratio is None else ratio_text(ratio, interval)


def short_lines(answer: Comparison) -> list[str]:
    """The answer for people: the verdict, what rests on a word, then at most a dozen lines of 80 columns."""
    word = _word(answer)
    said, left_out = [answer.headline, *(lines(word, indent="  ") if word else [])], False
    most = _MOST_LINES + len(said) - 1
    for entry in _entries(answer):
        wrapped = lines(entry, indent="  ") if entry else []
        if len(said) + len(wrapped) > most:
            left_out = True
            continue
        said += wrapped
    return [*said, "  More: --detail."] if left_out else said


def _entries(answer: Comparison) -> list[str]:
    """What is worth saying, the most useful first."""
    steps = [f"{'Later' if k else 'Next'}: {step}." for k, step in enumerate(answer.next_steps)]
    warned = [f"Note: {text}." for text in answer.warnings]
    if answer.verdict.value == "blocked":
        return [*(f"Next: {step}." for step in answer.next_steps), *warned]
    first = steps[:1]
    return [
        _basis(answer),
        _left_out(answer),
        _equal(answer),
        *first,
        _recipes(answer),
        _beside(answer),
        _alias(answer),
        _warmth(answer),
        _overturned(answer),
        _together(answer),
        _reach(answer),
        _ranks(answer),
        *warned,
        *steps[len(first) :],
    ]


def _word(answer: Comparison) -> str:
    """What rests on somebody's word."""
    from aerode.measure.telling import given_word

    return given_word(answer)


def _left_out(answer: Comparison) -> str:
    """Who is not in the verdict, and why: nobody may be missing without a word."""
    gone = [f"{p.electrode} ({p.left_out.split(';')[0]})" for p in answer.pieces if p.left_out]
    more = f" and {len(gone) - _MOST_NAMED} more (--detail)" if len(gone) > _MOST_NAMED else ""
    return f"Left out: {', '.join(gone[:_MOST_NAMED])}{more}." if gone else ""


def _equal(answer: Comparison) -> str:
    """Which interval "equivalent" rests on: two one-sided tests use a narrower one."""
    if answer.verdict.value != "equivalent" or answer.interval is None:
        return ""
    level = 100 * (1 - 2 * answer.look_level)
    low, high = answer.interval
    return (
        f'[..] is the {level:.3g} % interval: "equivalent" is two one-sided tests. The '
        f"{100 * (1 - answer.look_level):.3g} % interval is [{units.plain(low, 3)}, {units.plain(high, 3)}]."
    )


def _recipes(answer: Comparison) -> str:
    """What the recipes named in the verdict are."""
    said = f"{answer.headline} {answer.primary}"
    named = [r for r in answer.recipes if r.recipe in said]
    return "; ".join(f"{r.recipe}: {r.words}" for r in named) + ("." if named else "")


def _together(answer: Comparison) -> str:
    from aerode.measure.telling import together_said

    return together_said(answer)


def _warmth(answer: Comparison) -> str:
    from aerode.measure.telling import warmth_first

    return warmth_first(answer)


def _basis(answer: Comparison) -> str:
    pieces = [p for p in answer.pieces if not p.control and p.fair.value is not None]
    recipes = len({p.recipe for p in pieces})
    words = f"{len(pieces)} electrodes of {recipes} recipe{'s' if recipes > 1 else ''}"
    spread = answer.build_spread
    if spread.value == 0.0:
        most = (
            f", at most {units.plain(spread.interval_95[1])} %"
            if spread.interval_95 and spread.interval_95[1] > 0
            else ""
        )
        words += f"; no spread between builds seen beyond the measurement{most}"
    elif spread.value is not None:
        words += f"; spread between builds {units.plain(spread.value)} %"
    drift = answer.drift_per_run
    if drift.value is not None:
        shown = round(drift.value, 1) + 0.0
        words += f"; drift {shown:+.1f} ± {drift.standard_uncertainty or 0:.1f} %/run"
    return words + (f'; claim "{answer.claim}".' if answer.claim else ".")


def _beside(answer: Comparison) -> str:
    others = [e for e in answer.effects if not e.asked]
    if others:
        return "Looked at beside it: " + "; ".join(_effect(e) for e in others) + "."
    pairs = [c for c in answer.contrasts if c.level.value == "recipes"]
    shown = [c for c in pairs if c.verdict.value.startswith("shown")]
    if len(pairs) > 1:
        return f"{len(shown)} of {len(pairs)} pairs of recipes are shown to differ."
    return ""


def _effect(effect: Effect) -> str:
    return (
        f"{effect.factor} {effect.low} to {effect.high} "
        f"{_ratio(effect.ratio, _rested_on(effect))} {effect.verdict.value}"
    )


def _rested_on(one: Effect | Contrast) -> tuple[float, float] | None:
    from aerode.measure.telling import rested_on

    return rested_on(one)


def _alias(answer: Comparison) -> str:
    first = next((e for e in answer.effects if e.asked), None)
    if first is None or not first.aliases:
        return ""
    return f"This plan's {first.factor} effect {'; '.join(first.aliases)}."


def _change(one: Overturn) -> str:
    if one.change is None:
        return one.input
    size = f"{units.plain(one.in_uncertainties or 0.0)} times its uncertainty"
    return f"{one.input} by {units.plain(one.change, sign=True)} {one.unit} ({size})"


def _overturned(answer: Comparison) -> str:
    able = [o for o in answer.overturn if o.to_verdict is not None]
    by_change = [o for o in able if o.change is not None][:2]
    dropped = [o for o in able if o.change is None][:2]
    if not able:
        if not answer.overturn:
            return ""
        warm = answer.temperature_doubt
        said = "No single input, changed as far as is believable, would overturn it."
        return said if warm is None or warm.believable else f"{said} {warm.words}"
    return "Would overturn it: " + "; ".join(_change(o) for o in [*by_change, *dropped]) + "."


def _reach(answer: Comparison) -> str:
    if not answer.reach:
        return ""
    first = answer.reach[0]
    return f"Reach of {first.builds}: {first.detail}."


def _ranks(answer: Comparison) -> str:
    by_meter = sorted(
        (p for p in answer.pieces if p.ammeter_rank is not None), key=lambda p: p.ammeter_rank or 0
    )
    fair = sorted(
        (p for p in answer.pieces if p.fair_rank is not None), key=lambda p: p.fair_rank or 0
    )
    if len(by_meter) < 2:
        return ""
    return (
        f"Order by ammeter (no performance): {' '.join(p.electrode for p in by_meter)}; "
        f"fair: {' '.join(p.electrode for p in fair)}."
    )


def detail_lines(answer: Comparison) -> list[str]:
    """The tables behind the answer, 80 columns."""
    return [
        *_piece_table(answer),
        "",
        *_correction_table(answer),
        "",
        *_contrast_table(answer),
        *_section(
            "Recipes",
            [f"{r.recipe}: {r.words} ({', '.join(r.electrodes)})" for r in answer.recipes],
        ),
        *_section("Effects", [_effect(e) for e in answer.effects]),
        *_section("Curvature", [_curvature(answer)] if answer.curvature else []),
        *_section(
            "Conditions",
            [
                f"{c.condition}: {c.known.value}; {c.detail}" + (" BLOCKS" if c.blocks else "")
                for c in answer.conditions
            ],
        ),
        *_section(
            "What would overturn it",
            [f"{_change(o)}: {o.to_verdict or o.reason}" for o in answer.overturn]
            + [_together(answer)] * bool(answer.together),
        ),
        *_section(
            "Reach",
            [
                f"{r.builds}, {units.per_cent(r.spread)} ({r.spread_basis}): {r.detail}"
                for r in answer.reach
            ],
        ),
        *_section(
            "Air cathode or battery",
            [
                f"{a.electrode}: {a.detail}" + (f"; {a.next_step}" if a.next_step else "")
                for a in answer.air_or_battery
            ],
        ),
        *_section("Leaks", [f"{k.electrode}: {k.detail}" for k in answer.leaks]),
        *_section(
            "Readings not used",
            [f"{r.run}, reading {r.index + 1} ({r.text}): {r.why}" for r in answer.refused],
        ),
        *_section("Notes", list(answer.warnings)),
        *_section("Next", list(answer.next_steps)),
        *_section("Assumed", list(answer.assumptions)),
        *_section("For the statistician", [*_freedoms(answer), *answer.model]),
    ]


def _freedoms(answer: Comparison) -> list[str]:
    """Degrees of freedom, where there are any."""
    pairs = [(f"{c.a} / {c.b}", c.degrees_of_freedom) for c in answer.contrasts]
    told = [(e.factor, e.degrees_of_freedom) for e in answer.effects] + pairs
    known = [f"{name} {df:.2g}" for name, df in told if df is not None]
    said = [f"degrees of freedom: {'; '.join(known)}"] if known else []
    if answer.order_alignment is not None:
        said.append(f"correlation of side and order of measuring: {answer.order_alignment:.2f}")
    return said


def _curvature(answer: Comparison) -> str:
    bent = answer.curvature
    assert bent is not None
    numbers = _ratio(bent.ratio, _rested_on(bent))
    return f"the straight line is off the middle by a ratio of {numbers}: {bent.verdict.value}"


def _section(title: str, entries: Sequence[str]) -> list[str]:
    if not entries:
        return []
    body = [line for entry in entries for line in lines(f"- {entry}", indent="  ")]
    return ["", f"{title}:", *body]


def _piece_table(answer: Comparison) -> list[str]:
    said = [
        f"{'electrode':<12}{'recipe':<20}{'order':>6}{'fair ' + answer.value_unit:>18}{'rank':>6}{'ammeter mA':>12}{'rank':>6}"
    ]
    for p in answer.pieces:
        value = (
            "-"
            if p.fair.value is None
            else f"{p.fair.value:.3f} ± {p.fair.standard_uncertainty or 0:.3f}"
        )
        meter = "-" if p.ammeter_mA is None else f"{p.ammeter_mA:.1f}"
        name = p.electrode[:10] + (" *" if p.control else "")
        said.append(
            f"{name:<12}{p.recipe[:19]:<20}{p.order if p.order is not None else '-':>6}{value:>18}"
            f"{p.fair_rank or '-':>6}{meter:>12}{p.ammeter_rank or '-':>6}"
        )
        if p.left_out or p.outcome != "whole":
            note = "; ".join(
                x for x in (p.outcome if p.outcome != "whole" else "", p.left_out) if x
            )
            said += lines(note, indent="    ")
    if any(p.control for p in answer.pieces):
        said.append("* control")
    return said


def _correction_table(answer: Comparison) -> list[str]:
    kinds = list(dict.fromkeys(c.what for p in answer.pieces for c in p.corrections))
    said = [
        "Corrections, after over before:",
        f"  {'electrode':<12}" + "".join(f"{k:>13}" for k in kinds),
    ]
    for p in answer.pieces:
        ratio = {c.what: c.ratio for c in p.corrections}
        if ratio:
            cells = "".join(f"{ratio[k]:>13.4f}" if k in ratio else f"{'-':>13}" for k in kinds)
            said.append(f"  {p.electrode[:11]:<12}{cells}")
    return said


def _contrast_table(answer: Comparison) -> list[str]:
    if not answer.contrasts:
        return []
    said = [
        f"Pairs, intervals at {100 * (1 - answer.look_level):.3g} % for all pairs of a level together,",
        f'those of "equivalent" at {100 * (1 - 2 * answer.look_level):.3g} % (two one-sided tests):',
    ]
    for c in answer.contrasts:
        numbers = _ratio(c.ratio, _rested_on(c))
        said += lines(
            f"{c.level.value}: {c.a} / {c.b}  {numbers}  {c.verdict.value}"
            + (f" ({c.reason.split(';')[0]})" if c.reason else ""),
            indent="  ",
        )
    return said
