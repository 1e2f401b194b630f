"""The bench file as a state machine: whatever is done in whatever order, against a plain model."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from aerode.errors import ConflictError, InputError, NotFoundError, RecordError
from aerode.records.electrodes import Electrode
from aerode.records.runs import Reading, Run
from aerode.store.bench_file import BenchFile

NAMES = st.sampled_from(["T1", "T2", "t2", "blank Ä", "Z 9"])
NOTES = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=20)


class Bench(RuleBasedStateMachine):
    """Model: for each record the list of its states; None is a withdrawal."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.path = self.folder / "a.aerode"
        self.bench = BenchFile.create(self.path, title="machine")
        self.records: list[list[Electrode | None]] = []
        self.steps = 1

    def standing(self) -> dict[str, list[Electrode | None]]:
        """Name to the states of the record that bears it now."""
        return {states[-1].name: states for states in self.records if states[-1] is not None}

    @rule(name=NAMES, note=NOTES)
    def put(self, name: str, note: str) -> None:
        """A new record, a new state, or nothing new."""
        record = Electrode(name=name, note=note)
        states = self.standing().get(name)
        self.bench.put(record)
        if states is None:
            self.records.append([record])
        elif states[-1] == record:
            return
        else:
            states.append(record)
        self.steps += 1

    @rule(names=st.lists(NAMES, unique=True, min_size=2), note=NOTES)
    def put_none_of_them(self, names: list[str], note: str) -> None:
        """A batch with one bad record leaves no trace."""
        bad = Run(name="r", readings=(Reading(voltage=float("nan")),))
        with pytest.raises(RecordError):
            self.bench.put_all([*(Electrode(name=name, note=note) for name in names), bad])

    @rule(old=NAMES, new=NAMES)
    def rename(self, old: str, new: str) -> None:
        """To a free name; a taken one and a missing one are refused."""
        standing = self.standing()
        if old not in standing:
            with pytest.raises(NotFoundError):
                self.bench.rename(Electrode, old, new)
        elif new in standing and new != old:
            with pytest.raises(ConflictError):
                self.bench.rename(Electrode, old, new)
        else:
            self.bench.rename(Electrode, old, new)
            before = standing[old][-1]
            assert before is not None
            standing[old].append(Electrode(name=new, note=before.note))
            self.steps += 1

    @rule(name=NAMES)
    def withdraw(self, name: str) -> None:
        """Off the list."""
        states = self.standing().get(name)
        if states is None:
            with pytest.raises(NotFoundError):
                self.bench.withdraw(Electrode, name)
            return
        self.bench.withdraw(Electrode, name)
        states.append(None)
        self.steps += 1

    @precondition(lambda self: self.standing())
    @rule(data=st.data())
    def undo(self, data: st.DataObject) -> None:
        """The state before, if its name is still free."""
        standing = self.standing()
        name = data.draw(st.sampled_from(sorted(standing)))
        states = standing[name]
        back = states[-2] if len(states) > 1 else None
        if back is not None and standing.get(back.name, states) is not states:
            with pytest.raises(ConflictError):
                self.bench.undo(Electrode, name)
            return
        if len(self.bench.history(Electrode, name)[-1].parents) > 1:
            with pytest.raises(InputError, match="came from 2 states"):
                self.bench.undo(Electrode, name)
            return
        self.bench.undo(Electrode, name)
        states.append(back)
        self.steps += 1

    @rule()
    def reopen(self) -> None:
        """Close and open: nothing was only in memory."""
        self.bench.close()
        self.bench = BenchFile.open(self.path)

    @rule()
    def rebuild(self) -> None:
        """The derived list made again is the same list."""
        before = self.bench.names(Electrode)
        self.bench.rebuild()
        assert before == self.bench.names(Electrode)

    @rule(name=NAMES, here=NOTES, there=NOTES)
    def part_and_meet(self, name: str, here: str, there: str) -> None:
        """A copy goes away, both change one record, the copy comes back: conflict, then settled."""
        states = self.standing().get(name)
        if states is None or here == there:
            return
        with BenchFile.create(self.folder / f"copy {self.steps}", title="copy") as copy:
            copy.take_in(self.bench.history(Electrode))
            mine = Electrode(name=name, note=f"here {here}")
            theirs = Electrode(name=name, note=f"there {there}")
            changed = self.bench.put(mine) not in copy.history(Electrode)
            copy.put(theirs)
            news = copy.history(Electrode)
        arrived = self.bench.take_in(news)
        self.steps += changed + len(arrived)
        if changed and arrived:
            with pytest.raises(ConflictError):
                self.bench.get(Electrode, name)
            self.bench.settle(theirs)
            self.steps += 1
        states.append(self.bench.get(Electrode, name))

    @invariant()
    def the_lists_agree(self) -> None:
        """Every standing record in its place, no other; no state is ever lost; all is whole."""
        expected: list[Any] = [states[-1] for states in self.records if states[-1] is not None]
        assert expected == self.bench.all(Electrode)
        assert self.steps == len(self.bench.history())
        answer = self.bench.check()
        assert answer.whole, answer.faults

    def teardown(self) -> None:
        self.bench.close()
        shutil.rmtree(self.folder)


TestBench = Bench.TestCase
TestBench.settings = settings(
    max_examples=12,
    stateful_step_count=25,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
