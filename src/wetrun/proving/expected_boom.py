"""What the boom's own plumbing leads a wet run to expect: flow along the boom, and the loss to each section."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from wetrun.machine.boom_pipes import BoomPipes, plumbed_boom
from wetrun.proving.catch_run import CatchRun
from wetrun.proving.pressure import PressurePair
from wetrun.proving.session_record import ProvenMachine
from wetrun.spray.boom_flow import BoomFlow, boom_flow, sensor_pressure_pa
from wetrun.spray.carrier import water
from wetrun.spray.line_liquid import line_liquid
from wetrun.units import M3s, Pa, Ratio

_ROUNDS: Final = 4
"""The sensor's pressure is found from the tips'; the loss goes nearly with it, so each round gains two digits."""


def expected_flow_ratios(machine: ProvenMachine, run: CatchRun) -> dict[int, Ratio]:
    """Return the flow the plumbing leads to expect at each position over the mean, each against its own tip when new.

    Parameters
    ----------
    machine : ProvenMachine
        Boom, tips and plumbing.
    run : CatchRun
        The catch, for its pressure and water.

    Returns
    -------
    dict of int to float
        By position, 1 at the left end [ratio]; empty where the plumbing is not known. Where each section's pressure
        was read, a section's own mean is taken out: its step is in those readings already.

    Notes
    -----
    All sections on. Flow as the root of pressure. The mean is of logarithms, so that the set's level stays as caught.

    References
    ----------
    darcy-weisbach, minor-loss-quadratic, orifice-law
    """
    if machine.pipes is None:
        return {}
    solved = _at_tips(machine, machine.pipes, run)
    logs = 0.5 * np.log(solved.pressures_pa)
    read = all(reading.pressure_pa is not None for reading in run.readings)
    groups = solved.section_of if read else np.zeros_like(solved.section_of)
    for group in np.unique(groups):
        logs[groups == group] -= np.mean(logs[groups == group])
    return {n: float(ratio) for n, ratio in enumerate(np.exp(logs), start=1)}


def expected_losses_pa(machine: ProvenMachine, boom_flow_m3s: M3s) -> dict[int, tuple[Pa, Pa]]:
    """Return the loss from sensor to the tips of each section, on water.

    Parameters
    ----------
    machine : ProvenMachine
        Boom, tips and plumbing.
    boom_flow_m3s : float
        Flow of the whole boom [m3/s].

    Returns
    -------
    dict of int to tuple of float
        By section, 1 at the left: the mean loss over its tips, and half the span from its least to its greatest, as
        nobody wrote down at which tip the gauge stood [Pa]. Empty where the plumbing is not known.

    References
    ----------
    darcy-weisbach, minor-loss-quadratic
    """
    if machine.pipes is None:
        return {}
    boom = plumbed_boom(machine.pipes, machine.boom, machine.setup.law, machine.odd_laws)
    sensor_pa = sensor_pressure_pa(boom, boom_flow_m3s)
    solved = boom_flow(boom, sensor_pa)
    sections = [sensor_pa - solved.pressures_pa[solved.section_of == n] for n in range(len(boom.sections))]
    return {n: (float(np.mean(lost)), float(np.ptp(lost)) / 2.0) for n, lost in enumerate(sections, start=1)}


def straightened(machine: ProvenMachine, pairs: Sequence[PressurePair]) -> tuple[PressurePair, ...]:
    """Return readings of cab and gauge with the curve of friction taken out, so that what is left goes with the square.

    Parameters
    ----------
    machine : ProvenMachine
        Boom, tips and plumbing.
    pairs : sequence of PressurePair
        As read.

    Returns
    -------
    tuple of PressurePair
        As read where the plumbing is not known, and at the greatest flow.

    Notes
    -----
    Friction goes with flow to the power of about 1.8. Fitted as a square it leaves a rest that looks like a cab sensor
    whose zero is off; the plumbing says how large that rest is.

    References
    ----------
    darcy-weisbach, minor-loss-quadratic
    """
    if machine.pipes is None:
        return tuple(pairs)
    greatest_m3s = max(pair.flow_m3s for pair in pairs)
    lost = {flow: expected_losses_pa(machine, flow) for flow in {pair.flow_m3s for pair in pairs}}
    at_most = lost[greatest_m3s]

    def curve_pa(pair: PressurePair) -> Pa:
        return lost[pair.flow_m3s][pair.section][0] - at_most[pair.section][0] * (pair.flow_m3s / greatest_m3s) ** 2

    return tuple(replace(pair, cab_pa=pair.cab_pa - curve_pa(pair)) for pair in pairs)


def _at_tips(machine: ProvenMachine, pipes: BoomPipes, run: CatchRun) -> BoomFlow:
    """The boom solved where the tips, on the mean, see the pressure of the catch."""
    boom = plumbed_boom(pipes, machine.boom, run.law, run.odd_laws)
    liquid, sensor_pa = line_liquid(water(run.water_temp_k)), run.pressure_pa
    solved = boom_flow(boom, sensor_pa, liquid)
    for _ in range(_ROUNDS):
        sensor_pa *= run.pressure_pa / float(np.mean(solved.pressures_pa))
        solved = boom_flow(boom, sensor_pa, liquid)
    return solved
