"""A whole wet run as it was written down: the machine, the gates, and every test that was done; none is owed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from wetrun.machine.boom import Boom
from wetrun.machine.boom_pipes import BoomPipes
from wetrun.proving.catch_rules import Rule as TipRule
from wetrun.proving.catch_run import CatchRun
from wetrun.proving.catch_wear import SeasonUse
from wetrun.proving.course import Course, Run, SpeedSource
from wetrun.proving.gates import GateAnswer
from wetrun.proving.identity import Screen
from wetrun.proving.meter import MeterTest
from wetrun.proving.monitor import Profile, Snapshot
from wetrun.proving.pressure import PressurePair
from wetrun.proving.ramp_record import Ramp
from wetrun.proving.redundant import Rig
from wetrun.proving.section_timing import Antenna, Delay
from wetrun.proving.sections import SectionSeen
from wetrun.proving.session_steady import ReadingDoubts, SteadyRead
from wetrun.proving.settings import DensityRecord, Wanted
from wetrun.proving.standing import Standing
from wetrun.proving.swaps import SwapTest
from wetrun.spray.fan_patterns import FanPattern
from wetrun.spray.flow_law import FlowLaw
from wetrun.spray.hydraulics import Hydraulics
from wetrun.spray.overlap import EvennessLimit
from wetrun.units import M3, Frac, M, Mps, Pa, S


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvenMachine:
    """The machine on the yard.

    Attributes
    ----------
    name : str
        What the customer calls it.
    boom : Boom
        Sections and spacing.
    setup : Hydraulics
        The set when new on this machine, with the water of the run.
    tip : str
        The tip in words.
    size : str
        Size stamped on the tips; empty if unknown.
    pipes : BoomPipes or None
        The boom's plumbing; None if it is not known.
    odd_laws : mapping of int to FlowLaw
        Positions that carry another tip on purpose, with that tip's law.
    scales_meter_by_density : bool or None
        Whether its monitor scales the meter by density; None if not known.
    use : SeasonUse or None
        What it sprays in a season, for the cost of wear.
    sprayed_s : float or None
        Spraying time of the set so far [s], for the next check.
    tank_m3 : float or None
        Water its tank holds [m3], for what a catch takes.
    """

    name: str
    boom: Boom
    setup: Hydraulics
    tip: str = ""
    size: str = ""
    pipes: BoomPipes | None = None
    odd_laws: Mapping[int, FlowLaw] = field(default_factory=dict)
    scales_meter_by_density: bool | None = None
    use: SeasonUse | None = None
    sprayed_s: S | None = None
    tank_m3: M3 | None = None

    @property
    def rig(self) -> Rig:
        """The machine as the cross-check sees it."""
        setup = self.setup
        ends_pa = [pa for pa in (setup.high_pa, setup.cab_high_pa, setup.relief_pa) if pa is not None]
        return Rig(
            boom=self.boom,
            law=setup.law,
            loss=setup.loss,
            loop=setup.loop,
            density_kgpm3=setup.density_kgpm3,
            low_pa=setup.low_pa,
            high_pa=min(ends_pa),
        )


@dataclass(frozen=True, slots=True)
class CourseTest:
    """A speed course as driven."""

    course: Course
    runs: tuple[Run, ...]
    sources: tuple[SpeedSource, ...]
    stands: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class CatchTest:
    """A catch of the boom.

    Attributes
    ----------
    run : CatchRun
        The catch, at full duty where tips pulse.
    rule : Rule
        What every tip is held against.
    low : CatchRun or None
        The same at low duty, by `run_at_duty`.
    swaps : tuple of SwapTest
        Odd tips that changed places with good ones, and what both places gave then.
    low_swaps : tuple of SwapTest
        Weak solenoids that did, caught at low duty.
    """

    run: CatchRun
    rule: TipRule
    low: CatchRun | None = None
    swaps: tuple[SwapTest, ...] = ()
    low_swaps: tuple[SwapTest, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureTest:
    """Cab against gauges at the tips.

    Attributes
    ----------
    pairs : tuple of PressurePair
        Readings.
    reading_pa : float
        Standard uncertainty of one difference [Pa].
    gauge_pa : float
        Half width of what the gauge may be off throughout [Pa].
    """

    pairs: tuple[PressurePair, ...]
    reading_pa: Pa
    gauge_pa: Pa = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class EvennessTest:
    """Evenness across the boom.

    Attributes
    ----------
    limit : EvennessLimit
        The rule.
    volumes_m3 : tuple of float
        Volume in each groove of the tray [m3]; empty if no tray stood under the boom.
    reading_frac : float
        Standard uncertainty of reading one groove, as a share of the mean [frac].
    pattern : FanPattern or None
        What one tip lays down at the boom's height, to stack the tips caught; None if not known.
    """

    limit: EvennessLimit
    volumes_m3: tuple[M3, ...] = ()
    reading_frac: Frac = 0.0
    pattern: FanPattern | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionsTest:
    """Sections on dry ground.

    Attributes
    ----------
    seen : tuple of SectionSeen
        Section by section, left to right.
    opening, shutting : Delay or None
        Timed delays.
    antenna : Antenna or None
        Where the tips are behind the antenna.
    speed_mps : float or None
        Working speed [m/s], to turn seconds into length.
    allowed_m : float or None
        How far past a line an edge may lie [m].
    """

    seen: tuple[SectionSeen, ...]
    opening: Delay | None = None
    shutting: Delay | None = None
    antenna: Antenna | None = None
    speed_mps: Mps | None = None
    allowed_m: M | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MonitorTest:
    """What stood in the monitor.

    Attributes
    ----------
    profile : Profile
        How it keeps its settings.
    as_found : Snapshot
        Before the run.
    as_left : Snapshot or None
        After it; None if nobody read it again.
    wanted : tuple of Wanted
        What the plan and the tape say should stand there; what the run itself finds is added to it.
    density : DensityRecord or None
        The density over the run; None if the monitor has none.
    """

    profile: Profile
    as_found: Snapshot
    as_left: Snapshot | None = None
    wanted: tuple[Wanted, ...] = ()
    density: DensityRecord | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WetRun:
    """A wet run, whole. Whatever was not done is None or empty, and is told as unproven.

    Attributes
    ----------
    machine : ProvenMachine
        The machine.
    on, by, customer : str
        Day, technician, customer, as written.
    gates : tuple of GateAnswer
        Gates as answered.
    course, meter, catch, pressure, evenness, ramp, sections, monitor : test or None
        The tests.
    steady : tuple of SteadyRead
        What was read while the whole boom ran steadily, for the cross-check.
    screen : Screen or None
        The monitor's screen at one moment.
    doubts : ReadingDoubts
        How far the machine's own instruments are trusted in the cross-check.
    stands : tuple of Standing
        Readings that were asked about and stand as typed.
    """

    machine: ProvenMachine
    on: str = ""
    by: str = ""
    customer: str = ""
    gates: tuple[GateAnswer, ...] = ()
    course: CourseTest | None = None
    meter: MeterTest | None = None
    catch: CatchTest | None = None
    pressure: PressureTest | None = None
    evenness: EvennessTest | None = None
    ramp: Ramp | None = None
    sections: SectionsTest | None = None
    monitor: MonitorTest | None = None
    steady: tuple[SteadyRead, ...] = ()
    screen: Screen | None = None
    doubts: ReadingDoubts = field(default_factory=ReadingDoubts)
    stands: tuple[Standing, ...] = ()
