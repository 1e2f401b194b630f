"""From a template and a record to a page."""

from __future__ import annotations

import base64
import hashlib
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

import jinja2
from markupsafe import Markup, escape
from starlette.responses import HTMLResponse

from aerode.errors import AerodeError
from aerode.records.places import Bench
from aerode.report.figure_table import data_table
from aerode.report.printed import dated
from aerode.report.svg import draw
from aerode.report.tokens import token_css
from aerode.report.told_cautions import plain_reference
from aerode.store.bench_file import BenchFile
from aerode.usecases.bench_units import amount
from aerode.usecases.source_words import named_source, without_key
from aerode.web.page_words import WAYS, Way, for_pages, in_page_words
from aerode.web.words import as_read, many_short_rows, plain_words, tied, with_labels, with_signs

if TYPE_CHECKING:
    from starlette.requests import Request

    from aerode.records.figures import Figure

__all__ = ["address", "asset", "asset_text", "own_page", "page", "plain_page", "refusal_page"]

_ASSETS = {"pages.css": "text/css; charset=utf-8"}
"""Style and script files that are our own, with their media types; scripts are found by name."""
_FIGURES = 128
"""Figures that stay drawn: a figure is a record, so the same one is the same drawing."""


def address(*parts: object, **query: object) -> str:
    """A path of this site from its parts, each quoted; empty query values are left out.

    >>> address("electrodes", "T 6/a", tab="press")
    '/electrodes/T%206%2Fa?tab=press'
    """
    from urllib.parse import urlencode

    path = "/" + "/".join(quote(str(part), safe="") for part in parts)
    told = {key: str(value) for key, value in query.items() if value not in (None, "")}
    return f"{path}?{urlencode(told)}" if told else path


@lru_cache(maxsize=64)
def asset_text(name: str) -> str | None:
    """The text of one of our own style or script files; None if there is no such file."""
    if name == "pages.css":
        own = resources.files("aerode.web").joinpath("static/pages.css").read_text("utf-8")
        figure = resources.files("aerode.report").joinpath("figure.css").read_text("utf-8")
        return token_css() + own + figure
    if not name.removesuffix(".js").replace("_", "").isalnum() or not name.endswith(".js"):
        return None
    place = resources.files("aerode.web").joinpath("static", name)
    return place.read_text("utf-8") if place.is_file() else None


@lru_cache(maxsize=64)
def asset(name: str) -> str:
    """The address of a style or script file, with its digest, so that a new version is a new address."""
    text = asset_text(name)
    if text is None:
        raise LookupError(name)
    return f"/static/{hashlib.sha256(text.encode()).hexdigest()[:12]}/{name}"


def _sized(value: float, unit: str) -> str:
    """A number in the unit a bench uses for one of its size; a plain one without a unit."""
    return amount(value, unit) if unit else f"{value:.4g}"


@lru_cache(maxsize=_FIGURES)
def _drawn(figure: Figure, width: int) -> Markup:
    # `draw` escapes every text of the record itself.
    return Markup(draw(figure, width=width))


@lru_cache(maxsize=_FIGURES)
def _numbers(figure: Figure) -> Markup:
    """The table of a figure as the pages show it."""
    macros: Any = _environment().get_template("parts/plate.html").module
    return Markup(macros.table(data_table(figure), True))


def _way_in(text: str) -> Way | None:
    """The page that does what a sentence advises; None where it names none."""
    return next((way for way in WAYS if way.place and way.said.search(text)), None)


@lru_cache(maxsize=1)
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("aerode.web", "templates"),
        autoescape=True,
        auto_reload=False,  # the templates are part of the program
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )
    environment.globals.update(  # pyright: ignore[reportUnknownMemberType]
        draw=_drawn,
        numbers=_numbers,
        asset=asset,
        address=address,
        many_short_rows=many_short_rows,
    )
    told: dict[str, Any] = {
        "words": plain_words, "signs": with_signs, "tied": tied, "labels": with_labels,
        "paged": for_pages, "dated": dated, "reference": plain_reference, "read": as_read,
        "sized": _sized, "named": named_source, "sourced": without_key, "way": _way_in,
    }  # fmt: skip
    environment.filters.update(told)  # pyright: ignore[reportUnknownMemberType]
    return environment


def page(request: Request, template: str, *, status: int = 200, **context: Any) -> HTMLResponse:
    """A whole page.

    Parameters
    ----------
    request : Request
        What was asked; its state holds the visitor and the head of the bench.
    template : str
        Below `templates/`.
    status : int
        Of HTTP.
    **context
        What the template shows.
    """
    state = request.scope.get("state", {})
    told = {
        "visitor": state.get("visitor"),
        "settings": request.app.state.settings,
        "bench_title": _title_of(request, state),
        "place": request.url.path,
        "stage": "",
        **{name: in_page_words(value, context.get("labels")) for name, value in context.items()},
    }
    told["refused"] = request.method == "POST" and status in {409, 422}
    return HTMLResponse(_environment().get_template(template).render(told), status_code=status)


def _title_of(request: Request, state: dict[str, Any]) -> str:
    """The title of the bench, on pages that do not open it too; "" where it cannot be read."""
    if "bench_title" in state or state.get("visitor") is None:
        return state.get("bench_title", "")
    try:
        with BenchFile.open(request.app.state.settings.bench, read_only=True) as bench:
            own = next(iter(bench.all(Bench)), None)
    except AerodeError:
        return ""
    return own.title if own else ""


def plain_page(template: str, *, status: int = 200, **context: Any) -> HTMLResponse:
    """A page for somebody who is not in yet: it knows nothing of the bench."""
    return HTMLResponse(_environment().get_template(template).render(context), status_code=status)


_WAY_BACK = (
    ".way-back { margin: 0; padding: .6rem 1rem; font: 1rem/1.4 ui-sans-serif, system-ui, sans-serif; } "
    ".way-back a { display: inline-block; padding: .6rem 0; } @media print { .way-back { display: none; } }"
)


def own_page(made: str, *, back: str) -> HTMLResponse:
    """A file that carries its style inside, shown as a page: a report, a bench sheet.

    Only that very style is let in, by its digest (CSP Level 3), and pictures that stand in the file;
    above it stands a link to `back`, which is never printed.
    """
    styles = (made.partition("<style>")[2].partition("</style>")[0], _WAY_BACK)
    allowed = " ".join(
        f"'sha256-{base64.b64encode(hashlib.sha256(one.encode()).digest()).decode()}'"
        for one in styles
    )
    policy = (
        f"default-src 'none'; style-src {allowed}; img-src data:; base-uri 'none'; "
        "form-action 'none'; frame-ancestors 'none'"
    )
    way = f'<nav class="way-back"><a href="{escape(back)}">← Back</a></nav>'
    made = made.replace("</head>", f"<style>{_WAY_BACK}</style>\n</head>", 1)
    made = made.replace("<body>", f"<body>\n{way}", 1)
    return HTMLResponse(made, headers={"content-security-policy": policy})


def refusal_page(
    title: str, lines: list[str], *, way_out: str = "/", way_out_words: str = ""
) -> str:
    """A small page that needs nothing but its own words: for the door, before anybody is in."""
    template = _environment().get_template("door.html")
    return template.render(title=title, lines=lines, way_out=way_out, way_out_words=way_out_words)
