"""How a published check is read, answered and compared.

A table in ``data`` holds what a source prints, as it is printed, with its inputs in the source's own units. A test
module names its tables (``TABLES``) and says which function of ours answers each quantity (``ANSWERS``); the inputs
reach it in SI, its answer goes back to the unit of the print. The tolerance is half a unit of the last printed digit
unless the table says otherwise and why. A print that is off stays: it is asserted to be off, and our value to be the
one that follows from its own inputs.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from wetrun.quantity.registry import registry, unit_of_expression

DATA = Path(__file__).parent / "data"


@dataclass(frozen=True)
class PublishedCheck:
    """One figure of one source."""

    case: str
    title: str
    source: str
    quantity: str
    unit: str
    inputs: Mapping[str, Any]
    printed: str | None = None
    status: str = "printed"
    worked: float | None = None
    tolerance: float | None = None
    tolerance_why: str = ""
    off: str = ""

    @property
    def expected(self) -> float:
        """What the source says, or what was worked out where it prints nothing."""
        if self.printed is not None:
            return float(self.printed)
        assert self.worked is not None, f"{self.case}: neither printed nor worked"
        return self.worked

    @property
    def allowed(self) -> float:
        """Half a unit of the last printed digit, unless the table says otherwise."""
        if self.tolerance is not None:
            return self.tolerance
        assert self.printed is not None, f"{self.case}: a worked value needs a tolerance"
        exponent = Decimal(self.printed).as_tuple().exponent
        assert isinstance(exponent, int)
        return 0.5 * 10.0**exponent

    def compare(self, answer_si: float) -> None:
        """Assert that an answer [SI] is what the source prints, or that the print is off as the table says."""
        base = unit_of_expression(self.unit)
        value = registry().Quantity(answer_si, (1 * base).to_base_units().units).to(base).magnitude
        # A value halfway between two prints may round either way.
        room = self.allowed * (1.0 + 1e-9) + 1e-12
        if not self.off:
            assert abs(value - self.expected) <= room, f"{value} {self.unit}, source has {self.expected}"
            return
        assert self.worked is not None, f"{self.case}: a print that is off needs the value it should have been"
        assert abs(value - self.expected) > room, f"{value} agrees with the print, which the table calls off"
        assert value == pytest.approx(self.worked, rel=2e-3), f"{value}, its own inputs give {self.worked}"


def _si(value: object) -> object:
    """Turn ``"20 psi"`` into pascal; numbers, sizes and names of grades stay."""
    if not isinstance(value, str) or " " not in value or value.startswith("UAN"):
        return value
    number, unit = value.split(" ", 1)
    return registry().Quantity(float(number), unit_of_expression(unit)).to_base_units().magnitude


def checks_of(table: str) -> list[PublishedCheck]:
    """Return the checks of one table."""
    entries = tomllib.loads((DATA / f"{table}.toml").read_text(encoding="utf-8"))["check"]
    return [
        PublishedCheck(**{**entry, "inputs": {name: _si(value) for name, value in entry["inputs"].items()}})
        for entry in entries
    ]


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Give each test that asks for a ``check`` and its ``answer`` every row of its module's tables."""
    if "check" not in metafunc.fixturenames:
        return
    answers: Mapping[tuple[str, str], Callable[..., float]] = metafunc.module.ANSWERS
    rows = [check for table in metafunc.module.TABLES for check in checks_of(table)]
    asked = {(row.case, row.quantity) for row in rows}
    if asked != set(answers):
        raise pytest.UsageError(f"{metafunc.module.__name__}: unlike in tables and answers: {asked ^ set(answers)}")
    cases = [(row, answers[row.case, row.quantity]) for row in rows]
    names = [f"{row.case}-{row.quantity}-{n}" for n, row in enumerate(rows)]
    metafunc.parametrize(("check", "answer"), cases, ids=names)
