"""One load in season: what was filled and what was left say what the boom put out; the monitor says what it counted.

Put out = aboard before + filled - left. What was left after one load and stands aboard before the next is one reading:
it enters both with opposite signs, as one cause. So does the fill meter, the scale and a density behind every load.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from wetrun.errors import NotDefined
from wetrun.proving.budget import Budget, Component
from wetrun.proving.uncertainty import rectangular
from wetrun.spray.bounds import check_not_negative, check_positive
from wetrun.spray.definitions import LITRE_M3
from wetrun.units import (
    CUBIC_METRE,
    KILOGRAM,
    KILOGRAM_PER_CUBIC_METRE,
    M2,
    M3,
    SQUARE_METRE,
    Frac,
    Kg,
    Kgpm3,
    M3pm2,
    Ratio,
)


class FilledBy(StrEnum):
    """What a fill was measured with."""

    FILL_METER = "fill meter"
    SCALE = "scale ticket"


@dataclass(frozen=True, slots=True, kw_only=True)
class FillTools:
    """How far each tool of a load may be off, as ± limits. The ones here are common practice, no source.

    Attributes
    ----------
    fill_meter_frac : float
        Fill meter, as a share of what it shows [frac].
    fill_step_m3 : float
        Its step [m3].
    scale_frac : float
        Scale, as a share [frac].
    scale_step_kg : float
        Its step [kg].
    density_frac : float
        Density of the load, as a share [frac].
    mark_m3 : float
        What was left, read off the tank [m3].
    monitor_step_m3 : float
        Step of the monitor's total [m3].
    area_step_m2 : float
        Step of its area [m2].
    """

    fill_meter_frac: Frac = 0.01
    fill_step_m3: M3 = 4.0 * LITRE_M3
    scale_frac: Frac = 0.002
    scale_step_kg: Kg = 10.0
    density_frac: Frac = 0.005
    mark_m3: M3 = 20.0 * LITRE_M3
    monitor_step_m3: M3 = 4.0 * LITRE_M3
    area_step_m2: M2 = 400.0


USUAL_TOOLS: Final = FillTools()


@dataclass(frozen=True, slots=True, kw_only=True)
class FilledLoad:
    """One load as it was written down.

    Attributes
    ----------
    name : str
        What the reader calls it.
    on : date
        Its day.
    filled_m3 : float or None
        By the fill meter [m3].
    weighed_kg : float or None
        By the scale ticket, net [kg].
    density_kgpm3 : float or None
        Of what was weighed [kg/m3].
    carried_m3 : float
        Aboard before the fill [m3].
    carried_from : str
        Name of the load it was left by, if it is that reading; empty if it was read anew or nothing was aboard.
    left_m3 : float
        Aboard after it [m3].
    counted_m3 : float
        The monitor's total for it [m3].
    area_m2 : float or None
        The monitor's area for it [m2].
    rate_m3pm2 : float or None
        Rate that was asked for [m3/m2].
    """

    name: str
    on: date
    filled_m3: M3 | None = None
    weighed_kg: Kg | None = None
    density_kgpm3: Kgpm3 | None = None
    carried_m3: M3 = 0.0
    carried_from: str = ""
    left_m3: M3 = 0.0
    counted_m3: M3
    area_m2: M2 | None = None
    rate_m3pm2: M3pm2 | None = None

    def __post_init__(self) -> None:
        remedy = f"Look at load {self.name} again."
        check_positive("monitor's total", self.counted_m3, CUBIC_METRE, remedy=remedy)
        for thing, value in (("volume aboard before", self.carried_m3), ("volume left", self.left_m3)):
            check_not_negative(thing, value, CUBIC_METRE, remedy=remedy)
        if self.filled_m3 is not None:
            check_positive("volume filled", self.filled_m3, CUBIC_METRE, remedy=remedy)
        if self.weighed_kg is not None:
            check_positive("weight filled", self.weighed_kg, KILOGRAM, remedy=remedy)
        if self.density_kgpm3 is not None:
            check_positive("density", self.density_kgpm3, KILOGRAM_PER_CUBIC_METRE, remedy=remedy)
        if self.area_m2 is not None:
            check_positive("monitor's area", self.area_m2, SQUARE_METRE, remedy=remedy)
        if (self.filled_m3 is None) == (self.weighed_kg is None):
            raise NotDefined(
                f"load {self.name}", reason="it is filled by meter or by scale, one of the two", remedy=remedy
            )
        if self.weighed_kg is not None and self.density_kgpm3 is None:
            reason = "a scale ticket says a volume only with the density"
            raise NotDefined(f"load {self.name}", reason=reason, remedy="Weigh a gallon of it, or read its label.")

    @property
    def by(self) -> FilledBy:
        """What it was measured with."""
        return FilledBy.FILL_METER if self.weighed_kg is None else FilledBy.SCALE

    @property
    def volume_m3(self) -> M3:
        """Volume filled [m3]."""
        if self.weighed_kg is not None and self.density_kgpm3 is not None:
            return self.weighed_kg / self.density_kgpm3
        return self.filled_m3 or 0.0

    @property
    def put_out_m3(self) -> M3:
        """What the boom put out [m3].

        Raises
        ------
        NotDefined
            If as much was left as was ever aboard.
        """
        found = self.carried_m3 + self.volume_m3 - self.left_m3
        if not found > 0.0:
            reason = "as much was left as was aboard, so nothing was put out"
            raise NotDefined(f"load {self.name}", reason=reason, remedy="Look at what was filled and what was left.")
        return found


def put_out_budget(load: FilledLoad, tools: FillTools = USUAL_TOOLS) -> Budget:
    """Return what makes the volume that a load put out doubtful.

    Parameters
    ----------
    load : FilledLoad
        The load.
    tools : FillTools
        How far each tool may be off.

    Returns
    -------
    Budget
        In m3; fill meter, scale, density and readings of the tank carry the name of their cause.

    References
    ----------
    gum-jcgm-100
    """
    parts = [*_of_fill(load, tools), _mark("left in the tank", -tools.mark_m3, load.name if load.left_m3 else "")]
    if load.carried_m3 > 0.0:
        parts.append(_mark("aboard before", tools.mark_m3, load.carried_from))
    return Budget(tuple(part for part in parts if part.standard))


def _of_fill(load: FilledLoad, tools: FillTools) -> list[Component]:
    volume_m3 = load.volume_m3
    if load.density_kgpm3 is None or load.weighed_kg is None:
        own = rectangular(tools.fill_meter_frac) * volume_m3
        step = Component("step of the fill meter", rectangular(tools.fill_step_m3 / 2.0))
        return [Component("fill meter", own, cause="fill meter"), step]
    density = -rectangular(tools.density_frac) * volume_m3
    return [
        Component("scale", rectangular(tools.scale_frac) * volume_m3, cause="scale"),
        Component("step of the scale", rectangular(tools.scale_step_kg / 2.0) / load.density_kgpm3),
        Component("density", density, cause=f"density {load.density_kgpm3:.6g} kg/m3"),
    ]


def _mark(name: str, within_m3: M3, load: str) -> Component:
    sign = 1.0 if within_m3 >= 0.0 else -1.0
    return Component(name, sign * rectangular(abs(within_m3)), cause=f"left after {load}" if load else "")


@dataclass(frozen=True, slots=True)
class LoadError:
    """How far a total is off what was put out.

    Attributes
    ----------
    load : FilledLoad
        Which load.
    error_ratio : float
        Shown over put out, less one [ratio].
    budget : Budget
        Doubt of it, as a ratio.
    """

    load: FilledLoad
    error_ratio: Ratio
    budget: Budget


def counted_error(load: FilledLoad, tools: FillTools = USUAL_TOOLS) -> LoadError:
    """Return how far the monitor's total is off what was put out.

    Parameters
    ----------
    load : FilledLoad
        The load.
    tools : FillTools
        How far each tool may be off.

    Returns
    -------
    LoadError
        Above zero: the monitor counts too much, and the rate comes out low.

    References
    ----------
    gum-jcgm-100

    Example
    -------
    >>> told = counted_error(FilledLoad(name="1", on=date(2027, 5, 3), filled_m3=3.0, counted_m3=3.06))
    >>> round(told.error_ratio, 4), round(told.budget.combined, 4)
    (0.02, 0.0071)
    """
    step = Component("step of the monitor's total", rectangular(tools.monitor_step_m3 / 2.0))
    return _error(load, load.counted_m3, step, tools)


def rate_error(load: FilledLoad, tools: FillTools = USUAL_TOOLS) -> LoadError | None:
    """Return how far area times rate is off what was put out; None without area or rate.

    Parameters
    ----------
    load : FilledLoad
        The load.
    tools : FillTools
        How far each tool may be off.

    Returns
    -------
    LoadError or None
        Above zero: less went on than was asked for. The area is the monitor's own, widths, speed and all: only its
        step counts as doubt, for what is wrong with it is what this looks for.
    """
    if load.area_m2 is None or load.rate_m3pm2 is None:
        return None
    step = Component("step of the area", rectangular(tools.area_step_m2 / 2.0) * load.rate_m3pm2)
    return _error(load, load.area_m2 * load.rate_m3pm2, step, tools)


def _error(load: FilledLoad, shown_m3: M3, step: Component, tools: FillTools) -> LoadError:
    out_m3 = load.put_out_m3
    doubt = put_out_budget(load, tools).scaled(-shown_m3 / out_m3**2)
    return LoadError(load, shown_m3 / out_m3 - 1.0, doubt.joined(Budget((step,)).scaled(1.0 / out_m3)))
