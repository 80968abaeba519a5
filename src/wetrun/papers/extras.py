"""What papers show besides the plan's own records: texts as typed, what was found in the logs, the shop's name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Extras:
    """Things only the entry point knows; every one may be missing.

    Attributes
    ----------
    typed : mapping of str to str
        Texts as the user typed them, by their key in the season file, such as ``machine.control.hold.pressure``.
    log_notes : mapping of str to tuple of str
        Sentences about the logs of a pass: repairs, doubts, what was left out.
    shop : str
        Who made the plan, as the shop wants to be named.
    """

    typed: Mapping[str, str] = field(default_factory=dict)
    log_notes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    shop: str = ""
