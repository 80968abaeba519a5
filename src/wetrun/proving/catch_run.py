"""What is written down in a catch, and how well it could be read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite

from wetrun.spray.flow_law import FlowLaw
from wetrun.units import M3, Frac, K, Kg, Kgpm3, M3s, Pa, Ratio, S


@dataclass(frozen=True, slots=True, kw_only=True)
class TipReading:
    """What was written down at one tip; a blank is None.

    Attributes
    ----------
    tip : int
        Position, 1 at the left end.
    volume_m3 : float or None
        Volume caught [m3].
    mass_kg : float or None
        Mass caught [kg]; it counts where both are given.
    flow_m3s : float or None
        Flow that an instrument held at the tip shows [m3/s]; it takes the place of amount and time.
    time_s : float or None
        Its own time [s]; None takes the time of the run.
    pressure_pa : float or None
        Pressure at the tip or its section during the catch [Pa]; None takes that of the run.
    """

    tip: int
    volume_m3: M3 | None = None
    mass_kg: Kg | None = None
    flow_m3s: M3s | None = None
    time_s: S | None = None
    pressure_pa: Pa | None = None

    @property
    def amount(self) -> float | None:
        """Whatever was read of what came out, in its own SI unit; None if nothing was."""
        caught = self.volume_m3 if self.mass_kg is None else self.mass_kg
        return caught if self.flow_m3s is None else self.flow_m3s


@dataclass(frozen=True, slots=True, kw_only=True)
class CatchInstruments:
    """How well jug, scale, watch and gauge can be read, each as a half width unless it says otherwise.

    Attributes
    ----------
    jug_m3 : float
        Half of the interval a jug can be read to [m3].
    scale_kg : float
        Half of the interval of a weighing, jug's own weight taken off [kg].
    watch_s : float
        Standard uncertainty of one press of the watch, at the start and again at the stop [s].
    density_kgpm3 : float
        Half width of the water's density: temperature and what is dissolved [kg/m3].
    measure_frac : float
        By how much jug or scale may be off throughout, as a share [frac].
    gauge_pa : float
        By how much the gauge may be off throughout [Pa].
    wander_pa : float
        By how much the pressure may move from catch to catch without being read again [Pa].
    flow_frac : float
        By how much an instrument that shows flow may be off from one holding to the next, as a share [frac].
    jugs : int
        Jugs that hung under the boom at once; each is off by an amount of its own.
    """

    jug_m3: M3 = 0.0
    scale_kg: Kg = 0.0
    watch_s: S = 0.1
    density_kgpm3: Kgpm3 = 0.5
    measure_frac: Frac = 0.0
    gauge_pa: Pa = 0.0
    wander_pa: Pa = 0.0
    flow_frac: Frac = 0.0
    jugs: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class CatchRun:
    """One catch of a whole boom on clean water.

    Attributes
    ----------
    readings : tuple of TipReading
        One row per tip that was written down; tips without a row are gaps.
    section_tips : tuple of int
        Positions per section, left to right.
    law : FlowLaw
        The tip when new; its origin says by which definition.
    pressure_pa : float
        Test pressure, to which all flows are brought [Pa].
    time_s : float or None
        Time of the catches that have none of their own [s].
    water_temp_k : float
        Water temperature [K].
    instruments : CatchInstruments
        How well it could be read.
    size : str
        Size stamped on the tips; empty if unknown.
    before_pa, after_pa : float or None
        Pressure read before the first and after the last catch [Pa].
    conditions : str
        Mode of the controller, agitation, duty: as they stood, in words.
    odd_laws : mapping of int to FlowLaw
        Positions that carry another tip on purpose, with that tip's law.
    plumbing_ratios : mapping of int to float
        Flow that the boom's plumbing leads to expect at each position over the mean [ratio]; empty if it is not known.
    new_tips : tuple of int
        Positions of new tips, put there to compare: no part of the set.
    stands : frozenset of str
        Rows that were asked about and stand as typed: "tip 23", "whole boom", "pressure".
    """

    readings: tuple[TipReading, ...]
    section_tips: tuple[int, ...]
    law: FlowLaw
    pressure_pa: Pa
    time_s: S | None = None
    water_temp_k: K = 293.15
    instruments: CatchInstruments = CatchInstruments()
    size: str = ""
    before_pa: Pa | None = None
    after_pa: Pa | None = None
    conditions: str = ""
    odd_laws: Mapping[int, FlowLaw] = field(default_factory=dict)
    plumbing_ratios: Mapping[int, Ratio] = field(default_factory=dict)
    new_tips: tuple[int, ...] = ()
    stands: frozenset[str] = frozenset()

    @property
    def tips(self) -> int:
        """Positions on the boom."""
        return sum(self.section_tips)

    @property
    def moved_pa(self) -> Pa:
        """By how much the pressure moved from the first to the last catch [Pa]; 0 if it was not read twice."""
        return 0.0 if self.before_pa is None or self.after_pa is None else abs(self.after_pa - self.before_pa)

    def section_of(self, tip: int) -> int:
        """Return the section of a position, both counted from 1."""
        ends = [sum(self.section_tips[: n + 1]) for n in range(len(self.section_tips))]
        return next(n for n, end in enumerate(ends, start=1) if tip <= end)

    def new_law(self, tip: int) -> FlowLaw:
        """Return the law of the tip that belongs at a position, when new."""
        return self.odd_laws.get(tip, self.law)

    def time_of_s(self, reading: TipReading) -> S | None:
        """Return the time of one catch [s]; None if neither row nor run has one."""
        return self.time_s if reading.time_s is None else reading.time_s

    def pressure_of_pa(self, reading: TipReading) -> Pa:
        """Return the pressure during one catch [Pa]."""
        return self.pressure_pa if reading.pressure_pa is None else reading.pressure_pa


def readable(run: CatchRun, reading: TipReading) -> bool:
    """Return True if a row has an amount and a time that a flow can be made of; no flow at all is a flow."""
    amount, pressure_pa = reading.amount, run.pressure_of_pa(reading)
    time_s = 1.0 if reading.flow_m3s is not None else run.time_of_s(reading)
    if amount is None or time_s is None or not all(isfinite(n) for n in (amount, time_s, pressure_pa)):
        return False
    return amount >= 0.0 and time_s > 0.0 and pressure_pa > 0.0
