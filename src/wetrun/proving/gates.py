"""Gates before water flows: what must be looked at, by whom, and what is said to everybody first.

A gate nobody confirmed is no error: the answer is that the run is not started, and why.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.errors import NotDefined
from wetrun.proving.confirmation import Confirmed

STATEMENT: Final = (
    "This is an evidence sheet: readings taken on water, their uncertainty and what they were held against. It is not "
    "a statutory inspection and takes the place of none."
)

CAUTIONS: Final = (
    "Water only. The label's directions and protective equipment hold for whatever the plumbing still carries.",
    "A used sprayer's plumbing is contaminated, also after a clean-out: gloves and eye protection when tips come off.",
    "Never clear a tip by mouth, nor with wire: use a soft brush or air, or change the tip.",
    "Relieve the pressure before a cap, hose or gauge comes off.",
    "Nobody under a boom or within its swing while it moves; lock it before working on it.",
    "The machine may move when simulated speed goes off: park brake on, nobody at the wheels.",
)


class Gate(StrEnum):
    """What must be known before water flows, in the order in which it is asked."""

    LAST_PRODUCT = "last product in the tank, and how it was cleaned out"
    WHERE_WATER_LANDS = "where the water lands: not in a drain, ditch or well head"
    BACKFLOW = "backflow protection at the fill: an air gap or a proven valve"
    OVERHEAD_LINES = "no overhead lines within reach of the boom as it unfolds"
    NOBODY_UNDER_BOOM = "nobody under or beside the boom"
    CAUTIONS_READ = "cautions read: among them, never clear a tip by mouth or wire"


MAY_NOT_APPLY: Final = frozenset({Gate.BACKFLOW, Gate.OVERHEAD_LINES})
"""Gates that a day may not have: nothing is filled, or the boom already stands unfolded."""

NEEDS_REMARK: Final = frozenset({Gate.LAST_PRODUCT, Gate.WHERE_WATER_LANDS})
"""Gates where a name alone says nothing: the product and its clean-out, and the place, are written down."""


class Answer(StrEnum):
    """What was found at a gate."""

    SAFE = "confirmed"
    NOT_SAFE = "not as it should be"
    NOT_APPLICABLE = "does not apply today"


@dataclass(frozen=True, slots=True)
class GateAnswer:
    """One gate as answered.

    Attributes
    ----------
    gate : Gate
        Which.
    answer : Answer
        What was found.
    confirmed : Confirmed
        By whom, when, and what was seen.

    Raises
    ------
    NotDefined
        A gate that always applies is said not to, or a remark is missing where one is needed.
    """

    gate: Gate
    answer: Answer
    confirmed: Confirmed

    def __post_init__(self) -> None:
        if self.answer is Answer.NOT_APPLICABLE and self.gate not in MAY_NOT_APPLY:
            raise NotDefined(self.gate.value, reason="it applies to every water run", remedy="Look, and confirm it")
        needed = self.gate in NEEDS_REMARK or self.answer is not Answer.SAFE
        if needed and not self.confirmed.remark.strip():
            raise NotDefined(self.gate.value, reason="nothing is written beside it", remedy="Write what was found")


@dataclass(frozen=True, slots=True)
class Shut:
    """A gate that keeps the run from starting.

    Attributes
    ----------
    gate : Gate
        Which.
    why : str
        Nobody answered, or what was found.
    """

    gate: Gate
    why: str


@dataclass(frozen=True, slots=True)
class Start:
    """Whether a run may start.

    Attributes
    ----------
    started : bool
        True if every gate is open.
    answers : tuple of GateAnswer
        As given, in the order of the gates.
    shut : tuple of Shut
        What keeps it from starting.
    """

    started: bool
    answers: tuple[GateAnswer, ...]
    shut: tuple[Shut, ...]

    @property
    def words(self) -> str:
        """The answer in one sentence."""
        if self.started:
            return "Every gate is confirmed: the run may start."
        return "Not started: " + "; ".join(f"{shut.gate.value} ({shut.why})" for shut in self.shut) + "."


def start_of_run(answers: Sequence[GateAnswer]) -> Start:
    """Return whether a water run may start.

    Parameters
    ----------
    answers : sequence of GateAnswer
        Gates as answered, in any order.

    Returns
    -------
    Start
        Not started as long as one gate is unanswered or found wrong.

    Raises
    ------
    NotDefined
        One gate is answered twice.

    References
    ----------
    wet-run-gates

    Example
    -------
    >>> start_of_run([]).started, len(start_of_run([]).shut)
    (False, 6)
    """
    by_gate = {answer.gate: answer for answer in answers}
    if len(by_gate) < len(answers):
        remedy = "Keep the answer that holds"
        raise NotDefined("gates", reason="one gate is answered twice", remedy=remedy)
    shut = tuple(_shut(by_gate))
    return Start(not shut, tuple(by_gate[gate] for gate in Gate if gate in by_gate), shut)


def _shut(by_gate: dict[Gate, GateAnswer]) -> Iterable[Shut]:
    for gate in Gate:
        given = by_gate.get(gate)
        if given is None:
            yield Shut(gate, "nobody has confirmed it")
        elif given.answer is Answer.NOT_SAFE:
            yield Shut(gate, given.confirmed.remark)
