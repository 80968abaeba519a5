"""The error tree. Errors hold data; `wetrun.quantity.sentence` makes the sentence a reader sees.

    WetrunError                 1
    ├── InputProblems           2   one or more things wrong in what somebody typed (file, key, value, limit, remedy)
    ├── QuantityRefused         2   a typed number with a unit could not be read
    ├── OutOfRange              3   a value outside the range a model or machine is valid for (SI data inside)
    ├── NotDefined              3   a question without an answer (droplet class of a streamer)
    ├── LogRefused              4   a field log that cannot be used: where, and why
    ├── NotProven               5   the solver did not prove its answer
    ├── CannotWrite             6   an output could not be written; nothing half-written is left
    ├── WorkersFailed           7   the processes or computers that should share the work cannot
    └── NotServed               8   the shop cannot be started, or ended by itself

The number is the exit code of the command line. A finding about a sprayer is a result, never an error.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from wetrun.units import Unit


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in one place of one document, in the words of the person who typed it."""

    file: str
    key: str
    value: str
    limit: str
    remedy: str

    def __str__(self) -> str:
        place = f"{self.file}: {self.key}" if self.key else self.file
        shown = f" is {self.value}" if self.value else ""
        return f"{place}{shown}: {self.limit}. {ended(self.remedy)}"


def ended(remedy: str) -> str:
    """Return a remedy closed like a sentence, so that no reader takes it for cut off.

    Parameters
    ----------
    remedy : str
        What to do next.

    Returns
    -------
    str
        The same, with a full stop if it had no end.

    Example
    -------
    >>> ended("Type the rate"), ended("Which one was meant?")
    ('Type the rate.', 'Which one was meant?')
    """
    return remedy if remedy.endswith((".", "!", "?")) else f"{remedy}."


class WetrunError(Exception):
    """Base of every error Wetrun raises on purpose."""

    exit_code: ClassVar[int] = 1


class InputProblems(WetrunError):
    """Everything wrong in a document, all at once."""

    exit_code = 2

    def __init__(self, problems: Sequence[Problem]) -> None:
        if not problems:
            raise ValueError("InputProblems needs at least one problem")
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(p) for p in self.problems))


class QuantityRefused(WetrunError):
    """A typed quantity that could not be read.

    ``text`` is what was typed, ``reason`` what is wrong with it, ``accepted`` the units its field takes.
    """

    exit_code = 2

    def __init__(self, text: str, *, reason: str, accepted: Sequence[str]) -> None:
        self.text = text
        self.reason = reason
        self.accepted = tuple(accepted)
        super().__init__(f"“{text}” {reason}; accepted here: {', '.join(self.accepted)}.")


class OutOfRange(WetrunError):
    """A value outside the range a model, tip or machine is valid for. Value and limits are SI."""

    exit_code = 3

    def __init__(
        self,
        thing: str,
        value: float,
        unit: Unit,
        *,
        low: float | None = None,
        high: float | None = None,
        remedy: str,
    ) -> None:
        self.thing = thing
        self.value = value
        self.unit = unit
        self.low = low
        self.high = high
        self.remedy = remedy
        bounds = {
            (True, True): f"from {low} to {high}",
            (True, False): f"at least {low}",
            (False, True): f"at most {high}",
            (False, False): "a finite number",
        }[(low is not None, high is not None)]
        super().__init__(f"{thing} is {value} {unit.symbol}: it must be {bounds} {unit.symbol}. {ended(remedy)}")


class NotDefined(WetrunError):
    """A question that has no answer for this thing; ``remedy`` says what to ask instead."""

    exit_code = 3

    def __init__(self, thing: str, *, reason: str, remedy: str) -> None:
        self.thing = thing
        self.reason = reason
        self.remedy = remedy
        super().__init__(f"{thing}: {reason}. {ended(remedy)}")


class LogRefused(WetrunError):
    """A field log that cannot be used. ``place`` is a row, byte or column of it."""

    exit_code = 4

    def __init__(self, file: str, *, place: str, reason: str, remedy: str) -> None:
        self.file = file
        self.place = place
        self.reason = reason
        self.remedy = remedy
        where = f"{file}, {place}" if place else file
        super().__init__(f"{where}: {reason}. {ended(remedy)}")


class NotProven(WetrunError):
    """The solver stopped without a proof that its plan is the best."""

    exit_code = 5


class CannotWrite(WetrunError):
    """An output could not be written; nothing half-written is left behind."""

    exit_code = 6

    def __init__(self, path: str, *, reason: str, remedy: str) -> None:
        self.path = path
        self.reason = reason
        self.remedy = remedy
        super().__init__(f"{path} cannot be written: {reason}. {ended(remedy)}")


class WorkersFailed(WetrunError):
    """Processes or computers that should share the work cannot; ``thing`` names them."""

    exit_code = 7

    def __init__(self, thing: str, *, reason: str, remedy: str) -> None:
        self.thing = thing
        self.reason = reason
        self.remedy = remedy
        super().__init__(f"{thing}: {reason}. {ended(remedy)}")


class NotServed(WetrunError):
    """The shop cannot be started, or ended by itself; ``thing`` names the part of it."""

    exit_code = 8

    def __init__(self, thing: str, *, reason: str, remedy: str) -> None:
        self.thing = thing
        self.reason = reason
        self.remedy = remedy
        super().__init__(f"{thing}: {reason}. {ended(remedy)}")
