"""A clean-out step by step: what every circuit holds after each, and that nothing got lost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Final

from wetrun.changeover.network import Network, State, concentrations, old_mix
from wetrun.changeover.steps import Step, step_effect
from wetrun.units import FRACTION, M3, Frac, Ratio, S

METHOD: Final = "dilution-1"
MEANING: Final = "diluted to this if nothing is bound to tank, hose or strainer and nothing has dried on"
"""What a concentration in a result says. It never says more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AfterStep:
    """The machine after one step.

    Attributes
    ----------
    step : Step
        What was done.
    state : State
        Liquid and old mix in every cell.
    concentrations_frac : mapping of str to float
        By circuit, as a share of the old tank mix [frac].
    old_m3 : mapping of str to float
        Old mix by circuit and by exit, counted as tank mix [m3].
    water_m3 : float
        Clean water this step took [m3].
    seconds_s : float
        Time it took, valves and filling aside [s].
    """

    step: Step
    state: State
    concentrations_frac: Annotated[Mapping[str, float], FRACTION]
    old_m3: Mapping[str, M3]
    water_m3: M3
    seconds_s: S

    @property
    def worst(self) -> tuple[str, Frac]:
        """Circuit with the highest concentration, and that concentration [frac]."""
        name = max(self.concentrations_frac, key=lambda circuit: self.concentrations_frac[circuit])
        return name, self.concentrations_frac[name]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dilution:
    """A clean-out computed.

    Attributes
    ----------
    start : State
        Before the first step.
    steps : tuple of AfterStep
        In order.
    balance_ratio : float
        Old mix inside and gone at the end, over that at the start: 1 to rounding [ratio].
    water_m3 : float
        Clean water in all [m3].
    method : str
        Name and number of the method.
    meaning : str
        What its concentrations say, and what they leave out.
    """

    start: State
    steps: tuple[AfterStep, ...]
    balance_ratio: Ratio
    water_m3: M3
    method: str = METHOD
    meaning: str = MEANING

    @property
    def end(self) -> State:
        """What the machine holds after the last step."""
        return self.steps[-1].state if self.steps else self.start


def dilution(network: Network, start: State, steps: Sequence[Step]) -> Dilution:
    """Return what every circuit holds after each step.

    Parameters
    ----------
    network : Network
        The machine.
    start : State
        What it holds before.
    steps : sequence of Step
        What is done, in order.

    Returns
    -------
    Dilution
        Step by step.

    Raises
    ------
    OutOfRange, NotDefined
        A step that cannot be done; the first one counts.

    Notes
    -----
    Ideal mixing in every swept cell, slow exchange with dead ones, nothing past a closed valve. Left out: what is
    sorbed into hoses or dried on and comes loose later, foam, and layers in a tank that is not stirred.

    References
    ----------
    ideal-mixing-dilution, osu-adjuvants-strip

    Example
    -------
    A tank that keeps 20 L, rinsed with 180 L, holds a tenth:

    >>> from wetrun.changeover.network import loaded_state, network_of
    >>> from wetrun.changeover.steps import AddWater
    >>> from wetrun.machine.circuits import Circuit, CircuitKind, Layout
    >>> tank = Circuit(name="tank", kind=CircuitKind.TANK, volume_m3=1.0, residue_m3=0.02)
    >>> network = network_of(Layout(name="drum", circuits=(tank,), lines=(), valves=(), pump_m3s=0.001))
    >>> dilution(network, loaded_state(network), [AddWater(0.18)]).steps[0].worst
    ('tank', 0.1)
    """
    state, done = start, []
    for step in steps:
        effect = step_effect(step, network, state.volumes_m3)
        state = effect.on(state)
        done.append(
            AfterStep(
                step=step,
                state=state,
                concentrations_frac=concentrations(network, state),
                old_m3=old_mix(network, state),
                water_m3=effect.water_m3,
                seconds_s=effect.seconds_s,
            )
        )
    before_m3 = float(start.old_m3.sum())
    return Dilution(
        start=start,
        steps=tuple(done),
        balance_ratio=float(state.old_m3.sum()) / before_m3 if before_m3 > 0.0 else 1.0,
        water_m3=sum(after.water_m3 for after in done),
    )
