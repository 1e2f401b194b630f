"""The demo's gates as distributions over many invented benches, and the rate of false "shown".

python benchmarks/demo_gates/run.py [SEEDS]        default 200
"""

from __future__ import annotations

import statistics
import sys
from concurrent.futures import ProcessPoolExecutor
from functools import partial

from aerode.usecases.demo_study import SeedScore, score_seed


def _share(values: list[bool]) -> float:
    return sum(values) / len(values)


def rows(scores: list[SeedScore], idle: list[SeedScore]) -> list[tuple[str, str, str]]:
    """Each gate: what, goal, measured."""
    right, pairs = sum(s.pairs_right for s in scores), sum(s.pairs for s in scores)
    median = statistics.median
    return [
        (
            "rms log error at most 0.02",
            ">= 90 %",
            f"{100 * _share([s.rms_log_error <= 0.02 for s in scores]):.1f} %",
        ),
        ("pairs truly > 7 % apart in the right order", ">= 98 %", f"{100 * right / pairs:.2f} %"),
        ("median rank agreement", ">= 0.94", f"{median(s.rank_agreement for s in scores):.3f}"),
        (
            "the ammeter's median rank agreement",
            "clearly below",
            f"{median(s.ammeter_rank_agreement for s in scores):.3f}",
        ),
        ("binder shown", ">= 85 %", f"{100 * _share([s.binder_shown for s in scores]):.1f} %"),
        (
            "binder's interval (alone) holds its true effect",
            "93 to 97 %",
            f"{100 * _share([s.asked_covered for s in scores]):.1f} %",
        ),
        (
            "the two others (together) hold theirs",
            "93 to 97 %",
            f"{100 * _share([s.beside_covered for s in scores]):.1f} %",
        ),
        ("shown the wrong way round", "0", str(sum(s.wrong_way for s in scores))),
        (
            "repeat pairs called different recipes",
            "0",
            str(sum(s.repeats_differ_as_recipes for s in scores)),
        ),
        (
            "idle benches: binder falsely shown",
            "<= 5 %",
            f"{100 * _share([s.binder_shown for s in idle]):.1f} %",
        ),
    ]


def main() -> None:
    """Score the seeds on all cores and print the table."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    with ProcessPoolExecutor() as pool:
        scores = list(pool.map(score_seed, range(1, seeds + 1), chunksize=4))
        idle = list(pool.map(partial(score_seed, idle=True), range(1, seeds + 1), chunksize=4))
    print(f"demo gates over {seeds} seeds (1 to {seeds})\n")
    for what, goal, measured in rows(scores, idle):
        print(f"  {what:<46} {goal:>14} {measured:>16}")


if __name__ == "__main__":
    main()
