"""The error family.

    AerodeError                 everything this program refuses on purpose
    ├── InputError              something that was typed or handed in cannot be taken
    │   ├── UnitError           a number or a unit that cannot be read
    │   ├── RangeError          readable, but outside what is possible
    │   ├── TableError          a row or column of a table (file, line, column)
    │   └── RecordError         a record with one or more bad fields (all of them are listed)
    ├── StoreError              the bench file cannot be read or written
    │   ├── NotFoundError       no such bench, record or revision
    │   ├── DamagedError        a digest or a derived list does not agree with what is stored
    │   ├── NewerFileError      written by a newer version: reading only
    │   ├── OlderFileError      made by an earlier version: reading only until it is brought up to date
    │   ├── BusyError           another writer holds the file
    │   └── ConflictError       two heads of one record
    │       └── ChangedError    it changed after it was read: read it again
    ├── CannotTellError         the question is fine, the data cannot answer it (carries a reason)
    ├── ReferenceDataError      a published figure without source, or asked outside what is on file
    ├── StoppedError            a STOP caution that was not acknowledged
    └── MissingExtraError       an optional library is not installed

Catch the family like this::

    try:
        ...
    except AerodeError as error:
        print(error)            # what, where, what is allowed, what to do next
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable


def some_of(names: Iterable[str], most: int = 12) -> str:
    """Names with commas between; of more than `most` of them how many are left out.

    Parameters
    ----------
    names : iterable of str
    most : int
        How many are written out.

    Returns
    -------
    str
        "" for none.

    Examples
    --------
    >>> some_of(("R1", "R2")), some_of((f"R{k}" for k in range(1, 6)), most=3)
    ('R1, R2', 'R1, R2, R3 and 2 more')
    """
    every = list(names)
    left = len(every) - most
    return ", ".join(every[:most]) + (f" and {left} more" if left > 0 else "")


class AerodeError(Exception):
    """A refusal that says what, where, what is allowed and what to do next.

    Parameters
    ----------
    what : str
        One sentence: what is wrong.
    where : str
        The place: a field, a file with line and column, a command option.
    allowed : str
        What would be taken instead.
    next_step : str
        The cheapest thing to do now.
    """

    def __init__(
        self, what: str, *, where: str = "", allowed: str = "", next_step: str = ""
    ) -> None:
        self.what = what
        self.where = where
        self.allowed = allowed
        self.next_step = next_step
        super().__init__(str(self))

    def __str__(self) -> str:
        head = f"{self.where}: {self.what}" if self.where else self.what
        parts = [head]
        if self.allowed:
            parts.append(f"Allowed: {self.allowed}")
        if self.next_step:
            parts.append(f"Next: {self.next_step}")
        return "\n".join(parts)

    def __reduce__(self) -> tuple[object, ...]:
        return (_rebuild, (type(self), self.__dict__.copy()))


def _rebuild(kind: type[AerodeError], state: dict[str, object]) -> AerodeError:
    error = kind.__new__(kind)
    error.__dict__.update(state)
    Exception.__init__(error, AerodeError.__str__(error))
    return error


class InputError(AerodeError):
    """Something that was typed or handed in cannot be taken."""


class UnitError(InputError):
    """A number or a unit that cannot be read."""


class RangeError(InputError):
    """Readable, but outside what is possible."""


class TableError(InputError):
    """A row or a column of a table; `where` holds file, line and column."""


@dataclass(frozen=True, slots=True)
class FieldFault:
    """One bad field of a record: its path, what is wrong, what is allowed, the raw text."""

    field: str
    what: str
    allowed: str = ""
    raw: str = ""


class RecordError(InputError):
    """A record with bad fields; `faults` lists every one of them."""

    def __init__(
        self, what: str, faults: tuple[FieldFault, ...], *, where: str = "", next_step: str = ""
    ) -> None:
        self.faults = faults
        allowed = "; ".join(
            f"{f.field}: {f.what}" + (f" (allowed: {f.allowed})" if f.allowed else "")
            for f in faults
        )
        super().__init__(what, where=where, allowed=allowed, next_step=next_step)


class StoreError(AerodeError):
    """The bench file cannot be read or written."""


class NotFoundError(StoreError):
    """No such bench, record or revision."""


class DamagedError(StoreError):
    """A digest or a derived list does not agree with what is stored."""


class OlderFileError(StoreError):
    """An earlier version made the file; it can be read, and written once it was brought up to date."""


class NewerFileError(StoreError):
    """The file was written by a newer version; it can only be read."""


class BusyError(StoreError):
    """Another writer holds the file."""


class ConflictError(StoreError):
    """Two heads of one record that a person has to settle."""


class ChangedError(ConflictError):
    """A record changed after it was read, so what was made of it is not its next state."""


class CannotTellError(AerodeError):
    """The question is fine, the data cannot answer it."""


class ReferenceDataError(AerodeError):
    """A published figure without a source, or one that is not on file."""


class StoppedError(AerodeError):
    """A STOP caution that nobody has acknowledged with a reason."""


class MissingExtraError(AerodeError):
    """An optional library is not installed; `next_step` holds the line to type."""
