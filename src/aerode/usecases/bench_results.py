"""Keep a computed answer with what it rests on, and say when that has changed.

A kept answer never enters the history: it can be thrown away and computed again.
"""

from __future__ import annotations

import dataclasses
import difflib
import hashlib
import json
from collections.abc import Callable
from functools import lru_cache
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import aerode
from aerode.errors import AerodeError, InputError, StoreError
from aerode.records import adapter
from aerode.records.bench_results import BenchResults, KeptAnswer
from aerode.store import results
from aerode.store.bench_file import now
from aerode.store.results import Basis, Read, StoredResult
from aerode.store.watching import WatchedBench
from aerode.store.writer import stamp
from aerode.version import VERSION

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from aerode.store.bench_file import BenchFile

__all__ = ["ANSWERS", "code_digest", "compute_and_keep", "forget", "keep_again", "keep_answer", "list_results", "tables_digest"]  # fmt: skip

_SHOWS = ("web", "cli", "report", "devices", "virtual")
"""Rooms that compute nothing of an answer."""

_LIBRARIES = ("numpy", "scipy", "pint")
"""The libraries that answers are computed with."""

Compute = Callable[["BenchFile", str, dict[str, Any]], Any]


def _fit(bench: BenchFile, about: str, question: dict[str, Any]) -> Any:
    from aerode.usecases.fit import FitQuestion, fit_bench_run

    return fit_bench_run(bench, about, _filled(FitQuestion, question))


def _cautions(bench: BenchFile, about: str, question: dict[str, Any]) -> Any:
    from aerode.usecases.caution_question import CautionQuestion
    from aerode.usecases.cautions import what_can_hurt

    return what_can_hurt(bench, about, _filled(CautionQuestion, question))


def _mix(bench: BenchFile, about: str, question: dict[str, Any]) -> Any:
    from aerode.usecases.mix import MixQuestion, mix_with_cautions

    return mix_with_cautions(bench, about, _filled(MixQuestion, question))[0]


def _compare(bench: BenchFile, about: str, question: dict[str, Any]) -> Any:
    """About a claim, or about electrodes with a comma between them; nothing: all of them."""
    from aerode.records.places import Claim
    from aerode.usecases.compare import compare

    if about and bench.find(Claim, about) is not None:
        return compare(bench, claim=about, **question)
    names = [name.strip() for name in about.split(",") if name.strip()]
    return compare(bench, names, **question)


ANSWERS: dict[str, Compute] = {
    "fit": _fit, "compare": _compare, "cautions": _cautions, "mix": _mix,
}  # fmt: skip
"""The answers that can be kept by their verb, and computed again."""


def _filled(cls: type[Any], question: Mapping[str, Any]) -> Any:
    """A question record from what was typed; numbers and lists after the field's default."""
    fields = {f.name: f for f in dataclasses.fields(cls)}
    plain: dict[str, Any] = {}
    for name, value in question.items():
        if name not in fields:
            near = difflib.get_close_matches(name, fields, n=3)
            raise InputError(
                f"nothing is asked under the word {name!r}", where="--with",
                allowed=" or ".join(near) if near else ", ".join(fields),
            )  # fmt: skip
        default: Any = fields[name].default
        plain[name] = _as(default, value, name)
    return cls(**plain)


def _as(default: Any, value: Any, name: str) -> Any:
    if isinstance(default, bool):
        return value in (True, "yes", "true")
    if isinstance(default, int):
        try:
            return int(value)
        except (TypeError, ValueError) as problem:
            raise InputError(
                f"{value!r} is not a whole number", where=f"--with {name}"
            ) from problem
    if isinstance(default, tuple):
        return tuple(cast("list[Any]", value)) if isinstance(value, list) else (value,)
    return value


# -- what an answer rests on --------------------------------------------------------------------


@lru_cache(maxsize=1)
def code_digest() -> str:
    """The version, the digest of every source file that computes, and the libraries it computes with."""
    root = Path(aerode.__file__).parent
    files = (path for path in root.rglob("*.py") if path.relative_to(root).parts[0] not in _SHOWS)
    libraries = ", ".join(f"{name} {version(name)}" for name in _LIBRARIES)
    return f"{VERSION} {_digest_of(root, files)} ({libraries})"


@lru_cache(maxsize=1)
def tables_digest() -> str:
    """The digest of every table of published figures."""
    root = Path(aerode.__file__).parent / "reference" / "tables"
    return _digest_of(root, (path for path in root.rglob("*") if path.suffix in {".csv", ".toml"}))


def _digest_of(root: Path, files: Any) -> str:
    lines = (
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.relative_to(root).as_posix()}\n"
        for path in sorted(files)
    )
    return hashlib.sha256("".join(lines).encode()).hexdigest()


def keep_answer(
    bench: BenchFile,
    about: str,
    question: Mapping[str, Any],
    compute: Callable[[BenchFile], Any],
    *,
    moment: Callable[[], datetime] = now,
) -> KeptAnswer:
    """Compute an answer on a bench that notes what is read, and keep it with that.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    about : str
        What it is about: the name of a run, a mix, a claim.
    question : mapping
        What was asked, as plain values.
    compute : callable
        Gets the bench and gives a record whose first field is `schema`.
    moment : callable
        The clock.

    Returns
    -------
    KeptAnswer
        The same answer twice is kept once.

    Raises
    ------
    StoreError
        The bench is open for reading only.
    """
    if bench.read_only:
        raise StoreError(
            "an answer is kept on a bench that is open for writing", where=bench.label,
            next_step="open it for writing",
        )  # fmt: skip
    watched = WatchedBench(bench)
    answer = compute(watched)
    doc = json.dumps(adapter.write_whole(answer), ensure_ascii=False, sort_keys=True, separators=(",", ":"))  # fmt: skip
    one = StoredResult(
        schema=str(answer.schema), about=about, question=_question_text(question),
        basis=Basis(tuple(watched.noted.items()), code_digest(), tables_digest()),
        at=stamp(moment), doc=doc,
    )  # fmt: skip
    with bench.writing() as ledger:
        results.keep(ledger.connection, one)
    return _shown(one, ())


