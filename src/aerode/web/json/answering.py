"""How the JSON interface asks and answers: questions from their own definition, records as the command line prints them."""

from __future__ import annotations

import dataclasses
import inspect
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated, Any, Literal, TypeVar, cast

import pydantic
from fastapi import Body, Query
from starlette.responses import JSONResponse

from aerode.records.adapter import write_whole
from aerode.records.marks import record
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Callable

    from fastapi import Request

__all__ = ["REFUSALS", "FieldRefusal", "RefusalTold", "body_of", "query_of", "settings_of", "told"]

T = TypeVar("T")

Strength = Literal[
    "mass_fraction", "molality", "molarity", "grams_per_100_ml_water", "practical_salinity"
]
"""How strong a solution is can be said in these ways."""

# The annotations that a question may carry, and what they are on the wire.
_WIRE: dict[str, Any] = {
    "str": str,
    "int": Annotated[int, pydantic.Field(ge=0, le=1_000_000)],
    "bool": bool,
    "float | None": float | None,
    "tuple[str, ...]": list[str],
    "Mapping[str, str]": dict[Strength, str],
}


@record
class FieldRefusal:
    """One field that cannot be taken, what is allowed, and what was sent."""

    field: str
    what: str
    allowed: str = ""
    raw: str = ""


@record
class RefusalTold:
    """Why nothing was stored or answered, and what to do about it."""

    schema: str = "aerode.refusal/1"
    kind: str
    what: str
    where: str = ""
    allowed: str = ""
    next_step: str = ""
    faults: tuple[FieldRefusal, ...] = ()


REFUSALS: dict[int | str, dict[str, Any]] = {
    400: {"model": RefusalTold, "description": "It cannot be taken; every bad field is named"},
    401: {"model": RefusalTold, "description": "You are not in"},
    403: {"model": RefusalTold, "description": "This key or this role may not"},
    404: {"model": RefusalTold, "description": "Nothing of that name; the near ones are named"},
    409: {"model": RefusalTold, "description": "It changed meanwhile, or a STOP stands before it"},
    413: {"model": RefusalTold, "description": "More than may be sent at once"},
    422: {"model": RefusalTold, "description": "The request is not of the form that is asked for"},
    503: {"model": RefusalTold, "description": "Somebody else is writing; ask again"},
}
"""What any route may answer beside its own record."""


def told(answer: object, *, status: int = 200) -> JSONResponse:
    """A record as the command line prints it with `--json`."""
    return JSONResponse(write_whole(answer), status_code=status)


def settings_of(request: Request) -> Settings:
    """The settings of this start."""
    return cast("Settings", request.app.state.settings)


def _fields(cls: type, without: frozenset[str]) -> list[tuple[str, Any, Any]]:
    """Name, wire type and default of each field of a question that can be sent."""
    found: list[tuple[str, Any, Any]] = []
    for one in dataclasses.fields(cls):
        wire = _WIRE.get(str(one.type))
        if wire is None or one.name in without:
            continue
        default: Any = one.default
        if default is dataclasses.MISSING:
            made = one.default_factory
            default = ... if made is dataclasses.MISSING else made()
        found.append((one.name, wire, list(default) if isinstance(default, tuple) else default))  # pyright: ignore[reportUnknownArgumentType]
    return found


def _made(cls: type[T], values: dict[str, Any]) -> T:
    return cls(**{k: tuple(v) if isinstance(v, list) else v for k, v in values.items()})  # pyright: ignore[reportUnknownArgumentType]


@lru_cache(maxsize=64)
def query_of(cls: type[T], without: frozenset[str] = frozenset()) -> Callable[..., T]:
    """A question that is asked in the address: each of its fields is one query parameter.

    Parameters
    ----------
    cls : type
        A question of a use-case.
    without : frozenset of str
        Fields that are said elsewhere.
    """
    parameters = [
        inspect.Parameter(
            name, inspect.Parameter.KEYWORD_ONLY, annotation=Annotated[wire, Query()],
            default=inspect.Parameter.empty if default is ... else default,
        )
        for name, wire, default in _fields(cls, without)
        if wire is not _WIRE["Mapping[str, str]"]
    ]  # fmt: skip

    def asked(**values: Any) -> T:
        return _made(cls, values)

    asked.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    return asked


@lru_cache(maxsize=64)
def body_of(cls: type[T], without: frozenset[str] = frozenset()) -> Callable[..., T]:
    """A question that is asked in the body: a document with its fields, and no others."""
    fields: dict[str, Any] = {
        name: (wire, default) for name, wire, default in _fields(cls, without)
    }
    config = pydantic.ConfigDict(extra="forbid", allow_inf_nan=False)
    model: type[pydantic.BaseModel] = pydantic.create_model(
        cls.__name__, __config__=config, **fields
    )

    def asked(**values: Any) -> T:
        return _made(cls, values["question"].model_dump())

    question = inspect.Parameter(
        "question", inspect.Parameter.KEYWORD_ONLY, annotation=Annotated[model, Body()]
    )
    asked.__signature__ = inspect.Signature([question])  # type: ignore[attr-defined]
    return asked
