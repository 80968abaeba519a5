"""What there is to catch a boom with, and how sure each way leaves a tip, before anything is caught.

What a way leaves in doubt is worked out by the same budget that judges the catch itself. Where nobody has said how well
jug, gauge or instrument can be read, a figure of our own choice from common practice stands in and is named.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import sqrt
from typing import Any, Final

from wetrun.percent import per_cent
from wetrun.proving.budget import Budget, Component
from wetrun.proving.catch_flow import caught_tips, shared_doubt
from wetrun.proving.catch_plan import NEW_TIPS, SET_TIPS, CatchWay
from wetrun.proving.catch_run import CatchInstruments, CatchRun, TipReading
from wetrun.spray.flow_law import FlowLaw
from wetrun.spray.water import water_density_kgpm3
from wetrun.units import M3, Frac, K, Pa, S

JUG_FRAC: Final[Frac] = 0.01
"""Half width of the marks of a jug chosen to the catch."""
MEASURE_FRAC: Final[Frac] = 0.005
"""Jug or scale throughout."""
GAUGE_FRAC: Final[Frac] = 0.05
"""A gauge of a shop: ±2 psi at 40 psi, which is ±2.5 % of flow."""
WANDER_FRAC: Final[Frac] = 0.025
"""Pressure from catch to catch where it is read before and after only."""
REREAD_FRAC: Final[Frac] = 0.01
"""The same where it is set and read again for each section."""
INSTRUMENT_FRAC: Final[Frac] = 0.02
"""An instrument held at the tip that shows flow."""
SET_SPREAD_FRAC: Final[Frac] = 0.015
"""Standard deviation of ordinary tips round their mean."""
SETTING_S: Final[S] = 60.0
"""Setting and reading the pressure of one section."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CatchMeans:
    """What there is to catch, and with what.

    Attributes
    ----------
    section_tips : tuple of int
        Tips per section.
    law : FlowLaw
        The tip when new.
    pressure_pa : float
        Pressure at the tips during the catch [Pa].
    catch_s : float
        Time of one catch [s].
    most_jugs : int
        Jugs that can be held under at once.
    water_temp_k : float
        Water temperature [K].
    tools : CatchInstruments
        How well they can be read; a zero is not known.
    tank_m3 : float or None
        Water the tank holds [m3]; None if not known.
    """

    section_tips: tuple[int, ...]
    law: FlowLaw
    pressure_pa: Pa
    catch_s: S = 60.0
    most_jugs: int = 8
    water_temp_k: K = 293.15
    tools: CatchInstruments = field(default_factory=CatchInstruments)
    tank_m3: M3 | None = None


def filled(means: CatchMeans) -> tuple[CatchInstruments, tuple[str, ...]]:
    """Return the instruments with our own choice where nothing is known, and what that was.

    Parameters
    ----------
    means : CatchMeans
        What there is to catch with.

    Returns
    -------
    tuple of CatchInstruments and tuple of str
        Instruments without a gap, and each choice of ours in words.

    References
    ----------
    day-plan-own-choice
    """
    tools, pressure_pa = means.tools, means.pressure_pa
    caught_m3 = float(means.law.flow_m3s(pressure_pa)) * means.catch_s
    ours = {
        "measure_frac": (MEASURE_FRAC, f"jug or scale throughout ±{per_cent(MEASURE_FRAC)}"),
        "gauge_pa": (GAUGE_FRAC * pressure_pa, f"gauge ±{per_cent(GAUGE_FRAC, places=0)} of its reading"),
        "wander_pa": (WANDER_FRAC * pressure_pa, f"pressure from catch to catch ±{per_cent(WANDER_FRAC)}"),
        "flow_frac": (INSTRUMENT_FRAC, f"flow instrument ±{per_cent(INSTRUMENT_FRAC, places=0)}"),
    }
    if tools.scale_kg == 0.0:
        ours["jug_m3"] = (JUG_FRAC * caught_m3, f"jug marks ±{per_cent(JUG_FRAC, places=0)} of what is caught")
    missing = {name: value for name, value in ours.items() if getattr(tools, name) == 0.0}
    values: dict[str, Any] = {name: value for name, (value, _) in missing.items()}
    return replace(tools, **values), tuple(words for _, words in missing.values())


def way_doubts(means: CatchMeans, way: CatchWay, *, jugs: int = 1) -> tuple[Budget, Budget]:
    """Return what a way leaves in doubt of a tip that flows as new, by the budget that judges the catch itself.

    Parameters
    ----------
    means : CatchMeans
        With instruments that are all known, see `filled`.
    way : CatchWay
        How the tips are caught.
    jugs : int
        Jugs held under at once; each is off by a share of its own.

    Returns
    -------
    tuple of Budget
        What one catch has for itself, and what all catches have in common, as shares of the flow.

    References
    ----------
    gum-jcgm-100, orifice-law, day-plan-own-choice
    """
    tools, pressure_pa = replace(means.tools, jugs=1 if way is CatchWay.DIRECT else jugs), means.pressure_pa
    flow_m3s = float(means.law.flow_m3s(pressure_pa))
    caught_m3 = flow_m3s * means.catch_s
    reading = TipReading(tip=1, volume_m3=caught_m3)
    if way is CatchWay.DIRECT:
        reading = TipReading(tip=1, flow_m3s=flow_m3s)
    elif tools.scale_kg > 0.0 and tools.jug_m3 == 0.0:
        reading = TipReading(tip=1, mass_kg=caught_m3 * water_density_kgpm3(means.water_temp_k))
    if way is CatchWay.BY_SECTION:
        tools = replace(tools, wander_pa=min(tools.wander_pa, REREAD_FRAC * pressure_pa))
    run = CatchRun(
        readings=(reading,),
        section_tips=(1,),
        law=means.law,
        pressure_pa=pressure_pa,
        time_s=means.catch_s,
        water_temp_k=means.water_temp_k,
        instruments=tools,
    )
    return caught_tips(run)[0].own, shared_doubt(run)


def reference_doubt(own: Budget) -> Budget:
    """Return the doubt of a set against new tips on the same boom: both scatter, and new ones are few.

    Parameters
    ----------
    own : Budget
        What one catch has for itself, as a share.

    Returns
    -------
    Budget
        As a share of new; gauge and jug throughout are in both and fall out.

    References
    ----------
    gum-jcgm-100, day-plan-own-choice

    Example
    -------
    >>> round(reference_doubt(Budget(())).expanded(), 3)  # three new tips, spread 1.5 %
    0.03
    """
    scatter = sqrt(SET_SPREAD_FRAC**2 + own.combined**2)
    return Budget(
        tuple(
            Component(name, scatter / sqrt(count), "A", freedom=count - 1.0, readings=count)
            for name, count in (("tips of the set", SET_TIPS), ("new tips", NEW_TIPS))
        )
    )
