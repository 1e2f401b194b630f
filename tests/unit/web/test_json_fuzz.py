"""Generated requests to every route of our own OpenAPI document: no fault of the program, whatever comes in."""

from __future__ import annotations

import os
from collections import Counter
from typing import TYPE_CHECKING, Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from tests.unit.web.conftest import NOON, ORIGIN, PORT

from aerode.records.electrodes import Cell, Electrode
from aerode.records.marks import Entry
from aerode.records.mixes import Mix
from aerode.records.runs import Reading, Run, Unsorted
from aerode.store.bench_file import BenchFile
from aerode.web.app import create_app
from aerode.web.guard.doors import Doors, Role, Ways
from aerode.web.settings import Settings

if TYPE_CHECKING:
    from pathlib import Path

SEED = int(os.environ.get("AERODE_SEED", "20260509"))
"""Of the generated requests; another one is given in the environment."""

_THERE = {"name": ["T1", "T1 loads", "reading 1", "A", "jar 1"], "item": ["T1", "A", "cell T1"], "kind": ["electrode", "run", "mix"], "index": [0, 1]}  # fmt: skip
"""Names that are on the bench: without them nearly every request would end at "no such name"."""


@pytest.fixture
def stocked(bench_place: Path) -> Path:
    """The bench with one of everything that routes ask for."""
    loads = (("open", 0.742), ("100 ohm", 0.66), ("33 ohm", 0.56), ("10 ohm", 0.4))
    readings = tuple(Reading(load=load, voltage=v, text=f"{v}") for load, v in loads)
    with BenchFile.open(bench_place) as bench:
        bench.put_all([
            Mix(name="A"), Electrode(name="T1", wetted_area=Entry(value=9.5e-4)), Cell(name="cell T1", electrode="T1"),
            Run(name="T1 loads", electrode="T1", readings=readings[:2], planned_loads=tuple(load for load, _ in loads)),
            Unsorted(name="reading 1", text="742", voltage=0.742),
        ])  # fmt: skip
    return bench_place


def _fuzz(place: Path, *, each: int, step: int = 1) -> Counter[int]:
    """Generated requests to every `step`-th route, `each` of them; statuses counted, the seed printed."""
    print(f"seed {SEED}: run again with AERODE_SEED={SEED}")
    doors = Doors(clock=lambda: NOON)
    app = create_app(Settings(bench=str(place), port=PORT, clock=lambda: NOON), doors)
    cookie = doors.let_in(who="fuzz", way=Ways.COMPUTER, role=Role.OWNER)
    inner: Any = app.app
    document: Any = inner.openapi()
    schema: Any = schemathesis.openapi.from_dict(document)
    browser = _Browser(app, f"aerode-{PORT}={cookie}")
    counted: Counter[int] = Counter()
    for number, found in enumerate(schema.get_all_operations()):
        operation = found.ok()
        if number % step == 0 and not operation.path.endswith("/stream"):
            _ask(operation, browser, counted, each)
    return counted


class _Browser:
    """Sends what was generated, byte for byte."""

    def __init__(self, app: Any, cookie: str) -> None:
        from starlette.testclient import TestClient

        self._inner = TestClient(app, base_url=ORIGIN, raise_server_exceptions=False)
        self._own = {"cookie": cookie, "origin": ORIGIN}

    def send(self, case: Any) -> Any:
        told = case.as_transport_kwargs(base_url=ORIGIN)
        headers = {k: v for k, v in dict(told.get("headers") or {}).items() if k.lower() not in {"cookie", "origin", "host", "authorization"}}  # fmt: skip
        request = {k: told[k] for k in ("params", "json", "data") if told.get(k) is not None}
        if "data" in request and isinstance(request["data"], (bytes, str)):
            request["content"] = request.pop("data")
        return self._inner.request(
            told["method"], told["url"], headers={**headers, **self._own}, follow_redirects=False, **request
        )  # fmt: skip


def _ask(operation: Any, browser: _Browser, counted: Counter[int], each: int) -> None:
    @seed(SEED)
    @settings(
        max_examples=each, database=None, deadline=None, phases=[Phase.generate], derandomize=False,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large],
    )  # fmt: skip
    @given(case=operation.as_strategy(), data=st.data())
    def one(case: Any, data: st.DataObject) -> None:
        parameters = case.path_parameters or {}
        for name in parameters:
            if name in _THERE and data.draw(st.integers(0, 3)):
                parameters[name] = data.draw(st.sampled_from(_THERE[name]))
        answer = browser.send(case)
        counted[answer.status_code] += 1
        assert answer.status_code < 500 or answer.status_code == 503, (case.as_curl_command(), answer.text)  # fmt: skip
        if answer.status_code >= 400 and answer.headers["content-type"].startswith("application/json"):  # fmt: skip
            assert answer.json()["schema"] == "aerode.refusal/1"

    one()


def test_generated_requests_meet_no_fault(stocked: Path) -> None:
    """A few hundred over all routes: answers, refusals, and never a fault of the program."""
    counted = _fuzz(stocked, each=8)

    assert sum(counted.values()) >= 300
    assert counted[200] + counted[201] >= 20
    assert sum(n for status, n in counted.items() if 400 <= status < 500) >= 20


@pytest.mark.slow
def test_ten_thousand_generated_requests_meet_no_fault(stocked: Path) -> None:
    """The same, ten thousand and more."""
    counted = _fuzz(stocked, each=270)

    print(dict(counted))
    assert sum(counted.values()) >= 10_000
