"""Two tip sets that one boom can spray at once: stages by flow, the speeds they hold, and where to switch.

Switching bodies and double outlets go from the smaller set to the larger one and to both together. Where the windows of
two stages overlap, the switch up lies above the switch down, so that a machine that drives about there does not hunt.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from wetrun.errors import NotDefined
from wetrun.fieldlog.tally import Tally
from wetrun.machine.catalogue import tip_named
from wetrun.machine.sprayer import Sprayer
from wetrun.machine.tip import Tip
from wetrun.planning.label_limits import combined_limits
from wetrun.planning.passes import Pass
from wetrun.planning.tip_set import TipSet, hydraulics, refusal, tip_sets
from wetrun.planning.window import SpeedWindow, Trial, speed_window
from wetrun.spray.flow_law import FlowLaw
from wetrun.spray.flow_rows import FlowRows
from wetrun.spray.square_root import OrificeLaw
from wetrun.units import Frac, M3pm2, Mps

METHOD: Final = "stages of two tip sets"
METHOD_NUMBER: Final = 1
USUAL_HYSTERESIS_MPS: Final[Mps] = 0.25
"""Between switching up and down where nothing is typed, about half a mile an hour; our own choice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One stage.

    Attributes
    ----------
    tips : tuple of Tip
        What sprays at each position: one tip or two.
    window : SpeedWindow
        Speeds it holds, every limit of both tips kept.
    """

    tips: tuple[Tip, ...]
    window: SpeedWindow

    @property
    def words(self) -> str:
        """What sprays."""
        return " + ".join(tip.ident for tip in self.tips)


@dataclass(frozen=True, slots=True, kw_only=True)
class Switch:
    """Between a stage and the next larger one.

    Attributes
    ----------
    up_mps, down_mps : float
        Speed at which it goes to the larger, and back to the smaller [m/s].
    overlap_mps : float
        How far the two windows overlap [m/s]; negative for a gap between them.
    wide_enough : bool
        Whether the hysteresis fits into the overlap.
    """

    up_mps: Mps
    down_mps: Mps
    overlap_mps: Mps
    wide_enough: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StagePlan:
    """Two sets over one pass.

    Attributes
    ----------
    stages : tuple of Stage
        Smallest first; a stage that holds no speed at all is left out.
    switches : tuple of Switch
        One between each two.
    hysteresis_mps : float
        Wanted between switching up and down [m/s].
    """

    stages: tuple[Stage, ...]
    switches: tuple[Switch, ...]
    hysteresis_mps: Mps

    def stage_of(self, speed_mps: Mps, before: int) -> int:
        """Return which stage sprays at a speed [m/s], by the one before: counted from 0."""
        larger = (
            speed_mps > switch.up_mps or (speed_mps >= switch.down_mps and before > place)
            for place, switch in enumerate(self.switches)
        )
        return sum(larger)

    def holds(self, speed_mps: Mps) -> bool:
        """Return whether the stage that may spray at a speed [m/s] holds it, from above and from below."""
        reached = {self.stage_of(speed_mps, before) for before in range(len(self.stages))}
        windows = [self.stages[stage].window for stage in reached]
        return all(window.low_mps <= speed_mps <= window.high_mps for window in windows)


def stage_plan(
    planned: Pass, sprayer: Sprayer, catalogue: Iterable[Tip], *, rate_m3pm2: M3pm2 | None = None
) -> StagePlan:
    """Return the stages of the two sets a pass names.

    Parameters
    ----------
    planned : Pass
        Names two tips as `at_once`.
    sprayer : Sprayer
        The machine.
    catalogue : iterable of Tip
        Tips that can be had.
    rate_m3pm2 : float or None
        Rate [m3/m2]; None for the pass's own.

    Returns
    -------
    StagePlan
        All sections on.

    Raises
    ------
    NotDefined
        A pass that names no two tips, a tip that must not be used on it, or two that share no pressure.

    Notes
    -----
    Both sets share one pressure. Two at once give the sum of their flows, and both must be inside their range and their
    droplet classes: the coarser of the two is no excuse for the finer. Odd positions are left out; so are the seconds a
    switch takes, and how even two fans at one position lie.

    References
    ----------
    orifice-law, user
    """
    tips = tuple(tip_named(catalogue, ident) for ident in planned.at_once)
    if len(tips) != 2:
        remedy = "Write at_once = two idents at the pass."
        raise NotDefined(f"stages of {planned.ident}", reason="it does not name two tips", remedy=remedy)
    plain = replace(sprayer, boom=replace(sprayer.boom, exceptions=()), owned=())
    sets = {one.tip.ident: one for one in tip_sets(plain, {tip.ident: tip for tip in tips}.values())}
    rate = planned.rate_m3pm2 if rate_m3pm2 is None else rate_m3pm2
    single = [_single(sets[tip.ident], planned, plain, rate) for tip in dict.fromkeys(tips)]
    both = _both((sets[tips[0].ident], sets[tips[1].ident]), planned, plain, rate)
    stages = sorted([*single, both], key=lambda one: (len(one.tips), one.window.high_mps))
    held = tuple(stage for stage in stages if not stage.window.empty)
    hysteresis_mps = USUAL_HYSTERESIS_MPS if sprayer.control.hysteresis_mps is None else sprayer.control.hysteresis_mps
    switches = tuple(_switch(low.window, high.window, hysteresis_mps) for low, high in pairwise(held))
    return StagePlan(stages=held, switches=switches, hysteresis_mps=hysteresis_mps)


@dataclass(frozen=True, slots=True, kw_only=True)
class StagedPass:
    """What two sets at once do over a pass, or why they do not.

    Attributes
    ----------
    plan : StagePlan or None
        The stages.
    held_frac : float
        About how much of the area they hold at its speeds [frac].
    refused : NotDefined or None
        Why there are none.
    """

    plan: StagePlan | None
    held_frac: Frac = 0.0
    refused: NotDefined | None = None


def staged_pass(planned: Pass, speeds: Tally, sprayer: Sprayer, catalogue: Iterable[Tip]) -> StagedPass | None:
    """Return what two sets at once do over a pass.

    Parameters
    ----------
    planned : Pass
        The pass.
    speeds : Tally
        Its area by speed.
    sprayer : Sprayer
        The machine.
    catalogue : iterable of Tip
        Tips that can be had.

    Returns
    -------
    StagedPass or None
        None for a pass that names no two tips.
    """
    if not planned.at_once:
        return None
    try:
        plan = stage_plan(planned, sprayer, catalogue)
    except NotDefined as refused:
        return StagedPass(plan=None, refused=refused)
    return StagedPass(plan=plan, held_frac=held_frac(plan, speeds))


def held_frac(plan: StagePlan, speeds: Tally) -> Frac:
    """Return about how much of an area is held at its speeds [frac]; bins of the tally count by their middle."""
    middles = (speeds.least + speeds.greatest) / 2.0
    held = np.array([plan.holds(float(speed)) for speed in middles], dtype=bool)
    return float(speeds.area_cm2[held].sum() / speeds.total_cm2) if speeds.total_cm2 else 0.0


def joint_law(one: FlowLaw, other: FlowLaw) -> FlowLaw:
    """Return the law of two tips at one position and one pressure: their flows add up.

    Raises
    ------
    NotDefined
        Rows that share no two pressures.

    Example
    -------
    >>> from wetrun.spray.orifice import law_of_iso_size
    >>> law = joint_law(law_of_iso_size("03"), law_of_iso_size("05"))
    >>> round(law.flow_m3s(3e5) * 6e4, 6)  # L/min at 3 bar: 1.2 and 2.0
    3.2
    """
    origin = f"{one.origin} and {other.origin}"
    if isinstance(one, OrificeLaw) and isinstance(other, OrificeLaw):
        return OrificeLaw(one.coef_m3spa05 + other.coef_m3spa05, origin)
    rows = [law for law in (one, other) if isinstance(law, FlowRows)]
    low_pa, high_pa = max(law.pressures_pa[0] for law in rows), min(law.pressures_pa[-1] for law in rows)
    inner = {pa for law in rows for pa in law.pressures_pa if low_pa <= pa <= high_pa}
    pressures = tuple(sorted({low_pa, high_pa, *inner}))
    if not low_pa < high_pa:
        remedy = "Take tips whose rows reach over the same pressures."
        raise NotDefined("two tips at once", reason="their rows share no pressure", remedy=remedy)
    density = rows[0].density_kgpm3
    flows = tuple(one.flow_m3s(pa, density) + other.flow_m3s(pa, density) for pa in pressures)
    return FlowRows(pressures, flows, density, origin)


def _single(tip_set: TipSet, planned: Pass, sprayer: Sprayer, rate_m3pm2: M3pm2) -> Stage:
    return Stage(tips=(tip_set.tip,), window=speed_window(_trial(tip_set, planned, sprayer), rate_m3pm2))


def _both(pair: tuple[TipSet, TipSet], planned: Pass, sprayer: Sprayer, rate_m3pm2: M3pm2) -> Stage:
    """Both at once: the window of each tip's droplets and range at their joint flow, and what both leave."""
    one, other = pair
    law = joint_law(one.tip.flow_law, other.tip.flow_law)
    low_pa, high_pa = max(one.low_pa, other.low_pa), min(one.high_pa, other.high_pa)
    if not low_pa < high_pa:
        words = f"{one.tip.ident} and {other.tip.ident} at once"
        raise NotDefined(words, reason="they share no pressure", remedy="Choose tips with ranges that overlap.")
    windows = []
    for part in pair:
        # Wear stands in the joint law already.
        tip = replace(part.tip, law=law, low_pa=low_pa, high_pa=high_pa, wear_ratio=1.0)
        joint = replace(part, tip=tip, low_pa=low_pa, high_pa=high_pa)
        windows.append(speed_window(_trial(joint, planned, sprayer), rate_m3pm2))
    return Stage(tips=(one.tip, other.tip), window=_narrower(*windows))


