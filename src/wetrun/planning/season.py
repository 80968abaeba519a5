"""The season tip plan: which sets for which passes, proven best, with the trade-off by number of sets."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil
from typing import Final

import numpy as np

from wetrun.machine.tip import Tip
from wetrun.planning.evidence import Evidence
from wetrun.planning.judging import Judgement, Share, judge, readings_owed
from wetrun.planning.order_limits import written_order
from wetrun.planning.passes import Season
from wetrun.planning.reduction import Choice
from wetrun.planning.season_result import PassPlan, SeasonPlan, SetsOption
from wetrun.planning.selection import NONE, Selection, best_selection
from wetrun.planning.table import PassTable, pass_table
from wetrun.planning.tip_set import Refusal, TipSet, owned_too_small, tip_sets
from wetrun.planning.window import speed_window
from wetrun.spray.limits import Limit
from wetrun.units import M2, Cents, Frac, Mps

UNIT_M2: Final[M2] = 100.0
"""Acres lost are counted in whole units of this area, rounded up, so that an optimum is exact."""
WORTH_A_SET_FRAC: Final[Frac] = 0.01
"""One more set must hold this much more of the season's area to be proposed."""


def season_plan(
    season: Season, catalogue: Sequence[Tip], evidence: Mapping[str, Evidence], *, most_sets: int | None = None
) -> SeasonPlan:
    """Return the season tip plan, proven optimal for every number of sets it shows.

    Parameters
    ----------
    season : Season
        Machine and passes.
    catalogue : sequence of Tip
        Tips that can be had.
    evidence : mapping of str to Evidence
        Speeds by ident of pass.
    most_sets : int or None
        Most different sets; overrides the season's own.

    Returns
    -------
    SeasonPlan
        The trade-off and a proposal.

    Raises
    ------
    NotProven
        If the solver stops without a proof.
    NotDefined
        If an owned set or odd position names an unknown tip.

    References
    ----------
    highs-milp
    """
    tables = _tables(season, catalogue, evidence)
    options = _options(season, tables, most_sets or season.most_sets)
    proposed = options[-1] if most_sets or season.most_sets else _worth_it(options)
    without_budget = None
    if season.budget_cents is not None:
        free = replace(season, budget_cents=None)
        without_budget = _options(free, _tables(free, catalogue, evidence), most_sets or season.most_sets)[-1].held
    return SeasonPlan(
        season=season,
        tables=tables,
        options=options,
        proposed=proposed,
        prices_known=prices_known(tables),
        without_budget=without_budget,
        owned_left_out=owned_too_small(season.sprayer, places_to_fill(season)),
    )


def _tables(season: Season, catalogue: Sequence[Tip], evidence: Mapping[str, Evidence]) -> tuple[PassTable, ...]:
    """Every pass against every set, in the order sprayed."""
    sprayer = season.sprayer
    places = places_to_fill(season)
    sets = {odd: tip_sets(sprayer, catalogue, odd_positions=odd, places=places) for odd in (True, False)}
    barred = _barred(season, sets[True])
    return tuple(
        pass_table(one, sprayer, sets[one.odd_positions], evidence[one.ident], barred=barred)
        for one in written_order(season.passes)
    )


def places_to_fill(season: Season) -> int:
    """Return how many tips a set needs to do the season.

    Parameters
    ----------
    season : Season
        Machine and passes.

    Returns
    -------
    int
        Ordinary positions; the whole boom if a pass leaves the odd tips off.
    """
    boom = season.sprayer.boom
    return boom.tips - (boom.excepted if all(one.odd_positions for one in season.passes) else 0)


def _barred(season: Season, sets: Sequence[TipSet]) -> dict[tuple[str, bool], Refusal]:
    """Sets the whole season rules out: generic ones where only own rows are asked for, unpriced ones under a budget."""
    barred = {}
    for one in sets:
        if one.tip.generic and not one.owned and not season.generic:
            barred[one.key] = Refusal.GENERIC
        elif one.cost_cents is None and season.budget_cents is not None:
            barred[one.key] = Refusal.NO_PRICE
    return barred


def prices_known(tables: Sequence[PassTable]) -> bool:
    """Return whether any set that may be used has a price, so that cost can be compared in money.

    Parameters
    ----------
    tables : sequence of PassTable
        Every pass against every set.

    Returns
    -------
    bool
        False counts cost in tips to buy.
    """
    return any(trial.tip_set.cost_cents for table in tables for trial in table.trials)


def _options(season: Season, tables: Sequence[PassTable], most_sets: int | None) -> tuple[SetsOption, ...]:
    """The best for one set, two sets and so on, as far as one more holds more."""
    choice = choice_of(tables, budget_cents=season.budget_cents)
    options: list[SetsOption] = []
    lost: list[int] = []
    for number in range(1, (most_sets or len(tables)) + 1):
        selection = best_selection(choice, number)
        if lost and selection.lost >= lost[-1]:
            break
        lost.append(selection.lost)
        options.append(_option(season, tables, selection, most_sets=number))
    return tuple(options)


def sets_to_buy(tables: Sequence[PassTable]) -> tuple[TipSet, ...]:
    """Return the sets as they have to be bought: for every position that carries them in any pass of the season.

    Parameters
    ----------
    tables : sequence of PassTable
        Every pass against every set.

    Returns
    -------
    tuple of TipSet
        One per set number. Where a pass leaves the odd tips off, a set needs the whole boom.
    """
    by_number = zip(*([trial.tip_set for trial in table.trials] for table in tables), strict=True)
    return tuple(max(same, key=lambda one: one.needed) for same in by_number)


