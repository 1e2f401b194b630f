"""State a claim before the result: what is to be shown, by how much, and what its builds can reach."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.errors import AerodeError, InputError
from aerode.measure.comparison.claims import claim_outlook
from aerode.measure.comparison.wording import did_you_mean
from aerode.records.electrodes import Electrode
from aerode.records.places import Claim
from aerode.usecases.compare import compare

if TYPE_CHECKING:
    from aerode.records.comparisons import ClaimOutlook
    from aerode.store.bench_file import BenchFile

__all__ = ["outlook_of", "state_claim"]


def state_claim(
    bench: BenchFile | None,
    claim: Claim,
    *,
    spread: float | None = None,
    keep: bool = True,
    new_factor: bool = False,
) -> ClaimOutlook:
    """What a claim can show with its builds; the claim is kept so that it stands before the result.

    Parameters
    ----------
    bench : BenchFile or None
        An open bench; None works without one.
    claim : Claim [record]
    spread : float, optional [1]
        Standard deviation between builds; the bench's own where two builds of a recipe were
        measured, else 10 and 20 % are assumed.
    keep : bool
        Whether to store the claim.
    new_factor : bool
        Whether the factor may be one that no electrode of the bench has yet.

    Returns
    -------
    ClaimOutlook

    Raises
    ------
    InputError
        Other factors are entered on this bench, and none is called so; the nearest is named.
    """
    if bench is not None and claim.factor and not new_factor:
        _refuse_strange_factor(bench, claim.factor)
    stored = bench is not None and keep
    if bench is not None and keep:
        bench.put(claim, why="claim written down before the result")
    own = None if bench is None or spread is not None else _own_spread(bench, claim)
    if spread is not None:
        return claim_outlook(claim, assumed=(spread,), stored=stored)
    return claim_outlook(claim, own_spread=own, stored=stored)


def _refuse_strange_factor(bench: BenchFile, factor: str) -> None:
    """A slip in the factor's name would leave a claim that no comparison ever finds."""
    known = list(dict.fromkeys(name for e in bench.all(Electrode) for name in e.factors))
    if known and factor not in known:
        raise InputError(
            f"no electrode of this bench has a factor called {factor!r}",
            where="--factor",
            allowed=", ".join(known),
            next_step=f"{did_you_mean(factor, known)}name one of these; or, if it is new here: --new-factor",
        )


def outlook_of(bench: BenchFile, name: str) -> ClaimOutlook:
    """The outlook of a claim that is on the bench.

    Parameters
    ----------
    bench : BenchFile
    name : str

    Returns
    -------
    ClaimOutlook

    Raises
    ------
    NotFoundError
        If there is no such claim.
    """
    claim = bench.get(Claim, name)
    return claim_outlook(claim, own_spread=_own_spread(bench, claim), stored=True)


def _own_spread(bench: BenchFile, claim: Claim) -> tuple[float, float] | None:
    """Spread between builds on this bench with its degrees of freedom, where it can be told."""
    at_current = claim.response.startswith("voltage")
    try:
        found = compare(
            bench,
            at_voltage=None if at_current else claim.at,
            at_current_density=claim.at if at_current else None,
            same=("rest",),
            try_changes=False,
        )
    except AerodeError:
        return None
    if not found.reach or found.reach[0].degrees_of_freedom is None:
        return None
    spread, df = found.reach[0].spread, found.reach[0].degrees_of_freedom
    told = bool(found.build_spread.value) and spread > 0  # 0 % is luck: then the usual ones stand
    return (spread, df) if told else None