def _trial(tip_set: TipSet, planned: Pass, sprayer: Sprayer) -> Trial:
    limits = combined_limits(planned)
    wrong = refusal(tip_set, planned, limits, sprayer.control.loop)
    if wrong is not None:
        remedy = "Choose another tip, or correct the pass."
        raise NotDefined(f"{tip_set.tip.ident} on {planned.ident}", reason=wrong.value, remedy=remedy)
    setup = hydraulics(tip_set, sprayer, planned.carrier)
    usual_mps = planned.speeds.usual_mps if planned.speeds is not None else 0.0
    return Trial(setup, tip_set, planned, limits, usual_mps)


def _narrower(one: SpeedWindow, other: SpeedWindow) -> SpeedWindow:
    low, high = max((one, other), key=lambda w: w.low_mps), min((one, other), key=lambda w: w.high_mps)
    return replace(low, high_mps=high.high_mps, high_by=high.high_by, near_high_mps=high.near_high_mps)


def _switch(low: SpeedWindow, high: SpeedWindow, hysteresis_mps: Mps) -> Switch:
    """In the middle of the overlap; of a gap too, where both are off by as much."""
    overlap_mps = low.high_mps - high.low_mps
    middle_mps = (low.high_mps + high.low_mps) / 2.0
    wide = overlap_mps >= hysteresis_mps
    half_mps = hysteresis_mps / 2.0
    return Switch(
        up_mps=middle_mps + half_mps, down_mps=middle_mps - half_mps, overlap_mps=overlap_mps, wide_enough=wide
    )
