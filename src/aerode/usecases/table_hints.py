"""What the reader of tables asks a person to say, in the words of the place where it can be said."""

from __future__ import annotations

import re
from contextlib import contextmanager
from typing import TYPE_CHECKING

from aerode.errors import TableError

if TYPE_CHECKING:
    from collections.abc import Generator

__all__ = ["as_options", "without_options"]

_SAYING = re.compile(r"""(?<![-\w])(?=(?:unit|column) "?[a-z_]+=|decimal '|dates [dmy]/)""")
_OFFER = re.compile(r""",? or (?:say|insist)[^:]*: (?:unit|column|decimal|dates) .*$|^say .*: (?=column |decimal |dates ).*$""")  # fmt: skip


@contextmanager
def as_options() -> Generator[None]:
    """Hints name the options of a command: `--unit voltage=mV`, `--column "voltage=U cell"`.

    >>> with as_options():
    ...     raise TableError("no unit", next_step="say it: unit voltage=mV")
    Traceback (most recent call last):
        ...
    aerode.errors.TableError: no unit
    Next: say it: --unit voltage=mV
    """
    try:
        yield
    except TableError as error:
        raise _with(error, _SAYING.sub("--", error.next_step)) from error


@contextmanager
def without_options() -> Generator[None]:
    """Hints for a file that nobody can say anything about but by changing it: what stands in a folder.

    >>> with without_options():
    ...     raise TableError("no unit", next_step="write it into the heading, or say it: unit voltage=mV")
    Traceback (most recent call last):
        ...
    aerode.errors.TableError: no unit
    Next: write it into the heading
    """
    try:
        yield
    except TableError as error:
        kept = _OFFER.sub("", error.next_step)
        raise _with(error, kept or "write it so that it can be meant in one way only") from error


def _with(error: TableError, next_step: str) -> TableError:
    return TableError(error.what, where=error.where, allowed=error.allowed, next_step=next_step)
