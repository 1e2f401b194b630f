"""The claims on file, each with its verdict as the bench stands: what was stated beforehand is told first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from aerode.errors import AerodeError
from aerode.measure import telling
from aerode.measure.comparison.claims import claim_note
from aerode.records.places import Claim
from aerode.records.runs import Run
from aerode.usecases.compare import compare
from aerode.usecases.newest_pieces import newest_pieces

if TYPE_CHECKING:
    from collections.abc import Sequence

    from aerode.records.comparisons import Comparison
    from aerode.store.bench_file import BenchFile

__all__ = ["JudgedClaim", "claims_judged", "same_question"]

MOST = 3
"""Claims that are judged where nobody asks for one, the newest first: each is a whole comparison."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedClaim:
    """One claim, and what the readings say of it."""

    name: str
    question: str
    verdict: str
    """As `Verdict` says it; "" where the readings cannot tell."""
    sentence: str
    """The verdict in one sentence, or why there is none."""
    doubt: str = ""
    """Why it is held back, or what alone undoes it: one input, or one electrode left out; "" for none."""
    factor: str = ""
    """What it is about; "" for recipes."""


def claims_judged(bench: BenchFile) -> tuple[JudgedClaim, ...]:
    """The newest claims that were stated before the first run, each judged at its own point and margin.

    Parameters
    ----------
    bench : BenchFile
        Open.

    Returns
    -------
    tuple of JudgedClaim
        Newest first, at most three. A claim that was written down after the first run counts as
        none and is left out.
    """
    claims = bench.all(Claim)
    if not claims:
        return ()
    runs = bench.all(Run)
    before = [claim for claim in claims[::-1] if not claim_note(claim, runs)][:MOST]
    return tuple(_judged(bench, claim) for claim in before)


def same_question(found: Comparison, claims: Sequence[JudgedClaim]) -> bool:
    """Whether the comparison without a claim only says again what a claim was judged on.

    Two recipes differ in the factor of a claim: its effect from low to high is the ratio of the two,
    told the other way round and at the level of one look.

    Parameters
    ----------
    found : Comparison
        Without a claim.
    claims : sequence of JudgedClaim

    Returns
    -------
    bool
    """
    recipes = {piece.recipe for piece in found.pieces if not piece.control}
    return len(recipes) == 2 and any(one.factor and one.verdict for one in claims)


def _judged(bench: BenchFile, claim: Claim) -> JudgedClaim:
    try:
        found = compare(
            bench, newest_pieces(bench), claim=claim.name, try_changes=False, try_nearest=True
        )
    except AerodeError as refusal:
        said = f"The claim “{claim.name}” cannot be judged yet: {refusal.what}."
        return JudgedClaim(name=claim.name, question=claim.question, verdict="", sentence=said)
    sentence = telling.plain_verdict(found)
    return JudgedClaim(
        name=claim.name, question=claim.question, verdict=str(found.verdict),
        sentence=sentence if sentence.endswith((".", "?")) else f"{sentence}.",
        doubt=f"{telling.held_back(found) or telling.undone_by(found)} {telling.rests_on(found)}".strip(), factor=claim.factor,
    )  # fmt: skip