def _question_text(question: Mapping[str, Any]) -> str:
    return json.dumps(dict(question), ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def compute_and_keep(
    bench: BenchFile,
    verb: str,
    about: str,
    question: Mapping[str, Any] | None = None,
    *,
    moment: Callable[[], datetime] = now,
) -> BenchResults:
    """Compute the answer of a verb and keep it.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    verb : str
        "fit", "compare", "cautions" or "mix".
    about : str
        The run, the claim or electrodes ("T5, T6"), the item, the mix.
    question : mapping, optional
        What is asked beside that, by the words of the verb's own question.
    moment : callable
        The clock.

    Raises
    ------
    InputError
        No such verb, or no such word.
    """
    if verb not in ANSWERS:
        raise InputError(
            f"the answer of {verb!r} cannot be kept", where="VERB", allowed=", ".join(ANSWERS)
        )
    asked = {"verb": verb, **(question or {})}
    one = keep_answer(bench, about, asked, lambda b: ANSWERS[verb](b, about, dict(question or {})), moment=moment)  # fmt: skip
    return BenchResults(headline=f"Kept: {one.headline}"[:100], results=(one,))


def keep_again(bench: BenchFile, *, moment: Callable[[], datetime] = now) -> BenchResults:
    """Compute every stale answer that was kept by a verb once more; the old ones stay, marked.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    moment : callable
        The clock.

    Returns
    -------
    BenchResults
        The fresh ones, and those that could not be computed, with the reason.
    """
    there = list_results(bench).results
    fresh = {(r.answer, r.about, _question_text(r.question)) for r in there if not r.stale}
    made: list[KeptAnswer] = []
    failed: list[str] = []
    for one in there:
        asked = (one.answer, one.about, _question_text(one.question))
        verb = str(one.question.get("verb", ""))
        if not one.stale or asked in fresh or verb not in ANSWERS:
            continue
        fresh.add(asked)
        rest = {key: value for key, value in one.question.items() if key != "verb"}
        try:
            made += compute_and_keep(bench, verb, one.about, rest, moment=moment).results
        except AerodeError as error:
            failed.append(f"{verb} {one.about}: {error.what}")
    count = "one answer" if len(made) == 1 else f"{len(made)} answers"
    headline = f"Computed {count} once more" if made or failed else "No kept answer is stale"
    if failed:
        headline += f"; {len(failed)} cannot be"
    return BenchResults(headline=headline, results=tuple(made), again=tuple(failed))


def list_results(bench: BenchFile, about: str = "") -> BenchResults:
    """Every kept answer, newest first, with what has changed under it since.

    Parameters
    ----------
    bench : BenchFile
        Open.
    about : str
        Only those about this.

    Returns
    -------
    BenchResults

    Raises
    ------
    DamagedError
        A kept answer does not agree with its digest.
    """
    with bench.reading() as connection:
        found = [one for one in results.listed(connection) if not about or one.about == about]
        here: dict[Read, str] = {}
        for one in found:
            for read, _ in one.basis.read:
                if read not in here:
                    here[read] = results.fingerprint(connection, read)
    shown = tuple(_shown(one, _stale(one, here)) for one in found)
    stale = sum(bool(one.stale) for one in shown)
    count = "one kept answer" if len(shown) == 1 else f"{len(shown)} kept answers"
    headline = f"{count}, {stale} stale" if shown else "no answer was kept"
    return BenchResults(headline=headline, results=shown)


def _stale(one: StoredResult, here: Mapping[Read, str]) -> tuple[str, ...]:
    changed = [
        f"changed since: {_words(read)}" for read, digest in one.basis.read if here[read] != digest
    ]
    if one.basis.code != code_digest():
        changed.append(
            f"computed by another program: {one.basis.code[:20]}, now {code_digest()[:20]}"
        )
    if one.basis.tables != tables_digest():
        changed.append("the published figures have changed")
    return tuple(changed)


def _words(read: Read) -> str:
    match read:
        case ("one", kind, name):
            return f"{kind} {name}"
        case ("all", kind, of):
            return f"the records of kind {kind} of {of}"
        case ("all", kind):
            return f"the records of kind {kind}"
        case ("series", name):
            return f"the series {name}"
        case _:
            return "anything on the bench"


def _shown(one: StoredResult, stale: tuple[str, ...]) -> KeptAnswer:
    doc = cast("dict[str, Any]", json.loads(one.doc))
    return KeptAnswer(
        key=one.key, answer=one.schema, about=one.about, question=json.loads(one.question),
        headline=str(doc.get("headline", "")), at=one.at, code=one.basis.code,
        tables=one.basis.tables, rests_on=tuple(_words(read) for read, _ in one.basis.read), stale=stale,
    )  # fmt: skip


def forget(bench: BenchFile, *, stale_only: bool = True) -> BenchResults:
    """Throw kept answers away: the stale ones, or all of them. Nothing that was entered is lost.

    Parameters
    ----------
    bench : BenchFile
        Open for writing.
    stale_only : bool
        Leave those that still stand; without it damaged ones go too.
    """
    keys = [one.key for one in list_results(bench).results if one.stale] if stale_only else None
    with bench.writing() as ledger:
        gone = results.forget(ledger.connection, keys)
    count = "one kept answer" if gone == 1 else f"{gone} kept answers"
    return BenchResults(headline=f"Threw {count} away; nothing that was entered is lost")
