"""How long it takes from an empty bench to the first stored reading: hands by a model, answers by the clock."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import pytest

from aerode.records.runs import Run
from aerode.store.bench_file import BenchFile

if TYPE_CHECKING:
    from collections.abc import Callable

pytestmark = pytest.mark.browser

# The keystroke-level model: S. K. Card, T. P. Moran, A. Newell, Comm. ACM 23(7), 396-410 (1980), the
# table of operators, read in a reprint of it (University of Hamburg, course on the evaluation of
# software, page "GOMS"). It tells an expert's time without errors, within 21 % for one task.
KEY = 0.50
"""One key [s]: the table's "typing random letters". An average non-secretary typist (40 words a minute)
takes 0.28 s; names and numbers on a phone, with one hand, are slower, so the slower figure is taken."""
POINT = 1.10
"""To point at a target [s]; the press itself is a key."""
HOME = 0.40
"""To move the hand between keyboard and mouse [s]; on a phone there is nothing to move between."""
MIND = 1.35
"""To make up one's mind before each part of the job [s]: before each field, and before each button."""
MOST = 60.0
"""What the whole way may take [s]."""
FIELDS = 4


@dataclass
class Hand:
    """A person at a page: counts what the hand and the head do, and waits with a clock for the page."""

    page: Any
    phone: bool
    counted: dict[str, int] = field(default_factory=lambda: {"K": 0, "P": 0, "H": 0, "M": 0})
    answered: float = 0.0
    """What the program and the browser took [s]."""
    fields: int = 0
    _on_keys: bool = False

    def _to(self, *, keys: bool) -> None:
        if not self.phone and keys is not self._on_keys:
            self.counted["H"] += 1
        self._on_keys = keys

    def _count(self, **done: int) -> None:
        for operator, count in done.items():
            self.counted[operator] += count

    def press(self, what: Any, *, waits_for: str) -> None:
        """Press a link or a button, and wait until the next page shows what comes then."""
        self._to(keys=False)
        self._count(M=1, P=1, K=1)
        began = time.perf_counter()
        what.click()
        self.page.locator(waits_for).first.wait_for()
        self.answered += time.perf_counter() - began

    def fill(self, what: Any, text: str, *, is_there: bool = False) -> None:
        """Go to a field and type; not where the cursor is in it already."""
        if not is_there:
            self._to(keys=False)
            self._count(P=1, K=1)
        self._to(keys=True)
        self._count(M=1, K=len(text))
        self.fields += 1
        what.click() if not is_there else what.focus()
        self.page.keyboard.type(text)

    def seconds(self, key: float = KEY) -> float:
        """The whole time [s]."""
        each = {"K": key, "P": POINT, "H": HOME, "M": MIND}
        return self.answered + sum(count * each[name] for name, count in self.counted.items())


@pytest.mark.parametrize("phone", [True, False], ids=["phone", "laptop"])
def test_the_first_reading_on_an_empty_bench_takes_a_minute_at_most(
    new_site: Any, look: Callable[..., Any], *, phone: bool
) -> None:
    """From the first page to a reading on disk, with at most four fields; waiting for the cell is not counted."""
    with look(**({"width": 360, "height": 740} if phone else {})) as seen:
        page = new_site.enter(seen.page)
        hand = Hand(page, phone)
        hand.press(page.get_by_role("link", name="Measure at once"), waits_for="#f-electrode")
        hand.fill(page.get_by_label("Electrode", exact=False).first, "T6")
        hand.fill(page.get_by_label("Your resistors"), "100, 47, 22, 10 ohm")
        hand.press(page.get_by_role("button", name="Begin"), waits_for="#reading")
        # The cell is put on and comes to rest here: minutes that are its own (two are usual).
        is_there = page.evaluate("document.activeElement?.id") == "reading"
        hand.fill(page.locator("#reading"), "0.742", is_there=is_there)
        hand.press(page.get_by_role("button", name="Take it"), waits_for="text=0.742")
        with BenchFile.open(new_site.bench, read_only=True) as bench:
            run = bench.all(Run)[0]
        assert seen.wrong == []
    told = f"{hand.counted}, answers {hand.answered:.1f} s: {hand.seconds():.1f} s (a fair typist {hand.seconds(0.28):.1f} s)"  # fmt: skip
    print(told)

    assert [r.voltage for r in run.readings] == [0.742]
    assert hand.fields <= FIELDS
    assert hand.seconds() <= MOST, told
