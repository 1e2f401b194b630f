"""The factors that claims on file are about, and what the mix of a new piece says of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from aerode.records.materials import PowderLot, Solution
from aerode.records.mixes import Batch, Mix
from aerode.records.places import Claim
from aerode.usecases.next_mixes import lot_for, shares_of_mix

if TYPE_CHECKING:
    from collections.abc import Mapping

    from aerode.store.bench_file import BenchFile

__all__ = ["claimed_factors", "factors_of_mix"]


def claimed_factors(bench: BenchFile) -> tuple[str, ...]:
    """The factors that the claims on file name, each once; empty where none is about a factor.

    Parameters
    ----------
    bench : BenchFile
        Open.
    """
    named = (claim.factor.strip() for claim in bench.all(Claim))
    return tuple(dict.fromkeys(one for one in named if one))


def factors_of_mix(bench: BenchFile, texts: Mapping[str, str]) -> dict[str, str]:
    """The claimed factors of a new piece, with the share that its mix has of what each is about.

    Parameters
    ----------
    bench : BenchFile
        Open.
    texts : mapping of str to str
        Of the form: "layers.0.mix" or "layers.0.batch" names the mix.

    Returns
    -------
    dict of str to str
        "factors.binder" to "10 %"; "" where the mix is not named, or no one lot of it is meant.
    """
    claimed = claimed_factors(bench)
    shares = _shares(bench, texts) if claimed else {}
    lots: dict[str, PowderLot | Solution] = {
        lot.name: lot for cls in (PowderLot, Solution) for lot in bench.all(cls) if lot.name in shares
    }  # fmt: skip
    found = {name: lot_for(name, lots, shares) for name in claimed}
    return {
        f"factors.{name}": f"{100.0 * shares[lot]:.3g} %" if lot else ""
        for name, lot in found.items()
    }


def _shares(bench: BenchFile, texts: Mapping[str, str]) -> dict[str, float]:
    """The dry shares of the mix of the first layer: as wanted, else as its amounts give them."""
    pot = bench.find(Batch, texts.get("layers.0.batch", "").strip() or "?")
    name = texts.get("layers.0.mix", "").strip() or (pot.mix if pot else "")
    mix = bench.find(Mix, name) if name else None
    return {} if mix is None else shares_of_mix(bench, mix)
