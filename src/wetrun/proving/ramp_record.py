"""What a technician writes down of a ramp: simulated speeds stepped through in automatic, on water."""

from __future__ import annotations

from dataclasses import dataclass, field

from wetrun.errors import NotDefined
from wetrun.proving.confirmation import AsLeft, Confirmed
from wetrun.proving.ramp_reading import PRESSURES, Instrument, RampRules, Reading, Shown
from wetrun.proving.uncertainty import Budget
from wetrun.spray.bounds import check_not_negative, check_positive
from wetrun.spray.limits import Limit
from wetrun.units import (
    CUBIC_METRE_PER_SECOND,
    CUBIC_METRE_PER_SQUARE_METRE,
    METRE,
    METRE_PER_SECOND,
    Frac,
    M,
    M3pm2,
    M3s,
    Mps,
    Pa,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedStep:
    """What the plan predicts for a step on water.

    Attributes
    ----------
    rate_m3pm2 : float or None
        Rate [m3/m2].
    boom_flow_m3s : float or None
        Flow through the meter [m3/s].
    cab_pa, tip_pa : float or None
        Pressures [Pa].
    duty_frac : float or None
        Share of a pulse that tips are open [frac]; None where they do not pulse.
    flow_standard_frac, pressure_standard_frac : float
        Standard uncertainty of the prediction itself [frac].
    limit : Limit or None
        The limit that is expected to act, so that the rate leaves its target.
    """

    rate_m3pm2: M3pm2 | None = None
    boom_flow_m3s: M3s | None = None
    cab_pa: Pa | None = None
    tip_pa: Pa | None = None
    duty_frac: Frac | None = None
    flow_standard_frac: Frac = 0.0
    pressure_standard_frac: Frac = 0.0
    limit: Limit | None = None

    def of(self, what: Shown) -> float | None:
        """Return what is expected of a reading, SI."""
        all_of_them = (self.rate_m3pm2, self.boom_flow_m3s, self.cab_pa, self.tip_pa, self.duty_frac)
        return dict(zip(Shown, all_of_them, strict=True))[what]

    def standard_frac(self, what: Shown) -> Frac:
        """Return the standard uncertainty of that, as a share of it [frac]."""
        if what is Shown.DUTY:  # duty goes as the flow of an open tip, which is known to half of its pressure
            return 0.5 * self.pressure_standard_frac
        return self.pressure_standard_frac if what in PRESSURES else self.flow_standard_frac


@dataclass(frozen=True, slots=True, kw_only=True)
class RampStep:
    """One step of a ramp.

    Attributes
    ----------
    name : str
        As written down, such as “usual, left half off”.
    speed_mps : float
        Simulated speed [m/s].
    sections_on : int
        Sections switched on.
    tips_on : int
        Tips on them.
    agitation_on : bool
        Agitation as in the field.
    below_range : bool
        Whether the flow was too small for the meter to show.
    readings : tuple of Reading
        One of a kind.
    expected : ExpectedStep or None
        The prediction.
    """

    name: str
    speed_mps: Mps
    sections_on: int
    tips_on: int
    readings: tuple[Reading, ...]
    agitation_on: bool = True
    below_range: bool = False
    expected: ExpectedStep | None = None

    def __post_init__(self) -> None:
        check_positive(
            "simulated speed", self.speed_mps, METRE_PER_SECOND, remedy="Enter the speed that was simulated."
        )
        if self.tips_on < 1 or self.sections_on < 1:
            raise NotDefined(self.name, reason="no tip is on", remedy="Enter the sections and tips that were on")
        if len({reading.what for reading in self.readings}) < len(self.readings):
            remedy = "Put repeated readings of one instrument into one entry"
            raise NotDefined(self.name, reason="one instrument is entered twice", remedy=remedy)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ramp:
    """A whole ramp, in the order it was driven.

    Attributes
    ----------
    steps : tuple of RampStep
        Slow, usual, fast and back; all sections, half, one.
    instruments : tuple of Instrument
        One of a kind; a reading without one is taken as it stands.
    rate_m3pm2 : float
        Target rate in the monitor [m3/m2].
    spacing_m : float
        Width one tip serves, as typed into the monitor [m].
    simulated_speed_off : bool
        Looked at after the last step: the monitor is back on real speed.
    water_density_set : Confirmed or None
        Density stood at water before the first step.
    density_restored : AsLeft or None
        The product's density as left, signed.
    passing_m3s : float
        Flow that passes the meter and goes back to the tank [m3/s].
    rules : RampRules
        What it is judged by.
    """

    steps: tuple[RampStep, ...]
    rate_m3pm2: M3pm2
    spacing_m: M
    simulated_speed_off: bool
    instruments: tuple[Instrument, ...] = ()
    water_density_set: Confirmed | None = None
    density_restored: AsLeft | None = None
    passing_m3s: M3s = 0.0
    rules: RampRules = field(default_factory=RampRules)

    def __post_init__(self) -> None:
        if not self.steps:
            raise NotDefined("ramp", reason="no step was entered", remedy="Step slow, usual, fast and back")
        check_positive("target rate", self.rate_m3pm2, CUBIC_METRE_PER_SQUARE_METRE, remedy="Enter the target rate.")
        check_positive("spacing", self.spacing_m, METRE, remedy="Enter the width one tip serves.")
        check_not_negative(
            "passing flow", self.passing_m3s, CUBIC_METRE_PER_SECOND, remedy="Enter zero if none passes."
        )

    def budget(self, what: Shown, value: float) -> Budget:
        """Return the doubt of a reading by its instrument."""
        return next((i.budget(value) for i in self.instruments if i.what is what), Budget(()))

    def demand_m3s(self, step: RampStep) -> M3s:
        """Return the boom flow that holds the target at a step [m3/s]."""
        return self.rate_m3pm2 * step.speed_mps * self.spacing_m * step.tips_on
