"""What the catches of a flow meter say together: scatter at one flow, change over the flows, error with its doubt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from wetrun.proving.meter import Basis, MeterCatch, MeterTest, caught_m3, measured_pulsepm3, stated_scatter
from wetrun.proving.scatter import Pooled, pooled
from wetrun.proving.uncertainty import Budget, Component, rectangular
from wetrun.units import M3s, Pulsepm3, Ratio

ALIKE_RATIO: Ratio = 1.5
"""The fastest flow should be at least this many times the slowest, or a slope cannot be seen: our own choice."""


@dataclass(frozen=True, slots=True)
class ProvenCatch:
    """One catch that counts.

    Attributes
    ----------
    name, level : str
        As on the sheet.
    flow_m3s : float
        Flow of the catch [m3/s].
    measured_pulsepm3 : float
        Pulses over volume [pulse/m3].
    error_ratio : float
        Volume the present number shows over the volume caught, less one [ratio].
    stated : float
        What reading it scatters by, as a ratio.
    """

    name: str
    level: str
    flow_m3s: M3s
    measured_pulsepm3: Pulsepm3
    error_ratio: Ratio
    stated: float


def proven_catch(test: MeterTest, catch: MeterCatch) -> ProvenCatch:
    """Return flow and number of a catch that raised no question.

    Parameters
    ----------
    test : MeterTest
        The test.
    catch : MeterCatch
        The catch.

    Returns
    -------
    ProvenCatch
        Flow [m3/s], pulses over volume [pulse/m3] and error of the present number.
    """
    number = measured_pulsepm3(test, catch)
    flow = caught_m3(test, catch) / (catch.time_s or 1.0)
    error = number / test.meter.number.quantity - 1.0
    return ProvenCatch(catch.name, catch.level, flow, number, error, stated_scatter(test, catch))


@dataclass(frozen=True, slots=True)
class Flows:
    """The catches by flow.

    Attributes
    ----------
    catches : tuple of ProvenCatch
        Every catch that counts.
    """

    catches: tuple[ProvenCatch, ...]

    @property
    def levels(self) -> tuple[str, ...]:
        """Names of the flows, slowest first."""
        mean = {c.level: np.mean([o.flow_m3s for o in self.catches if o.level == c.level]) for c in self.catches}
        return tuple(sorted(mean, key=lambda level: float(mean[level])))

    def errors(self, level: str) -> tuple[Ratio, ...]:
        """Return the errors found at one flow [ratio]."""
        return tuple(catch.error_ratio for catch in self.catches if catch.level == level)

    @property
    def apart(self) -> bool:
        """True if there are two flows that differ enough."""
        flows = [catch.flow_m3s for catch in self.catches]
        return len(self.levels) > 1 and max(flows) >= ALIKE_RATIO * min(flows)

    @property
    def error_ratio(self) -> Ratio:
        """Mean error, each flow counting alike [ratio]."""
        return float(np.mean([np.mean(self.errors(level)) for level in self.levels]))

    @property
    def stated(self) -> float:
        """What reading a catch scatters by, root mean square."""
        return sqrt(float(np.mean([catch.stated**2 for catch in self.catches])))

    @property
    def repeat_freedom(self) -> int:
        """Catches beyond the first at each flow."""
        return len(self.catches) - len(self.levels)

    @property
    def repeat_cv_ratio(self) -> Ratio | None:
        """Scatter of single catches at one flow, over all flows [ratio]; None if no flow was caught twice."""
        if self.repeat_freedom == 0:
            return None
        groups = (np.array(self.errors(level)) for level in self.levels)
        squares = sum(float(np.sum((group - group.mean()) ** 2)) for group in groups)
        return sqrt(squares / self.repeat_freedom) / (1.0 + self.error_ratio)


def repeat_scatter(flows: Flows) -> Pooled:
    """Return the scatter of one catch, pooled with what its tools explain, relative to the volume.

    Parameters
    ----------
    flows : Flows
        The catches.

    Returns
    -------
    Pooled
        Scatter, degrees of freedom, and if it is beyond what the tools explain: look for air then.
    """
    return pooled(flows.repeat_cv_ratio or 0.0, float(flows.repeat_freedom), flows.stated)


def shared_budget(test: MeterTest, bases: Sequence[Basis]) -> Budget:
    """Return what no number of catches averages out, relative to the number.

    Parameters
    ----------
    test : MeterTest
        For tools and water.
    bases : sequence of Basis
        What the catches rest on.

    Returns
    -------
    Budget
        A measure that shows too much makes the number too small; water taken for too heavy makes it too large.

    References
    ----------
    gum-jcgm-100, kell-1975
    """
    weighed = sum(basis is Basis.SCALE for basis in bases) / len(bases)
    density = weighed * rectangular(test.tools.density_kgpm3) / test.carrier.density_kgpm3
    measure = -rectangular(test.tools.measure_frac)
    return Budget(
        (
            Component("vessel or scale throughout", measure, cause=test.tools.measure_cause),
            Component("density of the water", density, source_key="kell-1975", cause="water density"),
        )
    )


@dataclass(frozen=True, slots=True)
class Slope:
    """How the error changes with flow.

    Attributes
    ----------
    span_ratio : float
        Change of error from the slowest to the fastest flow [ratio].
    budget : Budget
        Its doubt, as a ratio; the measure is the same at both ends and falls out.
    """

    span_ratio: Ratio
    budget: Budget


def slope(flows: Flows) -> Slope | None:
    """Return how the error changes over the flows, by least squares.

    Parameters
    ----------
    flows : Flows
        The catches.

    Returns
    -------
    Slope or None
        None unless there are three catches at flows that differ enough.

    Notes
    -----
    A straight line; a meter that drops off below its range bends, which is why flows out of range are left out.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> errors = [("low", 1e-3, 0.00), ("low", 1e-3, 0.01), ("high", 2e-3, 0.02), ("high", 2e-3, 0.03)]
    >>> found = slope(Flows(tuple(ProvenCatch("", level, q, 1.0, error, 0.0) for level, q, error in errors)))
    >>> round(found.span_ratio, 6), round(found.budget.combined, 6)
    (0.02, 0.007071)
    """
    count = len(flows.catches)
    if count < 3 or not flows.apart:
        return None
    flow = np.array([catch.flow_m3s for catch in flows.catches])
    error = np.array([catch.error_ratio for catch in flows.catches])
    away = flow - flow.mean()
    rise = float(away @ error / (away @ away))
    left = error - error.mean() - rise * away
    found = pooled(sqrt(float(left @ left) / (count - 2)), float(count - 2), flows.stated)
    width = float(flow.max() - flow.min())
    standard = found.single * width / sqrt(float(away @ away))
    part = Component("catches off the line", standard, "A", found.freedom, readings=count)
    return Slope(rise * width, Budget((part,)))
