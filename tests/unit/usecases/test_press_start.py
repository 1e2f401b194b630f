"""How hard and how long people begin with a warm press. Both from memory: the table says so."""

from __future__ import annotations

from aerode.reference.process_figures import process_figure
from aerode.reference.rows import Status
from aerode.usecases.press_start import beside_start, usual_start
from aerode.usecases.process_pressing import PressQuestion, press
from aerode.usecases.process_words import process_facts


def test_what_is_from_memory_says_so() -> None:
    """The pressure and the time carry no source, and the sentence tells it."""
    rows = [process_figure("warm press", word) for word in ("starting_pressure", "starting_time")]

    assert {row.status for row in rows} == {Status.UNVERIFIED}
    assert usual_start().endswith("from memory, no source")


def test_the_reckoned_pressure_stands_beside_the_usual_one() -> None:
    """20 kg on 36 cm² are 54 kPa by hand: gentler than 0.2 MPa; on 4 cm² 490 kPa: within."""
    gentle, within = (
        dict(process_facts(press(PressQuestion(weights="20 kg", area=area))))["Usual"]
        for area in ("36 cm^2", "4 cm^2")
    )

    assert "0.2 to 2 MPa for 2 to 5 min" in gentle
    assert gentle.endswith("yours is gentler than that")
    assert within.endswith("yours lies within that")
    assert beside_start(1e5, 1e6) == "yours may lie within that"
    assert beside_start(3e6, 4e6) == "yours is harder than that"
