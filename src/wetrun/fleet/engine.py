"""What carries the work out: any engine takes a function and tasks, and gives the results as they come.

Results come in any order and with the number of their task. What is made of them never depends on that order.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

Task = TypeVar("Task")
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Died:
    """A task on which every worker died that tried it.

    Attributes
    ----------
    times : int
        How often.
    """

    times: int

    @property
    def words(self) -> str:
        """What to tell about it."""
        remedy = "Look whether it is very large for the memory there is, or use fewer workers"
        return f"the worker died on it, {self.times} times. {remedy}."


class Engine(Protocol):
    """Carries tasks out."""

    def results(self, function: Callable[[Task], Result], tasks: Sequence[Task]) -> Iterator[tuple[int, Result | Died]]:
        """Yield the number of each task with its result, as they come."""
        ...


class InOrder:
    """No workers at all: one task after the other, in this process. What the others are held against."""

    def results(self, function: Callable[[Task], Result], tasks: Sequence[Task]) -> Iterator[tuple[int, Result | Died]]:
        """Yield the number of each task with its result, in order."""
        for at, task in enumerate(tasks):
            yield at, function(task)
