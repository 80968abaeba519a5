"""A budget lists every cause of doubt as what it does to the result, sensitivity already applied, in its unit.

Causes that several readings share – one scale, one stopwatch, one water temperature – carry a name: inside a
budget they add with their signs, and between two budgets they are the covariance. Nothing is rounded.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import floor, inf, isfinite, isinf, sqrt
from typing import Literal

from scipy.special import ndtri, stdtrit

from wetrun.errors import OutOfRange
from wetrun.units import FRACTION, Frac

COVERAGE_FRAC: Frac = 0.95
"""What a stated interval covers unless somebody asks for more; usual in testing."""


@dataclass(frozen=True, slots=True)
class Component:
    """One cause of doubt, as what it does to the result.

    Attributes
    ----------
    name : str
        What it is, for a reader.
    standard : float
        Its standard uncertainty in the unit of the result, sensitivity applied. The sign says which way the cause
        moves the result; it counts only where a cause is shared.
    kind : {"A", "B"}
        From repeated readings, or from anything else (instrument, judgement).
    freedom : float
        Degrees of freedom; infinite for a stated limit.
    source_key : str
        Where the number is from, a key of `wetrun.sources.SOURCES`.
    cause : str
        Name of a cause that enters more than once; empty if it stands alone.
    readings : int or None
        How many readings a repeated one rests on; None means one more than its freedom.
    """

    name: str
    standard: float
    kind: Literal["A", "B"] = "B"
    freedom: float = inf
    source_key: str = "user"
    cause: str = ""
    readings: int | None = None

    def __post_init__(self) -> None:
        if not isfinite(self.standard):
            raise ValueError(f"the standard uncertainty of {self.name} is {self.standard}: it must be a finite number")
        if not self.freedom > 0.0:
            raise ValueError(f"{self.name} has {self.freedom} degrees of freedom: it takes two readings or more")

    def repeated_more(self, more: int) -> Component:
        """Return it as it would be after `more` readings with the same scatter; stated limits stay as they are."""
        if self.kind == "B" or isinf(self.freedom):
            return self
        taken = self.readings or round(self.freedom) + 1
        shrunk = self.standard * sqrt(taken / (taken + more))
        return replace(self, standard=shrunk, freedom=self.freedom + more, readings=taken + more)


@dataclass(frozen=True, slots=True)
class Budget:
    """Every cause of doubt of one result.

    Attributes
    ----------
    components : tuple of Component
        The causes, in the order they are shown.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> tape, watch = Component("tape", 3.0), Component("watch", 4.0, "A", freedom=2)
    >>> round(Budget((tape, watch)).combined, 3), round(Budget((tape, watch)).freedom, 2)
    (5.0, 4.88)
    """

    components: tuple[Component, ...]

    @property
    def independent(self) -> tuple[Component, ...]:
        """The causes with each shared one summed, signs and all, into one that stands alone."""
        return (*(c for c in self.components if not c.cause), *_shared_once(self.components))

    @property
    def combined(self) -> float:
        """Combined standard uncertainty, in the unit of the result."""
        return sqrt(sum(c.standard**2 for c in self.independent))

    @property
    def freedom(self) -> float:
        """Effective degrees of freedom by Welch and Satterthwaite; infinite if no repeated reading counts."""
        total = self.combined
        if total == 0.0:
            return inf
        spread = sum((c.standard / total) ** 4 / c.freedom for c in self.independent)
        return 1.0 / spread if spread > 0.0 else inf

    @property
    def shares(self) -> dict[str, float]:
        """What each cause has of the variance, by name; they add to one, or are all zero without any doubt."""
        total = self.combined**2
        found: dict[str, float] = {}
        for part in self.independent:
            found[part.name] = found.get(part.name, 0.0) + (part.standard**2 / total if total else 0.0)
        return found

    def coverage_factor(self, coverage_frac: Frac = COVERAGE_FRAC, *, whole_freedom: bool = False) -> float:
        """Return how many standard uncertainties cover a share [frac], by Student's t at the effective freedom.

        Notes
        -----
        The effective freedom is seldom a whole number. The guide allows it as it comes, which is used here, or the next
        lower whole number, as its own example does; `whole_freedom` asks for that, the wider of the two.
        """
        if not 0.0 < coverage_frac < 1.0:
            raise OutOfRange("coverage", coverage_frac, FRACTION, low=0.0, high=1.0, remedy="95 % is entered as 0.95.")
        upper, freedom = 0.5 + 0.5 * coverage_frac, self.freedom
        if isinf(freedom):
            return float(ndtri(upper))
        # A whole number may come out of the sums a hair too low; it must not lose a degree of freedom for that.
        return float(stdtrit(floor(freedom * (1.0 + 1e-9)) if whole_freedom else freedom, upper))

    def expanded(self, coverage_frac: Frac = COVERAGE_FRAC, *, whole_freedom: bool = False) -> float:
        """Return the half width that covers the true value with a probability [frac], in the unit of the result."""
        return self.coverage_factor(coverage_frac, whole_freedom=whole_freedom) * self.combined

    def scaled(self, sensitivity: float) -> Budget:
        """Return the budget of something this result enters, `sensitivity` being what one unit of it does there."""
        return Budget(tuple(replace(c, standard=c.standard * sensitivity) for c in self.components))

    def joined(self, other: Budget) -> Budget:
        """Return the budget of the sum of two results; causes they share add with their signs."""
        return Budget((*self.components, *other.components))

    def covariance(self, other: Budget) -> float:
        """Return the covariance of two results from the causes they share by name, in the product of their units."""
        ours, theirs = ({c.cause: c.standard for c in _shared_once(b.components)} for b in (self, other))
        return sum(standard * theirs[cause] for cause, standard in ours.items() if cause in theirs)

    def repeated_more(self, more: int) -> Budget:
        """Return the budget as it would be after `more` readings with the same scatter."""
        return Budget(tuple(c.repeated_more(more) for c in self.components))


NO_BUDGET = Budget(())
"""Of what has no doubt, or none that was worked out."""


def _shared_once(components: Iterable[Component]) -> tuple[Component, ...]:
    """Return each named cause once, with the sum of what it does."""
    found: dict[str, Component] = {}
    for part in components:
        if not part.cause:
            continue
        first = found.get(part.cause)
        if first is not None and first.freedom != part.freedom:
            raise ValueError(f"{part.cause} is one cause: {first.freedom} and {part.freedom} degrees of freedom differ")
        found[part.cause] = part if first is None else replace(first, standard=first.standard + part.standard)
    return tuple(found.values())
