"""Does the shipped comparison keep its word? Coverage and false verdicts in strata of invented studies.

    python -m benchmarks.coverage_compare.run [STUDIES]      2,000 a stratum unless told otherwise

Goals: intervals called 95 % hold the truth in 94 to 96 % of studies; a false "shown" in at most 5 %
(plus two standard errors); the same over all declared looks, over seven undeclared ones, and over
all pairs of eight recipes. The table is printed as Markdown; it stands in docs/explanation/compare.md.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from benchmarks.coverage_compare.invented import Stratum, first_builds, invent, strata

from aerode.measure.comparison.comparing import compare_pieces, compare_recipes
from aerode.measure.comparison.looks import level_of_each_look
from aerode.records.comparisons import Verdict

MARGIN = math.log(1.10)
SEED = 20260509


def study(stratum: Stratum, studies: int, *, look_level: float = 0.05) -> dict[str, float]:
    """Coverage, half-width and shares of verdicts of the first recipe over the second."""
    dice = np.random.default_rng(SEED)
    inside = shown = equal = capped = 0
    halves: list[float] = []
    for _ in range(studies):
        seen = invent(stratum, dice)
        found = compare_recipes(seen, ["B", "A"], margin=MARGIN, look_level=look_level).of("B", "A")
        low, high = found.interval_95
        inside += low <= math.log(stratum.ratio) <= high
        shown += found.verdict in (Verdict.SHOWN, Verdict.SHOWN_SMALL)
        equal += found.verdict in (Verdict.EQUIVALENT, Verdict.SHOWN_SMALL)
        capped += bool(found.capped)
        halves.append(0.5 * (high - low))
    return {
        "coverage": inside / studies,
        "half_width": float(np.median(halves)),
        "shown": shown / studies,
        "equivalent": equal / studies,
        "capped": capped / studies,
    }


def pieces_coverage(stratum: Stratum, studies: int) -> float:
    """How often the interval of two pieces holds their own true ratio."""
    dice = np.random.default_rng(SEED)
    inside = 0
    for _ in range(studies):
        state = dice.bit_generator.state
        seen = invent(stratum, dice)
        truth = _true_pieces(stratum, state)
        found = compare_pieces(seen, ["A0", f"B{stratum.builds}"], margin=MARGIN)
        low, high = found.differences[0].interval_95
        inside += low <= truth <= high
    return inside / studies


def _true_pieces(stratum: Stratum, state: object) -> float:
    """True log ratio of the first piece of A over the first of B: the dice are thrown again."""
    again = np.random.default_rng()
    again.bit_generator.state = state
    size = stratum.recipes * stratum.builds
    if not stratum.aligned:
        again.permutation(size)
    build = stratum.spread * again.standard_normal(size)
    return float(build[0] - build[stratum.builds]) - math.log(stratum.ratio)


def false_over_looks(looks: tuple[int, ...], declared: int | None, studies: int) -> float:
    """The chance of any false "shown" when the study is looked at after so many builds a side."""
    dice = np.random.default_rng(SEED)
    level = level_of_each_look(declared)
    most = looks[-1]
    false = 0
    for _ in range(studies):
        seen = invent(Stratum(builds=most, spread=0.10, drift=-0.01), dice)
        false += any(_shown(first_builds(seen, n, most), level) for n in looks)
    return false / studies


def _shown(seen: object, level: float) -> bool:
    from aerode.measure.comparison.joint import Observations

    assert isinstance(seen, Observations)
    found = compare_recipes(seen, ["A", "B"], margin=MARGIN, look_level=level).of("A", "B")
    return found.verdict in (Verdict.SHOWN, Verdict.SHOWN_SMALL)


def false_in_family(recipes: int, studies: int) -> float:
    """The chance of any false "shown" among all pairs of equal recipes, two builds of each."""
    dice = np.random.default_rng(SEED)
    names = [chr(65 + k) for k in range(recipes)]
    false = 0
    for _ in range(studies):
        seen = invent(Stratum(recipes=recipes, builds=2, spread=0.10), dice)
        family = compare_recipes(seen, names, margin=MARGIN)
        false += any(d.verdict in (Verdict.SHOWN, Verdict.SHOWN_SMALL) for d in family.differences)
    return false / studies


def main_table(studies: int) -> Iterator[str]:
    """The strata, as rows of a Markdown table."""
    yield "| spread | builds | drift | order | coverage | half-width | false shown | capped |"
    yield "|---|---|---|---|---|---|---|---|"
    for stratum in strata():
        yield _row(stratum, study(stratum, studies))


def _row(stratum: Stratum, found: dict[str, float]) -> str:
    order = "aligned" if stratum.aligned else "random"
    return (
        f"| {stratum.spread:.0%} | {stratum.builds} + {stratum.builds} | {stratum.drift:.0%}/run | {order} | "
        f"{found['coverage']:.3f} | {found['half_width']:.3f} | {found['shown']:.3f} | {found['capped']:.3f} |"
    )


def beside_table(studies: int) -> Iterator[str]:
    """What the strata leave out: other ageing, no control, true differences, looks, families, pieces."""
    base = Stratum(builds=4, spread=0.10, drift=-0.03)
    yield "| study | share | goal |"
    yield "|---|---|---|"
    for ageing in (0.0, 0.01, 0.02):
        share = study(replace(base, ageing=ageing), studies)["coverage"]
        yield f"| coverage, control ages {ageing:.0%}/run | {share:.3f} | |"
    for n in (2, 3, 4):
        share = study(replace(base, builds=n, control=False), studies)["coverage"]
        yield f"| coverage, no control, {n} + {n} | {share:.3f} | |"
    at_margin = study(replace(base, spread=0.05, ratio=1.10, drift=0.0), studies)["equivalent"]
    yield f'| false "equivalent" at a true ratio of 1.10, spread 5 % | {at_margin:.3f} | <= 0.05 |'
    for stratum in (base, replace(base, builds=2), replace(base, aligned=True)):
        yield f"| coverage of two pieces: {stratum} | {pieces_coverage(stratum, studies):.3f} | 0.94-0.96 |"
    for looks, declared in (((2, 3, 4), 3), ((4, 8), 2), ((3, 5, 8, 12), 4)):
        share = false_over_looks(looks, declared, studies)
        yield f'| any false "shown", {declared} declared looks at {looks} | {share:.3f} | <= 0.05 |'
    share = false_over_looks((2, 3, 4, 5, 6, 7, 8), None, studies)
    yield f'| any false "shown", 7 undeclared looks | {share:.3f} | <= 0.05 |'
    for recipes in (4, 8):
        share = false_in_family(recipes, studies)
        yield f'| any false "shown" among all pairs of {recipes} recipes | {share:.3f} | <= 0.05 |'


def main() -> None:
    """Print both tables."""
    studies = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    print(f"{studies} studies a stratum, seed {SEED}")
    for line in main_table(studies):
        print(line, flush=True)
    for line in beside_table(studies):
        print(line, flush=True)


if __name__ == "__main__":
    main()
