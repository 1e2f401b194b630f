"""Two pages made from the tables: the bibliography, and every figure that is not verified.

Write them with `python -m aerode.reference.pages docs/reference`; a test compares them.
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from aerode.reference.figures import all_rows
from aerode.reference.loader import bibliography
from aerode.reference.materials import bench_uses, wetted_metals
from aerode.reference.process_figures import process_rows, process_sources
from aerode.reference.rows import PublishedRow, Source, Status
from aerode.reference.symptoms import symptom_rows

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["PAGES", "bibliography_page", "main", "unverified_page"]

_HEAD = "Made from the reference tables by `python -m aerode.reference.pages`; do not edit.\n"
_KINDS = (
    ("paper", "Papers"), ("book", "Books"), ("handbook", "Handbooks"), ("standard", "Standards"),
    ("regulation", "Laws and regulations"), ("agency page", "Pages of agencies"), ("guide", "Guides of industry"),
    ("data sheet", "Data sheets"), ("web page", "Other pages"), ("library", "Open libraries and this program"),
    ("practice", "Practice"), ("memory", "Memory"),
)  # fmt: skip


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(_cell(cell) for cell in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def _entry(source: Source, used: int) -> tuple[str, str, str]:
    doi = f" [doi:{source.doi}](https://doi.org/{source.doi})" if source.doi else ""
    who = f"{source.authors} " if source.authors else ""
    when = f"({source.year}) " if source.year else ""
    where = f" {source.published_in}." if source.published_in else ""
    return f"`{source.key}`", f"{who}{when}*{source.title}.*{where}{doi}".strip(), str(used)


def bibliography_page() -> str:
    """The bibliography as markdown: every source by kind, with how many entries rest on it.

    Returns
    -------
    str

    Examples
    --------
    >>> bibliography_page().startswith("# Bibliography")
    True
    """
    used = Counter(row.source for row in all_rows())
    used.update(use.source for use in bench_uses())
    used.update(metal.source for metal in wetted_metals())
    used.update(row.source for row in (*process_rows(), *symptom_rows()))
    known = {**bibliography(), **process_sources()}
    sections = [f"# Bibliography\n\n{_HEAD}"]
    for kind, title in _KINDS:
        entries = [s for s in known.values() if s.kind == kind]
        if entries:
            body = _table(
                ("key", "source", "figures"),
                (_entry(s, used[s.key]) for s in sorted(entries, key=lambda s: s.key)),
            )
            sections.append(f"## {title}\n\n{body}")
    return "\n".join(sections)


def _line(row: PublishedRow) -> tuple[str, ...]:
    return (
        row.substance,
        row.quantity.replace("_", " "),
        row.condition,
        row.shown,
        f"`{row.source}`",
        row.note,
    )


def _section(title: str, rows: Sequence[PublishedRow]) -> str:
    parts = [f"## {title}\n"]
    for name in dict.fromkeys(row.table for row in rows):
        body = _table(
            ("substance", "quantity", "condition", "figure", "source", "note"),
            (_line(row) for row in rows if row.table == name),
        )
        parts.append(f"### {name.replace('_', ' ')}\n\n{body}")
    return "\n".join(parts)


def _told_section() -> str:
    """What is told in words only: trouble by symptom, bench uses, wetted metals."""
    head = ("entry", "what is told", "source", "status")
    symptoms = (
        (row.key, f"{row.seen}: {'; '.join(row.causes)}", f"`{row.source}`", row.status.value)
        for row in symptom_rows()
        if row.status is not Status.VERIFIED
    )
    uses = (
        (f"{use.material} as {use.function}", use.serves, f"`{use.source}`", use.status.value)
        for use in bench_uses()
        if use.status is not Status.VERIFIED
    )
    metals = (
        (f"{metal.metal} in {metal.electrolyte}", metal.effect, f"`{metal.source}`", metal.status.value)
        for metal in wetted_metals()
        if metal.status is not Status.VERIFIED
    )  # fmt: skip
    parts = ["## Told in words\n"]
    for title, rows in (("symptoms", symptoms), ("bench uses", uses), ("wetted metals", metals)):
        parts.append(f"### {title}\n\n{_table(head, rows)}")
    return "\n".join(parts)


def unverified_page() -> str:
    """Every figure that is unverified or was read on a secondary page only, as markdown.

    Returns
    -------
    str
        The tables of substances, the process figures, then what is told in words only.

    Examples
    --------
    >>> "from memory" in unverified_page()
    True
    """
    rows = (*all_rows(), *process_rows())
    count = Counter(row.status for row in rows)
    told = len(symptom_rows()) + len(bench_uses()) + len(wetted_metals())
    open_rows = [row for row in rows if row.status is Status.UNVERIFIED]
    second_hand = [row for row in rows if row.status is Status.SECONDARY]
    intro = (
        f"# Figures that are not verified\n\n{_HEAD}\n"
        f"Of {len(rows)} figures {count[Status.VERIFIED]} are verified (read in a published source, or "
        f"computed from such), {count[Status.SECONDARY]} were read on a secondary page only, and "
        f"{count[Status.UNVERIFIED]} are unverified (from memory, or common practice without a source). "
        f"{told} more entries tell something in words only; they stand at the end.\n\n"
        "The program shows this mark with every figure. Before you act on one of these, look it up in the "
        "safety data sheet, a handbook or your local rule.\n"
    )
    return "\n".join(
        (
            intro,
            _section("Unverified: from memory or common practice", open_rows),
            _section("Read on a secondary page only", second_hand),
            _told_section(),
        )
    )


PAGES = {"bibliography.md": bibliography_page, "unverified-figures.md": unverified_page}


def main(folder: str) -> None:
    """Write both pages into a folder.

    Parameters
    ----------
    folder : str
        Where the reference pages of the documentation stand.
    """
    for name, render in PAGES.items():
        (Path(folder) / name).write_text(render(), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1])
