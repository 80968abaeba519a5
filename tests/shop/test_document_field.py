"""A document kept in a column comes back as it was typed."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta, timezone
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from wetrun.shop.document_field import document_of, document_text

_ZONES = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
_TEXTS = st.text(st.characters(exclude_categories=["Cs"]))
_LEAVES = st.one_of(
    _TEXTS,
    st.integers(),
    st.floats(allow_nan=False, allow_infinity=False),
    st.booleans(),
    st.dates(),
    st.datetimes(timezones=st.none() | _ZONES),
    st.times(),
)
_KEYS = _TEXTS | st.sampled_from(["~day", "~moment", "~time", "~~day", "~"])
_DOCUMENTS = st.recursive(_LEAVES, lambda inner: st.lists(inner) | st.dictionaries(_KEYS, inner))


def same(one: Any, other: Any) -> bool:
    """Equal in value, kind and order of keys."""
    if type(one) is not type(other):
        return False
    if isinstance(one, dict):
        return list(one) == list(other) and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list):
        return len(one) == len(other) and all(map(same, one, other))
    return bool(one == other)


@given(_DOCUMENTS)
@example({"~day": "2027-04-15"})
@example({"~day": "no day at all"})
@example({"~~day": {"~moment": [{"~": date(2027, 4, 15)}]}})
@example({"at": datetime(2027, 4, 15, 6, 30, tzinfo=timezone(timedelta(hours=-5))), "from": time(6, 30)})
def test_whatever_can_be_typed_comes_back_in_kind_value_and_order(document: Any) -> None:
    assert same(document_of(document_text(document)), document)


@pytest.mark.parametrize("wrong", [float("nan"), float("inf"), object(), {1, 2}, b"bytes"])
def test_what_no_document_can_hold_is_refused_when_it_is_kept_and_not_when_it_is_read(wrong: object) -> None:
    with pytest.raises((TypeError, ValueError)):
        document_text({"value": wrong})
