"""A season's answer: what is proposed for each pass, and the trade-off by number of sets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from wetrun.machine.tip import OwnedSet
from wetrun.planning.evidence import Evidence
from wetrun.planning.judging import Judgement, Share
from wetrun.planning.label_limits import PassLimits
from wetrun.planning.passes import Pass, Season
from wetrun.planning.table import PassTable
from wetrun.planning.tip_set import Refusal, TipSet
from wetrun.planning.window import SpeedWindow, Trial
from wetrun.spray.limits import Limit
from wetrun.units import Cents, M3pm2

METHOD: Final = "season tip plan"


METHOD_NUMBER: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class PassPlan:
    """What is proposed for one pass.

    Attributes
    ----------
    planned : Pass
        The pass.
    limits : PassLimits
        What its products leave.
    trial : Trial or None
        The set on the machine; None if no set is chosen.
    rate_m3pm2 : float
        Rate to set [m3/m2].
    window : SpeedWindow or None
        Speeds it holds.
    judgements : tuple of Judgement
        One per reading owed; the first is at the same speed.
    held : Share
        Share of the pass's area held, the lower of the readings.
    evidence : Evidence
        Speeds of the pass.
    refused : mapping of Refusal to int
        How many sets were out of the question, and why.
    held_nothing : mapping of Limit to int
        How many of the others hold no speed at all, by the limit in the way; counted only where no set is chosen.
    rate_moved : bool
        Whether a rate of the accepted range other than the target holds enough more to be proposed.
    """

    planned: Pass
    limits: PassLimits
    trial: Trial | None
    rate_m3pm2: M3pm2
    window: SpeedWindow | None
    judgements: tuple[Judgement, ...]
    held: Share
    evidence: Evidence
    refused: Mapping[Refusal, int]
    held_nothing: Mapping[Limit, int]
    rate_moved: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SetsOption:
    """The best that can be done with at most so many sets.

    Attributes
    ----------
    most_sets : int
        Sets allowed.
    tip_sets : tuple of TipSet
        Sets used, in the order they are first sprayed.
    passes : tuple of PassPlan
        One per pass, in the order they are sprayed.
    held : Share
        Share of the season's area held.
    cost_cents : int or None
        What the sets cost [cents]; None if a price is not known.
    tips_to_buy : int
        Tips to buy.
    changes : int
        How often the set changes between passes.
    refits : bool
        True if the nozzle bodies hold fewer sets than are used, so that a change means refitting by hand.
    """

    most_sets: int
    tip_sets: tuple[TipSet, ...]
    passes: tuple[PassPlan, ...]
    held: Share
    cost_cents: Cents | None
    tips_to_buy: int
    changes: int
    refits: bool


def changes_in_order(option: SetsOption, idents: Sequence[str]) -> int:
    """Return how often the set changes if the passes are sprayed in an order of their own.

    Parameters
    ----------
    option : SetsOption
        Which set each pass gets.
    idents : sequence of str
        Passes in the order sprayed.

    Returns
    -------
    int
        A pass without a set is no change, as in the plan's own count.
    """
    keys = {one.planned.ident: one.trial and one.trial.tip_set.key for one in option.passes}
    sets = [keys[ident] for ident in idents]
    return sum(None not in pair and pair[0] != pair[1] for pair in pairwise(sets))


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonPlan:
    """A season's answer.

    Attributes
    ----------
    season : Season
        What was asked.
    tables : tuple of PassTable
        Every pass against every set, in the order sprayed.
    options : tuple of SetsOption
        One more set each, as far as it helps.
    proposed : SetsOption
        The fewest sets beyond which one more holds less than one per cent more of the area.
    prices_known : bool
        Whether cost was compared in money; else in tips to buy.
    without_budget : Share or None
        What could be held if there were no budget; None if there is none.
    owned_left_out : tuple of OwnedSet
        Owned sets with too few tips for the boom.
    method, method_number : str, int
        What made it.
    """

    season: Season
    tables: tuple[PassTable, ...]
    options: tuple[SetsOption, ...]
    proposed: SetsOption
    prices_known: bool
    without_budget: Share | None = None
    owned_left_out: tuple[OwnedSet, ...] = ()
    method: str = METHOD
    method_number: int = METHOD_NUMBER
