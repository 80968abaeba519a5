"""From what was read at each tip to its flow at the test pressure, and how sure that is.

A doubt that each catch has for itself (jug marks, stopwatch) is kept apart from one that all catches share (a scale
that weighs 1 % heavy, a gauge that reads low). The first blurs tips against each other; the second moves the whole
boom and matters only against new.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from wetrun.errors import NotDefined
from wetrun.proving.catch_run import CatchRun, TipReading, readable
from wetrun.proving.uncertainty import Budget, Component, rectangular
from wetrun.spray.bounds import check_positive
from wetrun.spray.water import water_density_kgpm3
from wetrun.units import PASCAL, SECOND, Kgpm3, M3s, Ratio


@dataclass(frozen=True, slots=True)
class CaughtTip:
    """The flow of one tip at the test pressure.

    Attributes
    ----------
    tip : int
        Position.
    section : int
        Its section, counted from 1.
    flow_m3s : float
        Flow at the test pressure [m3/s].
    new_m3s : float
        Flow of the new tip there [m3/s].
    own : Budget
        Doubt of this catch alone, as a share of the flow.
    """

    tip: int
    section: int
    flow_m3s: M3s
    new_m3s: M3s
    own: Budget

    @property
    def to_new_ratio(self) -> Ratio:
        """Flow over that of the new tip [ratio]."""
        return self.flow_m3s / self.new_m3s


def caught_tips(run: CatchRun) -> tuple[CaughtTip, ...]:
    """Return the flow of every tip that can be read, in the order along the boom.

    Parameters
    ----------
    run : CatchRun
        The catch.

    Returns
    -------
    tuple of CaughtTip
        Flows at the test pressure with each one's own doubt; rows that cannot be read are left out.

    Raises
    ------
    OutOfRange
        A test pressure, or a pressure outside the tip's rows.
    NotDefined
        A position twice, or one the boom does not have.

    Notes
    -----
    A flow is brought to the test pressure along the new tip's own law. Two tips of one kind are compared at the same
    water, so density enters only where a weight is turned into a volume.

    References
    ----------
    orifice-law, kell-1975, gum-jcgm-100
    """
    check_positive("test pressure", run.pressure_pa, PASCAL, remedy="Enter the pressure at the tips during the catch.")
    _check_positions(run)
    rows = sorted((r for r in run.readings if readable(run, r)), key=lambda r: r.tip)
    return tuple(_caught(run, reading) for reading in rows)


def _caught(run: CatchRun, reading: TipReading) -> CaughtTip:
    density_kgpm3 = water_density_kgpm3(run.water_temp_k)
    law, pressure_pa = run.new_law(reading.tip), run.pressure_of_pa(reading)
    new_m3s = law.flow_m3s(run.pressure_pa, density_kgpm3)
    caught_m3s = _caught_m3s(run, reading, density_kgpm3)
    flow_m3s = caught_m3s * new_m3s / law.flow_m3s(pressure_pa, density_kgpm3)
    own = Budget(_own_doubt(run, reading) if caught_m3s > 0.0 else ())
    return CaughtTip(reading.tip, run.section_of(reading.tip), flow_m3s, new_m3s, own)


def _caught_m3s(run: CatchRun, reading: TipReading, density_kgpm3: Kgpm3) -> M3s:
    if reading.flow_m3s is not None:
        return reading.flow_m3s
    volume_m3 = (reading.volume_m3 or 0.0) if reading.mass_kg is None else reading.mass_kg / density_kgpm3
    return volume_m3 / (run.time_of_s(reading) or 1.0)


def _own_doubt(run: CatchRun, reading: TipReading) -> tuple[Component, ...]:
    """Return the doubt of one catch that gave something."""
    tools = run.instruments
    # A pressure read only before and after was somewhere between; one read at this catch did not move.
    wander_pa = tools.wander_pa if reading.pressure_pa is not None else max(tools.wander_pa, 0.5 * run.moved_pa)
    moved = Component("pressure from catch to catch", rectangular(0.5 * wander_pa / run.pressure_of_pa(reading)))
    if reading.flow_m3s is not None:
        return Component("flow instrument", rectangular(tools.flow_frac)), moved
    press_frac = tools.watch_s / (run.time_of_s(reading) or 1.0)
    watch = (Component("watch at the start", press_frac), Component("watch at the stop", press_frac))
    if reading.mass_kg is not None:
        return Component("scale", rectangular(tools.scale_kg / reading.mass_kg)), *watch, moved
    marks = Component("jug marks", rectangular(tools.jug_m3 / (reading.volume_m3 or 1.0)))
    # Jugs that hang side by side are each off by an amount of their own: against the mean of all of them.
    jug = Component("this jug against the others", rectangular(tools.measure_frac) * sqrt(1.0 - 1.0 / tools.jugs))
    return (marks, jug, *watch, moved) if tools.jugs > 1 else (marks, *watch, moved)


def shared_doubt(run: CatchRun) -> Budget:
    """Return the doubt that all catches of a run have in common, as a share of the flow.

    Parameters
    ----------
    run : CatchRun
        The catch.

    Returns
    -------
    Budget
        Measure (the mean of several jugs), density (where weighed) and gauge; a gauge off by a share moves the flow by
        half of it.

    References
    ----------
    gum-jcgm-100, orifice-law
    """
    tools = run.instruments
    check_positive("time of the catch", run.time_s or 1.0, SECOND, remedy="Enter the seconds each tip was caught for.")
    density_kgpm3 = water_density_kgpm3(run.water_temp_k)
    weighed = any(reading.mass_kg is not None for reading in run.readings)
    density_frac = tools.density_kgpm3 / density_kgpm3 if weighed else 0.0
    measure_frac = tools.measure_frac if weighed else tools.measure_frac / sqrt(tools.jugs)
    return Budget(
        (
            Component("scale or jug throughout", rectangular(measure_frac), cause="measure of the catch"),
            Component("density of the water", -rectangular(density_frac), cause="water density"),
            Component("gauge", -rectangular(0.5 * tools.gauge_pa / run.pressure_pa), cause="gauge at the tips"),
        )
    )


def _check_positions(run: CatchRun) -> None:
    tips = [reading.tip for reading in run.readings]
    for tip in tips:
        if tips.count(tip) > 1:
            raise NotDefined(f"tip {tip}", reason="it stands in two rows", remedy="Keep the row that was really caught")
        if not 1 <= tip <= run.tips:
            reason = f"the boom has tips 1 to {run.tips}"
            raise NotDefined(f"tip {tip}", reason=reason, remedy="Correct the position, or the tips per section")
