"""Hints of the table reader in the words of the place: options of a command, or what to change in a file."""

from __future__ import annotations

import re

import pytest

from aerode.devices.tables import read_table
from aerode.errors import AerodeError, TableError
from aerode.usecases.fit import FitQuestion, fit_table
from aerode.usecases.table_hints import without_options

# A table that needs something said, and the option that says it.
NEEDS = [
    ("current,voltage\n1,0.7\n5,0.6\n20,0.5\n", "--unit current=mA"),
    ("R (ohm),U (mV)\n100,0.7\n47,0.65\n10,0.5\n", "--unit voltage=mV"),
    ("R (ohm),U (V)\n0.7,100\n0.65,47\n0.5,22\n", '--column "voltage=U (V)"'),
    ("R (ohm),U1 (V),U2 (V)\n100,0.7,0.7\n47,0.6,0.6\n10,0.5,0.5\n", '--column "voltage=U1 (V)"'),
    ("time,R (ohm),U (V)\n03/05/2025,100,0.7\n04/05/2025,47,0.6\n05/06/2025,10,0.5\n", "--dates d/m/y"),
    ("R (ohm);U (V)\n1,200;0,700\n1.100;0.600\n", "--decimal ','"),
]  # fmt: skip


def _refusal(text: str, question: FitQuestion) -> str:
    """What the command would print; "" where the table was taken."""
    try:
        fit_table(text, question, name="readings.csv")
    except AerodeError as error:  # a table that is taken may still hold too few loads for a curve
        return str(error)
    return ""


@pytest.mark.parametrize(("text", "option"), NEEDS)
def test_fit_names_its_own_options(text: str, option: str) -> None:
    """What a person has to say is an option of the command, never a line of Python."""
    with pytest.raises(TableError) as refused:
        fit_table(text, FitQuestion(), name="readings.csv")
    assert option in refused.value.next_step
    assert "{" not in refused.value.next_step


@pytest.mark.parametrize(("text", "option"), NEEDS)
def test_the_option_that_is_named_helps(text: str, option: str) -> None:
    """With what the hint names the table is taken, or at least that refusal is gone."""
    flag, said = re.fullmatch(r"--(\w+) [\"']?(.*?)[\"']?", option).groups()  # type: ignore[union-attr]
    field = {"unit": "units", "column": "columns"}.get(flag, flag)
    question = FitQuestion(**{field: (said,) if field.endswith("s") and field != "dates" else said})
    assert option not in _refusal(text, question)


@pytest.mark.parametrize(("text", "option"), NEEDS)
def test_a_folder_names_none(text: str, option: str) -> None:
    """Where nothing can be said beside the file, only what to change in it is named."""
    with pytest.raises(TableError) as refused, without_options():
        read_table(text, name="runs/T1.csv").column("voltage")
    assert not re.search(r"\b(unit|column|decimal|dates) [\"'\w]+[=/']", refused.value.next_step)
    assert refused.value.next_step
