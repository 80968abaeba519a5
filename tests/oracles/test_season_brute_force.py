"""The plan against every possible assignment, on 200 random small seasons."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product as every

import numpy as np
import pytest
from tests.season_cases import evidence_for, random_season

from wetrun.planning.reduction import Choice, undominated, without_hopeless
from wetrun.planning.season import choice_of, season_plan
from wetrun.planning.selection import NONE, best_selection

Score = tuple[int, int, int, int]
SEASONS = 200


def all_scores(choice: Choice, most_sets: int) -> Iterator[Score]:
    """Score every assignment that is allowed, in plain loops."""
    passes, sets = choice.lost.shape
    for assigned in every(range(NONE, sets), repeat=passes):
        used = {number for number in assigned if number != NONE}
        spent = sum(int(choice.cost[number]) for number in used)
        too_many = len(used) > most_sets or (choice.budget is not None and spent > choice.budget)
        refused = any(number != NONE and not choice.allowed[row, number] for row, number in enumerate(assigned))
        if too_many or refused:
            continue
        lost = changes = off = 0
        for row, number in enumerate(assigned):
            lost += int(choice.lost_without[row] if number == NONE else choice.lost[row, number])
            off += 0 if number == NONE else int(choice.off_middle[row, number])
            before = assigned[row - 1] if row else NONE
            changes += NONE not in (before, number) and before != number
        yield lost, spent, changes, off


def choice_of_season(seed: int) -> Choice:
    """The whole numbers of one random season."""
    season, tips = random_season(np.random.default_rng(seed))
    plan = season_plan(season, tips, evidence_for(season))
    return choice_of(plan.tables, budget_cents=season.budget_cents)


@pytest.mark.parametrize("block", range(10))
def test_the_plan_is_the_best_of_all_assignments(block: int) -> None:
    interesting = 0
    for seed in range(block * SEASONS // 10, (block + 1) * SEASONS // 10):
        choice = choice_of_season(seed)
        for most_sets in (1, 2, 3):
            best = min(all_scores(choice, most_sets))
            found = best_selection(choice, most_sets)
            assert (found.lost, found.cost, found.changes, found.off_middle) == best, (seed, most_sets)
            interesting += found.lost < int(choice.lost_without.sum())
    assert interesting > 20, "the random seasons must hold something, or the comparison says nothing"


@pytest.mark.parametrize("seed", range(40))
def test_what_is_left_out_is_part_of_no_best_choice(seed: int) -> None:
    rng = np.random.default_rng(10_000 + seed)
    passes, sets = int(rng.integers(1, 5)), int(rng.integers(1, 7))
    choice = Choice(
        lost=rng.integers(0, 12, (passes, sets)),
        lost_without=np.full(passes, 12),
        allowed=rng.random((passes, sets)) < 0.85,
        cost=rng.integers(0, 4, sets) * 100,
        off_middle=rng.integers(0, 5, (passes, sets)),
        budget=int(rng.integers(0, 8)) * 100 if rng.random() < 0.5 else None,
    )
    for most_sets in (1, 2, 3):
        whole = min(all_scores(choice, most_sets))
        assert min(all_scores(without_hopeless(choice, most_sets), most_sets)) == whole
        kept = undominated(choice)
        small = Choice(
            lost=choice.lost[:, kept],
            lost_without=choice.lost_without,
            allowed=choice.allowed[:, kept],
            cost=choice.cost[kept],
            off_middle=choice.off_middle[:, kept],
            budget=choice.budget,
        )
        assert min(all_scores(small, most_sets)) == whole
        found = best_selection(choice, most_sets)
        assert (found.lost, found.cost, found.changes, found.off_middle) == whole
