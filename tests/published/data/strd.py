"""The one reader of the NIST StRD files beside it.

The files are US government work in the public domain, kept byte for byte as they were published:
the four nonlinear sets as they stand in the source distribution of a general curve-fitting library
(folder NIST_STRD), the others as they stand in scipy's wheel (scipy/stats/tests/data). Each was
compared line by line with the values in its own header by the tests that use it.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).parent

DIGESTS = {
    "AtmWtAg": "41d7748bb1f870d8400017c53993eea65862ffd482aae1693be84d93245c303f",
    "BoxBOD": "406992ecdd177696e45662e927ad26947d9f3b095e02537d50fc880f982d720a",
    "DanWood": "e8d05d54bc3646796cf8d5291c5e39c826049df4771587263357d76c18c393c2",
    "MGH09": "6913c6e6f158da10d70154b6288883e81bc17f69e6092ae87ad44977552d18bf",
    "Misra1a": "45c8da1de19d1cd0bdcefe06e333dee7ec8b31fa5c58b4eada427a7777853650",
    "Norris": "cc3fd14d1c5fa891d5653000c9d7732c30db842cca49fc051abde1c19d67ab7d",
    "SiRstv": "c7dc09da0d6a9f37f80caff0f45fd688e883303120e2d776cfab94efb1b4ef13",
    "SmLs01": "29d9c979d46d845ed72c0fb0ed79083c8313833bbcf72040326640d87e2e40e4",
    "SmLs04": "7c8f87a60245f5c7467418a7725855cce71608273964966e5da954c22ad5fa57",
    "SmLs07": "42d492d7577ebe456fa9a204789ea8370c844f508aa3242a8e57c1976b133890",
}


@dataclass(frozen=True)
class Set:
    """One file: its header lines and its table of numbers."""

    name: str
    lines: list[str]
    table: np.ndarray

    def numbers(self, label: str) -> list[float]:
        """All numbers of the first header line that starts with this label and has any."""
        for line in self.lines[:60]:
            head, rest = line.strip()[: len(label)], line.strip()[len(label) :]
            found = re.findall(r"[-+]?\d*\.?\d+(?:E[-+]?\d+)?", rest)
            if head == label and found:
                return [float(n) for n in found]
        raise KeyError(label)

    def parameters(self) -> tuple[list[list[float]], list[float], list[float]]:
        """Both starts, certified values and certified standard deviations (nonlinear sets)."""
        rows = [self.numbers(f"b{k} =") for k in range(1, 10) if self._has(f"b{k} =")]
        columns = [list(column) for column in zip(*rows, strict=True)]
        return columns[:2], columns[2], columns[3]

    def _has(self, label: str) -> bool:
        return any(line.strip().startswith(label) for line in self.lines[:60])


def read(name: str) -> Set:
    """A set by its name; refused if the file is not the one that was put here."""
    content = (FOLDER / f"{name}.dat").read_bytes()
    digest = hashlib.sha256(content).hexdigest()
    if digest != DIGESTS[name]:
        raise ValueError(f"{name}.dat is not the published file any more")
    lines = content.decode("ascii").splitlines()
    rows = [line.split() for line in lines[60:] if line.split()]
    return Set(name, lines, np.array([[float(v) for v in row] for row in rows]))