def choice_of(tables: Sequence[PassTable], *, budget_cents: Cents | None) -> Choice:
    """Return the whole numbers the selection is made from.

    Parameters
    ----------
    tables : sequence of PassTable
        Passes in the order they are sprayed.
    budget_cents : int or None
        Most that may be spent [cents].

    Returns
    -------
    Choice
        Area lost in units of `UNIT_M2`; cost in cents, or in tips to buy where no price is known at all. A single
        unknown price counts as the dearest known one, so that a tip is never chosen because its price is missing.
    """
    sets = sets_to_buy(tables)
    areas = np.array([table.planned.area_m2 for table in tables])
    held = np.array([table.lower_frac for table in tables])
    # A hair over a whole unit is that unit: the share is a quotient of whole numbers.
    lost = np.ceil((1.0 - held) * areas[:, None] / UNIT_M2 - 1e-6).astype(np.int64)
    without = np.array([ceil(area_m2 / UNIT_M2) for area_m2 in areas], dtype=np.int64)
    usable = np.array([[reason is None for reason in table.refused] for table in tables])
    dearest = max((one.cost_cents for one in sets if one.cost_cents is not None), default=0)
    cost = [one.needed if not dearest else dearest if one.cost_cents is None else one.cost_cents for one in sets]
    return Choice(
        lost=lost,
        lost_without=without,
        allowed=usable & (lost < without[:, None]),
        cost=np.array(cost, dtype=np.int64),
        off_middle=np.array([table.off_middle for table in tables]),
        budget=budget_cents,
    )


def pass_plan(table: PassTable, number: int, off_below_mps: Mps) -> PassPlan:
    """Return what one set does for a pass, in full.

    Parameters
    ----------
    table : PassTable
        The pass against every set.
    number : int
        Set number, `NONE` for none.
    off_below_mps : float
        Speed below which the machine shuts off [m/s]; 0 if it does not.

    Returns
    -------
    PassPlan
        With window, reasons and every reading owed.
    """
    refused = dict(Counter(reason for reason in table.refused if reason is not None))
    rate_m3pm2 = table.planned.rate_m3pm2 if number == NONE else float(table.rates_m3pm2[number])
    trial = None if number == NONE else table.trials[number]
    judgements: tuple[Judgement, ...] = ()
    if trial is not None:
        judgements = tuple(
            judge(trial, table.evidence, rate_m3pm2=rate_m3pm2, reading=reading, off_below_mps=off_below_mps)
            for reading in readings_owed(table.evidence, rate_m3pm2)
        )
    held = Share(
        *(min((getattr(j.held, end) for j in judgements), default=0.0) for end in ("lower_frac", "upper_frac"))
    )
    return PassPlan(
        planned=table.planned,
        limits=table.limits,
        trial=trial,
        rate_m3pm2=rate_m3pm2,
        window=None if trial is None else speed_window(trial, rate_m3pm2),
        judgements=judgements,
        held=held,
        evidence=table.evidence,
        refused=refused,
        held_nothing=_held_nothing(table) if trial is None else {},
        rate_moved=rate_m3pm2 != table.planned.rate_m3pm2,
    )


def _held_nothing(table: PassTable) -> dict[Limit, int]:
    """What stands in the way of the sets nothing refuses, by the limit that closes their window."""
    limits: list[Limit] = []
    for trial, refused in zip(table.trials, table.refused, strict=True):
        if refused is None:
            window = speed_window(trial, table.planned.rate_m3pm2)
            closed = window.low_by if window.empty or window.low_mps > table.evidence.usual_mps else window.high_by
            limits += [] if closed is None else [closed]
    return dict(Counter(limits))


def _option(season: Season, tables: Sequence[PassTable], selection: Selection, *, most_sets: int) -> SetsOption:
    sets = sets_to_buy(tables)
    off_below_mps = season.sprayer.control.off_below_mps or 0.0
    plans = tuple(pass_plan(table, at, off_below_mps) for table, at in zip(tables, selection.sets, strict=True))
    used = tuple(sets[number] for number in dict.fromkeys(selection.sets) if number != NONE)
    known = all(one.cost_cents is not None for one in used)
    return SetsOption(
        most_sets=most_sets,
        tip_sets=used,
        passes=plans,
        held=_season_share(plans),
        cost_cents=sum(one.cost_cents or 0 for one in used) if known else None,
        tips_to_buy=sum(one.needed for one in used),
        changes=selection.changes,
        refits=len(used) > season.sprayer.boom.body_positions,
    )


def _season_share(plans: Sequence[PassPlan]) -> Share:
    area_m2 = sum(plan.planned.area_m2 for plan in plans)
    lower = sum(plan.held.lower_frac * plan.planned.area_m2 for plan in plans) / area_m2
    return Share(lower, sum(plan.held.upper_frac * plan.planned.area_m2 for plan in plans) / area_m2)


def _worth_it(options: Sequence[SetsOption]) -> SetsOption:
    best = max(option.held.lower_frac for option in options)
    return next(option for option in options if option.held.lower_frac >= best - WORTH_A_SET_FRAC)
