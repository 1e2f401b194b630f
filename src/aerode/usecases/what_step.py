"""The steps that bring a bench on, from the empty shelf to the verdict, in the words of the first page."""

from __future__ import annotations

from enum import StrEnum

from aerode.usecases.electrode_page_next import PieceAct
from aerode.usecases.unsaid_solvents import SAY_IT

__all__ = ["ON_A_PIECE", "Step"]


class Step(StrEnum):
    """The cheapest act that brings the bench on."""

    SETTLE = "settle a record that stands in two states"
    METER = "enter the multimeter"
    RESISTORS = "enter the resistors"
    SCALE = "enter the scale"
    POWDER = "enter the first powder"
    CATALYST = "enter a catalyst, or do without"
    BINDER = "enter the binder"
    SOLIDS = "say the solids"
    MIX = "plan the first mix"
    SOLVENT = SAY_IT
    POT = "weigh the pot"
    MESH = "enter the mesh"
    ELECTRODE = "enter the first electrode"
    COAT = PieceAct.COAT.value
    WEIGH = PieceAct.WEIGH.value
    PRESS = PieceAct.PRESS.value
    ALUMINIUM = PieceAct.ALUMINIUM.value
    ELECTROLYTE = PieceAct.ELECTROLYTE.value
    CELL = PieceAct.CELL.value
    GO_ON = "go on with the run"
    CLOSE = "close the run"
    READ_AGAIN = "read a load again"
    MEASURE = PieceAct.MEASURE.value
    SECOND = "make a second electrode"
    SECOND_MIX = "plan a second mix"
    BUILD = "build one more"
    COMPARE = "look at the comparison"


ON_A_PIECE = frozenset({Step.COAT, Step.WEIGH, Step.PRESS, Step.CELL})
"""Steps that are about one piece and not about its reading."""
