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
    from aerode.store.bench_file import BenchFile

__all__ = ["JudgedClaim", "claims_judged"]

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
    """The one input whose believable change alone undoes it, in one sentence; "" for none."""


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
        doubt=telling.undone_by(found),
    )  # fmt: skip
