"""The walk round before a machine is handed over."""

from __future__ import annotations

import pytest

from wetrun.errors import NotDefined
from wetrun.machine.walk_round import WALK, Answered, Found, look_of, open_points
from wetrun.sources import source

RIGHT = tuple(Answered(look.key, Found.RIGHT) for look in WALK)


def test_every_point_has_a_name_of_its_own_and_a_source_that_exists_or_none() -> None:
    assert len({look.key for look in WALK}) == len(WALK)
    for look in WALK:
        assert look.words
        assert look.why.endswith(".")
        assert not look.source_key or source(look.source_key).status == "read"


def test_a_walk_on_which_all_is_right_may_be_signed() -> None:
    assert open_points(RIGHT) == ()


@pytest.mark.parametrize("look", WALK, ids=lambda look: look.key)
def test_each_point_nobody_looked_at_keeps_the_walk_open(look: object) -> None:
    left = tuple(answer for answer in RIGHT if answer.key != look.key)  # type: ignore[attr-defined]
    (words,) = open_points(left)
    assert words.startswith("Nobody looked yet: ")
    assert open_points((*left, Answered(look.key, None))) == (words,)  # type: ignore[attr-defined]


@pytest.mark.parametrize(("remark", "count"), [("", 1), ("   ", 1), ("section 3 drips", 0)])
def test_what_is_wrong_may_be_signed_only_with_what_is_wrong(remark: str, count: int) -> None:
    answers = (*RIGHT[1:], Answered(WALK[0].key, Found.WRONG, remark))
    assert len(open_points(answers)) == count


def test_a_point_that_is_not_on_the_walk_is_refused_with_those_that_are() -> None:
    with pytest.raises(NotDefined, match="It has: cleaned, tips"):
        look_of("moon")
