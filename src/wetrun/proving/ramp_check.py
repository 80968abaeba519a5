"""One line of a ramp's evidence: a reading, what it was compared with, by which rule, and the verdict."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from wetrun.proving.ramp_reading import Shown
from wetrun.proving.ramp_record import RampStep
from wetrun.proving.rule import Rule
from wetrun.proving.uncertainty import Judged, Verdict
from wetrun.sources import source


class Aspect(StrEnum):
    """What a comparison is about."""

    PREDICTION = "against the prediction"
    DEMAND = "against demand"
    IDENTITY = "against meter flow over width and speed"
    SETTLING = "time to settle"
    SWING = "swing when settled"
    CLOSING = "when sections close"
    WAY_BACK = "against the same speed before"


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """One comparison with its verdict.

    Attributes
    ----------
    what : Shown
        Which reading.
    aspect : Aspect
        What about it.
    step : str
        At which step.
    judged : Judged
        Ratio less one against the rule's limits; seconds for a settling time.
    rule_name, source_key : str
        The rule and where it is from.
    counts : bool
        False if it is shown only: a limit of the machine is expected to act there, or the rule is our own choice.
    """

    what: Shown
    aspect: Aspect
    step: str
    judged: Judged
    rule_name: str
    source_key: str
    counts: bool = True

    @property
    def caution(self) -> str:
        """What to say beside the verdict; empty if the limit was read in its source or follows from others."""
        status = source(self.source_key).status
        return "" if status in {"read", "derived", "definition"} else f"the limit is {status}"


def checked(what: Shown, aspect: Aspect, step: RampStep, found: tuple[Judged, Rule], *, counts: bool = True) -> Checked:
    """Return a verdict and its rule as one line.

    Parameters
    ----------
    what : Shown
        Which reading.
    aspect : Aspect
        What about it.
    step : RampStep
        At which step.
    found : tuple
        The verdict and the rule it is by.
    counts : bool
        False if it is shown only.

    Returns
    -------
    Checked
        The line.
    """
    answer, rule = found
    return Checked(
        what=what,
        aspect=aspect,
        step=step.name,
        judged=answer,
        rule_name=rule.name,
        source_key=rule.source_key,
        counts=counts,
    )


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """Return the verdict on a whole from those on its parts.

    Parameters
    ----------
    verdicts : iterable of Verdict
        Of the parts.

    Returns
    -------
    Verdict
        Fail if any failed, else undecided if any is or there is none, else pass.

    Example
    -------
    >>> worst([Verdict.PASS, Verdict.UNDECIDED]).value, worst([]).value
    ('undecided', 'undecided')
    """
    found = set(verdicts)
    if Verdict.FAIL in found:
        return Verdict.FAIL
    return Verdict.PASS if found == {Verdict.PASS} else Verdict.UNDECIDED
