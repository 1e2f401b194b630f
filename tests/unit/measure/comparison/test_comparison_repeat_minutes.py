"""How long one more run takes is said alike where a run begins and where a comparison asks for it."""

from __future__ import annotations

import re

from aerode.measure.comparison.next_steps import ACTS, acts_with
from aerode.measure.run_plans import resistances
from aerode.records.instruments import Instrument, Sort
from aerode.usecases.run_begin import what_each_costs


def test_one_more_run_takes_what_the_start_of_a_run_says() -> None:
    """Five resistors: the minutes of the act are those that stand above the form."""
    parts = [Instrument(name=f"{r:g} ohm", sort=Sort.RESISTOR, nominal_resistance=r) for r in (100.0, 47.0, 22.0, 10.0, 4.7)]  # fmt: skip
    at_hand = resistances(parts)
    said = re.search(r"Full: about (\d+) minutes", what_each_costs(at_hand))
    (act,) = [one for one in acts_with(at_hand) if one.rereads]

    assert said is not None
    assert act.words.endswith(f"(about {said[1]} min)")
    assert round(act.minutes) == int(said[1]) == 17


def test_without_a_resistor_no_minutes_are_said() -> None:
    """Nobody knows how long a run takes that cannot be planned."""
    assert acts_with({}) == ACTS
    assert not any("min)" in act.words for act in ACTS if act.rereads)
