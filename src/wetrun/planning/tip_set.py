"""A tip set: one tip at every position that is not deliberately something else, on one machine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from math import sqrt

from wetrun.errors import NotDefined
from wetrun.machine.sprayer import Sprayer
from wetrun.machine.tip import OwnedSet, Tip
from wetrun.planning.label_limits import PassLimits
from wetrun.planning.passes import Pass
from wetrun.planning.tip_loss import pulsed_fit, tips_fit
from wetrun.spray.carrier import Carrier
from wetrun.spray.controller import Hydraulics, Loop
from wetrun.spray.droplets import Family, SprayPattern
from wetrun.spray.feedback import gain_ratio
from wetrun.units import Cents, M, Pa


class Refusal(StrEnum):
    """Why a tip set is out of the question for a pass, whatever the speeds."""

    CONFLICT = "the limits of the pass leave nothing"
    NOT_WISHED = "not among the tips asked for"
    GENERIC = "generic, and only the shop's own rows are asked for"
    NO_PRICE = "no price is known, and there is a budget"
    NOT_PERMITTED = "not on the label's list of tips"
    ODD_NOT_PERMITTED = "a tip at the odd positions is not on the label's list"
    ODD_NO_CLASS = "a droplet class is asked for and a tip at the odd positions has none"
    NO_CLASS = "a droplet class is asked for and a streamer has none"
    NOT_FERTILISER = "streamers put down fertiliser, not a broadcast spray"
    NOT_PULSED = "not to be pulsed unless its maker says so"
    LAYOUT = "no pressure suits it and the odd positions of the boom together"


@dataclass(frozen=True, slots=True, kw_only=True)
class TipSet:
    """One candidate for the boom.

    Attributes
    ----------
    tip : Tip
        The tip at every ordinary position, with its wear.
    owned : bool
        Whether the customer has it.
    cost_cents : int or None
        What the set costs [cents]; 0 if owned, None if no price is known.
    needed : int
        Tips to buy; 0 if owned.
    low_pa, high_pa : float
        Pressure range that suits every tip on the boom [Pa].
    equivalent_tips : float
        Tips on the boom counted as this tip, by flow.
    spacing_m : float
        Boom width over equivalent tips [m]: the width one such tip answers for.
    odd : tuple of Tip
        Tips at the odd positions.
    """

    tip: Tip
    owned: bool
    cost_cents: Cents | None
    needed: int
    low_pa: Pa
    high_pa: Pa
    equivalent_tips: float
    spacing_m: M
    odd: tuple[Tip, ...] = ()

    @property
    def patterns(self) -> tuple[SprayPattern, ...]:
        """Fans of every tip on the boom; tips without one (streamers) are left out."""
        return tuple(tip.pattern for tip in (self.tip, *self.odd) if tip.pattern is not None)

    @property
    def key(self) -> tuple[str, bool]:
        """What makes it one candidate: tip and whether owned."""
        return self.tip.ident, self.owned


def tip_sets(
    sprayer: Sprayer, catalogue: Iterable[Tip], *, odd_positions: bool = True, places: int | None = None
) -> tuple[TipSet, ...]:
    """Return every set that could go on a boom: those owned first, then those to buy.

    Parameters
    ----------
    sprayer : Sprayer
        The machine, with its odd positions and owned sets.
    catalogue : iterable of Tip
        Tips that can be had.
    odd_positions : bool
        False if the odd positions carry the set's own tip.
    places : int or None
        Tips an owned set must have; None for the boom's ordinary positions.

    Returns
    -------
    tuple of TipSet
        The same sets in the same order either way. An owned set that is too small is left out; see `owned_too_small`.

    Raises
    ------
    NotDefined
        If an owned set or an odd position names a tip the catalogue does not have.
    """
    known = {tip.ident: tip for tip in catalogue}
    small = owned_too_small(sprayer, sprayer.boom.tips - sprayer.boom.excepted if places is None else places)
    fitted = sprayer if odd_positions else replace(sprayer, boom=replace(sprayer.boom, exceptions=()))
    owned = [
        _tip_set(fitted, _named(known, have.tip).worn_by(have.wear_ratio), known, owned=True)
        for have in sprayer.owned
        if have not in small
    ]
    return (*owned, *(_tip_set(fitted, tip, known, owned=False) for tip in known.values()))


def owned_too_small(sprayer: Sprayer, places: int) -> tuple[OwnedSet, ...]:
    """Return the owned sets that do not fill the boom.

    Parameters
    ----------
    sprayer : Sprayer
        The machine, with its owned sets.
    places : int
        Tips a set must have.

    Returns
    -------
    tuple of OwnedSet
        Sets with fewer tips.
    """
    return tuple(have for have in sprayer.owned if have.count is not None and have.count < places)


def refusal(tip_set: TipSet, planned: Pass, limits: PassLimits, loop: Loop) -> Refusal | None:
    """Return why a tip set cannot be used for a pass, or None.

    Parameters
    ----------
    tip_set : TipSet
        The candidate.
    planned : Pass
        The pass.
    limits : PassLimits
        What the products leave.
    loop : Loop
        The machine's control loop.

    Returns
    -------
    Refusal or None
        The first reason that applies.

    Notes
    -----
    A label's list of tips is never replaced by a droplet class.

    References
    ----------
    grdc-17-4
    """
    tip, fitted = tip_set.tip, (tip_set.tip, *tip_set.odd)
    streamer = any(one.family is Family.STREAMER for one in fitted)
    permitted, classes = limits.permitted, limits.classes
    reasons = (
        (bool(limits.conflicts), Refusal.CONFLICT),
        (not _is_wished(tip, planned), Refusal.NOT_WISHED),
        (permitted is not None and tip.ident not in permitted, Refusal.NOT_PERMITTED),
        (permitted is not None and any(one.ident not in permitted for one in fitted), Refusal.ODD_NOT_PERMITTED),
        (tip.family is Family.STREAMER and classes is not None, Refusal.NO_CLASS),
        (streamer and classes is not None, Refusal.ODD_NO_CLASS),
        (streamer and planned.carrier.is_water, Refusal.NOT_FERTILISER),
        (loop is Loop.PULSE and not all(one.may_pulse for one in fitted), Refusal.NOT_PULSED),
        (not tip_set.low_pa < tip_set.high_pa, Refusal.LAYOUT),
    )
    return next((reason for holds, reason in reasons if holds), None)


def _is_wished(tip: Tip, planned: Pass) -> bool:
    """Whether a tip is among those the customer wants fitted; anything is, where nothing was said."""
    if planned.fit_families is None and planned.fit_tips is None:
        return True
    return tip.family in (planned.fit_families or ()) or tip.ident in (planned.fit_tips or ())


def hydraulics(tip_set: TipSet, sprayer: Sprayer, carrier: Carrier) -> Hydraulics:
    """Return the controller's world for a tip set on a machine with a liquid.

    Parameters
    ----------
    tip_set : TipSet
        The candidate.
    sprayer : Sprayer
        The machine.
    carrier : Carrier
        The liquid.

    Returns
    -------
    Hydraulics
        Everything `wetrun.spray.controller` needs. Where the boom's plumbing is known, its loss is that of the solved
        boom, and the pressure range is held at the tip that gets least and at the one that gets most.

    References
    ----------
    minor-loss-quadratic, darcy-weisbach
    """
    control = sprayer.control
    fit = None if sprayer.pipes is None else tips_fit(sprayer.pipes, sprayer.boom, tip_set.tip.flow_law, carrier)
    if fit is not None and sprayer.pipes is not None and control.pulse is not None:
        fit = pulsed_fit(fit, sprayer.pipes, sprayer.boom)
    setup = Hydraulics(
        loop=control.loop,
        law=tip_set.tip.flow_law,
        low_pa=tip_set.low_pa,
        high_pa=tip_set.high_pa,
        tips=tip_set.equivalent_tips,
        density_kgpm3=carrier.density_kgpm3,
        loss=sprayer.loss if fit is None else fit.loss,
        least_ratio=1.0 if fit is None else fit.least_ratio,
        most_ratio=1.0 if fit is None else fit.most_ratio,
        hold=control.hold,
        meter=control.meter,
        pump=sprayer.pump,
        pulse=control.pulse,
        check_valve_pa=sprayer.check_valve_pa,
        cab_high_pa=control.cab_high_pa,
        relief_pa=sprayer.relief_pa,
    )
    gain = gain_ratio(setup, wear_ratio=tip_set.tip.wear_ratio, setting_kgpm3=control.density_setting_kgpm3)
    return replace(setup, gain_ratio=gain)


def _named(known: Mapping[str, Tip], ident: str) -> Tip:
    if ident not in known:
        remedy = "Correct the name, or add the tip to the shop's tip file."
        raise NotDefined(f"tip {ident!r}", reason="the catalogue has no such tip", remedy=remedy)
    return known[ident]


def _tip_set(sprayer: Sprayer, tip: Tip, known: Mapping[str, Tip], *, owned: bool) -> TipSet:
    boom = sprayer.boom
    places = boom.tips - boom.excepted
    odd = [(_named(known, part.tip), len(part.positions)) for part in boom.exceptions]
    low_pa = max([tip.low_pa, *(other.low_pa for other, _ in odd)])
    high_pa = min([tip.high_pa, *(other.high_pa for other, _ in odd)])
    equivalent = float(places)
    if low_pa < high_pa:
        # Any pressure of the shared range would do for square-root tips; the middle serves tips known by rows.
        middle_pa = sqrt(low_pa * high_pa)
        one = tip.flow_law.flow_m3s(middle_pa)
        equivalent += sum(count * other.flow_law.flow_m3s(middle_pa) / one for other, count in odd)
    needed = 0 if owned else places
    cost = 0 if owned else (None if tip.price_cents is None else tip.price_cents * places)
    return TipSet(
        tip=tip,
        owned=owned,
        cost_cents=cost,
        needed=needed,
        low_pa=low_pa,
        high_pa=high_pa,
        equivalent_tips=equivalent,
        spacing_m=boom.width_m / equivalent,
        odd=tuple(other for other, _ in odd),
    )
