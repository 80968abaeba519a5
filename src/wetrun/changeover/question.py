"""What is asked of a clean-out: two tanks, the machine between them, the water there is, and what was written down."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from wetrun.changeover.network import Network
from wetrun.changeover.next_crop import usual_next_load
from wetrun.changeover.rinse import Way, rinse_setup
from wetrun.changeover.rinse_task import RinseTask, WaterSupply
from wetrun.changeover.tolerated import Tolerated
from wetrun.changeover.yard_job import Cleaner, LabelStep
from wetrun.changeover.yard_record import StepEntry
from wetrun.machine.circuits import Layout
from wetrun.units import M3, M3pm2, M3s, Mps


@dataclass(frozen=True, slots=True, kw_only=True)
class TankUse:
    """What was, or will be, in the tank.

    Attributes
    ----------
    name, crop : str
        Name of the pass and its crop.
    contents : tuple of str
        Everything in the tank, a carrier other than water included; of the earlier use everything since the last
        clean-out.
    rate_m3pm2 : float
        Carrier rate [m3/m2].
    first_day, last_day : date or None
        Days of the pass, if typed.
    """

    name: str
    crop: str
    contents: tuple[str, ...]
    rate_m3pm2: M3pm2
    first_day: date | None = None
    last_day: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What somebody wrote down of a clean-out.

    Attributes
    ----------
    entries : tuple of StepEntry
        Step by step.
    signed_by : str
        Who answers for the machine.
    signed_at : datetime or None
        When, with a time zone.
    """

    entries: tuple[StepEntry, ...] = ()
    signed_by: str = ""
    signed_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WinterWish:
    """That the machine is put away after the clean-out.

    Attributes
    ----------
    antifreeze : str
        The winter fluid and its label's words, as typed.
    where_it_goes : str
        Where it may go in spring, as typed.
    """

    antifreeze: str = ""
    where_it_goes: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeoverQuestion:
    """One clean-out, as asked.

    Attributes
    ----------
    machine : str
        What the shop calls it.
    earlier, later : TankUse
        From what to what.
    layout : Layout
        Its plumbing, measured volumes and extra circuits in place.
    section_tips : tuple of int
        Tips of each section, left to right.
    tolerated : Tolerated
        What the next crop may get.
    supply : WaterSupply
        Clean water.
    load_m3 : float
        First load of the later use [m3].
    out_m3s : float
        Boom flow of the later use [m3/s].
    speed_mps : float
        Ground speed of the later use [m/s].
    drains : bool
        Whether the machine is drained before the first rinse and after each.
    fed_in_middle : bool
        Whether sections are fed in their middle instead of at an end.
    ways : tuple of Way
        Ways to rinse that the plan may use.
    most_rinses : int
        Most rinses.
    label_steps : tuple of LabelStep
        Steps of the labels.
    cleaners : tuple of Cleaner
        As the labels name them.
    first_flush_m3 : float or None
        Water round pump and tank before the first rinse [m3].
    rinsate : str
        Where rinsate may go, as typed.
    nurse : bool
        Whether a nurse tank or hoses carried the product.
    on : date or None
        Day of the clean-out.
    written : Written or None
        The record so far; None if nothing was written down.
    winter : WinterWish or None
        Given if the machine is put away.
    """

    machine: str
    earlier: TankUse
    later: TankUse
    layout: Layout
    section_tips: tuple[int, ...]
    tolerated: Tolerated
    supply: WaterSupply
    load_m3: M3
    out_m3s: M3s
    speed_mps: Mps
    drains: bool = True
    fed_in_middle: bool = False
    ways: tuple[Way, ...] = (Way.BATCH,)
    most_rinses: int = 4
    label_steps: tuple[LabelStep, ...] = ()
    cleaners: tuple[Cleaner, ...] = ()
    first_flush_m3: M3 | None = None
    rinsate: str = ""
    nurse: bool = True
    on: date | None = None
    written: Written | None = None
    winter: WinterWish | None = None


def rinse_task(question: ChangeoverQuestion, network: Network) -> RinseTask:
    """Return what the rinse plan is asked.

    Parameters
    ----------
    question : ChangeoverQuestion
        The clean-out.
    network : Network
        Of its layout.

    Returns
    -------
    RinseTask
        From plumbing full of old mix, the tank sprayed down.

    Raises
    ------
    NotDefined
        Nothing sprays.
    """
    load = usual_next_load(
        network,
        question.load_m3,
        rate_m3pm2=question.later.rate_m3pm2,
        out_m3s=question.out_m3s,
        old_rate_m3pm2=question.earlier.rate_m3pm2,
    )
    return RinseTask(
        setup=rinse_setup(network, question.out_m3s, drains=question.drains),
        load=load,
        tolerated=question.tolerated,
        supply=question.supply,
        ways=question.ways,
        most_rinses=question.most_rinses,
    )
