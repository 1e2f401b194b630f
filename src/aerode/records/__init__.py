"""One definition of each thing on the bench: frozen dataclasses with units and bounds.

`KINDS` maps the word under which a record is stored to its class; `aerode.records.adapter` is the
only reader and writer.
"""

from __future__ import annotations

from aerode.records.attachments import Attachment
from aerode.records.cautions import Acknowledgement
from aerode.records.electrodes import Cell, Electrode
from aerode.records.instruments import Instrument
from aerode.records.materials import (
    Aluminium,
    Electrolyte,
    MeshCard,
    PowderLot,
    Solution,
    SolventLot,
)
from aerode.records.mixes import Batch, Mix
from aerode.records.places import Bench, Claim, Room, RunOrder
from aerode.records.runs import Run, Unsorted
from aerode.records.symptoms import Symptom

__all__ = ["KINDS"]

KINDS: dict[str, type] = {
    "bench": Bench,
    "powder": PowderLot,
    "solution": Solution,
    "solvent": SolventLot,
    "mesh": MeshCard,
    "electrolyte": Electrolyte,
    "aluminium": Aluminium,
    "mix": Mix,
    "batch": Batch,
    "electrode": Electrode,
    "cell": Cell,
    "instrument": Instrument,
    "run": Run,
    "unsorted": Unsorted,
    "room": Room,
    "claim": Claim,
    "order": RunOrder,
    "symptom": Symptom,
    "acknowledgement": Acknowledgement,
    "attachment": Attachment,
}
