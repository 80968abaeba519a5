"""What a whole wet run says: every verdict with its evidence, new numbers, tips to change, what stays unproven."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from wetrun.errors import WetrunError
from wetrun.proving.budget import NO_BUDGET, Budget
from wetrun.proving.catch import CatchResult
from wetrun.proving.catch_diagnosis import TipFinding
from wetrun.proving.catch_pulse import PulseFinding
from wetrun.proving.catch_reference import ReferenceWear
from wetrun.proving.catch_wear import NextCheck, WearCost
from wetrun.proving.course_result import CourseResult
from wetrun.proving.crosscheck import CrossCheck
from wetrun.proving.evenness import TrayResult
from wetrun.proving.evenness_stack import StackResult, TrayAgainstStack
from wetrun.proving.gates import Start
from wetrun.proving.meter_result import MeterResult
from wetrun.proving.monitor import Change, Rounded
from wetrun.proving.number_form import TypedNumber
from wetrun.proving.pressure import PressureResult
from wetrun.proving.pressure_plumbing import LossAgainst
from wetrun.proving.ramp import RampResult
from wetrun.proving.section_timing import Edge
from wetrun.proving.sections import SectionResult
from wetrun.proving.sentence import Answer
from wetrun.proving.session_record import WetRun
from wetrun.proving.settings import Compared, DensityFinding
from wetrun.proving.slips import Question
from wetrun.proving.standing import Standing
from wetrun.proving.swaps import SwapResult
from wetrun.proving.verdict import Verdict
from wetrun.units import Ratio, Unit


class Part(StrEnum):
    """A part of a wet run, in the order of the report."""

    GATES = "gates"
    COURSE = "speed course"
    METER = "flow meter"
    CATCH = "catch of the tips"
    LOW_DUTY = "catch at low duty"
    PRESSURE = "cab against gauges"
    EVENNESS = "evenness"
    RAMP = "ramp"
    SECTIONS = "sections"
    SETTINGS = "settings"
    CROSSCHECK = "cross-check"


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """One line of the evidence table.

    Attributes
    ----------
    part : Part
        The test.
    thing : str
        What was measured.
    value : float
        In SI; a ratio is always *less one*, so that 0.04 is 4 % too much.
    expanded : float or None
        Expanded uncertainty of 95 %, in the unit of the value; None where it is a count or an observation.
    low, high : float or None
        Limits in the unit of the value.
    unit : Unit or None
        SI unit of value, expanded and limits; None for a count.
    rule : str
        The rule in words.
    source_key : str
        Where the rule is from.
    verdict : Verdict or None
        None where there is no limit: the line informs.
    next_step : str
        What to do; empty if nothing.
    caution : str
        What to say of the rule's own standing; empty if nothing.
    counts : bool
        False if the line is shown and decides nothing.
    place : str
        What names the line from run to run, such as "tip 37"; empty if that is the thing.
    budget : Budget
        What the expanded uncertainty is made of, in the unit of the value; empty where there is none.
    margin : str
        What the expanded uncertainty is instead, where it is a margin and no uncertainty; empty otherwise.
    """

    part: Part
    thing: str
    value: float
    expanded: float | None
    low: float | None
    high: float | None
    unit: Unit | None
    rule: str
    source_key: str
    verdict: Verdict | None
    next_step: str = ""
    caution: str = ""
    counts: bool = True
    place: str = ""
    budget: Budget = NO_BUDGET
    margin: str = ""

    @property
    def key(self) -> tuple[Part, str]:
        """What it is a line of, in this run and in any other of the same machine."""
        return self.part, self.place or self.thing


@dataclass(frozen=True, slots=True, kw_only=True)
class NewNumber:
    """A calibration number to enter.

    Attributes
    ----------
    part : Part
        The test it is from.
    thing : str
        Of what.
    found : TypedNumber
        As it stood, exactly as typed, with its form (unit and convention).
    new : float
        The number, in the same form, unrounded.
    expanded_ratio : float
        Expanded uncertainty of 95 %, relative to it [ratio].
    enter : Rounded or None
        What the monitor takes, and what its steps cost; None if the profile does not know the setting.
    """

    part: Part
    thing: str
    found: TypedNumber
    new: float
    expanded_ratio: Ratio
    enter: Rounded | None


@dataclass(frozen=True, slots=True)
class Asked:
    """A question about a reading.

    Attributes
    ----------
    part : Part
        The test.
    row : str
        The row it is about.
    words : str
        The question.
    first : bool
        Whether it comes before any verdict; a blank that may stay a gap does not.
    names : tuple of str
        What an answer names if all of it stands as typed; empty if it must be read or typed again.
    """

    part: Part
    row: str
    words: str
    first: bool = True
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Answered:
    """A reading that stands as typed, on somebody's word.

    Attributes
    ----------
    standing : Standing
        Which, and who looked.
    settles : bool
        Whether anything is asked about it; if not, its name may be mistyped.
    """

    standing: Standing
    settles: bool

    @property
    def words(self) -> str:
        """The answer as the sheet shows it."""
        confirmed = self.standing.confirmed
        when = f", {confirmed.at}" if confirmed.at else ""
        seen = f": {confirmed.remark}" if confirmed.remark else ""
        if not self.settles:
            return f"{self.standing.reading}: nothing is asked about it. Write the name that stands behind a question."
        return f"{self.standing.reading}: asked, and confirmed as typed by {confirmed.by}{when}{seen}"


@dataclass(frozen=True, slots=True)
class Untested:
    """A part that says nothing: what stays unproven, and the error if it was tried and cannot be worked out."""

    part: Part
    unproven: str
    error: WetrunError | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """The result of each test by its own function; None or empty where it was not done."""

    start: Start
    course: CourseResult | None = None
    meter: MeterResult | None = None
    catch: CatchResult | None = None
    swaps: tuple[SwapResult, ...] = ()
    low_catch: CatchResult | None = None
    low_duty: tuple[PulseFinding, ...] | None = None
    low_swaps: tuple[SwapResult, ...] = ()
    reference: ReferenceWear | None = None
    wear: WearCost | None = None
    next_check: NextCheck | None = None
    pressure: PressureResult | None = None
    plumbing: tuple[LossAgainst, ...] = ()
    tray: TrayResult | None = None
    stack: StackResult | None = None
    both: TrayAgainstStack | None = None
    ramp: RampResult | None = None
    sections: tuple[SectionResult, ...] = ()
    edges: tuple[tuple[str, Edge], ...] = ()
    settings_found: tuple[Compared, ...] = ()
    settings_left: tuple[Compared, ...] = ()
    left_otherwise: tuple[Change, ...] = ()
    density_missing: tuple[DensityFinding, ...] = ()
    check: CrossCheck | None = None
    answer: Answer | None = None
    typed: tuple[tuple[Part, Question], ...] = ()
    confirmed: tuple[tuple[Part, Question], ...] = ()
    settings_asked: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WetRunResult:
    """What a wet run says.

    Attributes
    ----------
    run : WetRun
        As written down.
    sentence : str
        What is wrong, in one sentence.
    verdict : Verdict
        Of everything that counts: fail if any failed, undecided if any is or nothing was tested.
    evidence : tuple of Evidence
        In the order of the report.
    questions : tuple of Asked
        To be answered before the verdicts they touch.
    answers : tuple of Answered
        Readings that stand as typed, on whose word.
    next_steps : tuple of str
        What to do, first things first.
    numbers : tuple of NewNumber
        New calibration numbers.
    tips : tuple of TipFinding
        Tips to change or to look at, along the boom.
    untested : tuple of Untested
        What stays unproven.
    unseen : tuple of str
        What the cross-check cannot see with these readings.
    cautions : tuple of str
        For everybody near the machine.
    statement : str
        What this sheet is, and is not.
    findings : Findings
        Each test's own result.
    """

    run: WetRun
    sentence: str
    verdict: Verdict
    evidence: tuple[Evidence, ...]
    questions: tuple[Asked, ...]
    answers: tuple[Answered, ...]
    next_steps: tuple[str, ...]
    numbers: tuple[NewNumber, ...]
    tips: tuple[TipFinding, ...]
    untested: tuple[Untested, ...]
    unseen: tuple[str, ...]
    cautions: tuple[str, ...]
    statement: str
    findings: Findings
