"""One line of the yard's list: what to do, why, where that comes from, and who signs when."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from wetrun.units import M3, S


class Signing(StrEnum):
    """Who puts a name to a step, and when."""

    BEFORE = "who does the work, before anything is opened"
    DONE = "who did it, when it is done"
    STANDING = "who did it, when the standing begins and when it ends"
    LAST = "who answers for the machine, when every step is done or its skipping explained"


class StepKind(StrEnum):
    """What a step is part of."""

    LABEL = "label"
    CARE = "care"
    EMPTYING = "emptying"
    OUTSIDE = "outside"
    RINSE = "rinse"
    CIRCUIT = "circuit"
    CLEANER = "cleaner"
    PARTS = "parts"
    NURSE = "nurse tank"
    RECORD = "record"
    WINTER = "winter"


@dataclass(frozen=True, slots=True, kw_only=True)
class YardStep:
    """One step of a clean-out.

    Attributes
    ----------
    ident : str
        Its name in the record, unlike every other of its list.
    kind : StepKind
        What it is part of.
    do : str
        What to do, in sentences.
    why : str
        The reason, in a sentence.
    source_keys : tuple of str
        Where that comes from; a key of `wetrun.sources`, some of which say "common practice, no source".
    water_m3 : float or None
        Clean water for it, if an amount was given [m3].
    stand_s : float or None
        How long it has to stand, if a label says so [s].
    signing : Signing
        Who signs, and when.
    binding : bool
        Whether no reason lets it be skipped: what a label asks for, and what keeps people whole.
    """

    ident: str
    kind: StepKind
    do: str
    why: str
    source_keys: tuple[str, ...]
    water_m3: M3 | None = None
    stand_s: S | None = None
    signing: Signing = Signing.DONE
    binding: bool = False
