"""The answer of `demo`: the loop run once on an invented bench, scored against its hidden truth."""

from __future__ import annotations

from aerode.records.cautions import Caution
from aerode.records.comparisons import Comparison
from aerode.records.marks import record

__all__ = ["DemoAnswer"]


@record
class DemoAnswer:
    """What the demo found, and how near it came."""

    schema: str = "aerode.demo/1"
    headline: str
    seed: int
    bench_file: str
    report_file: str
    comparison: Comparison
    fall: str
    next_batch: str = ""
    """What the next batch is worth, in a few words; predicted."""
    battery: str = ""
    """The battery for the load of the story, in a few words; predicted."""
    caution: Caution | None
    rms_log_error: float
    rank_agreement: float
    ammeter_rank_agreement: float
    pairs_right: int
    pairs: int
