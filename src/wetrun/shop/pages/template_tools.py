"""What our templates can do besides Django's own."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django import template
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from wetrun.papers.reader import day as day_words
from wetrun.papers.reader import money as money_words
from wetrun.papers.tip_picture import size_chip_svg

register = template.Library()


@register.filter
def day(when: date | datetime | None) -> str:
    """Return a day that no reader takes for another; a moment's day is that of the branch's clock."""
    if when is None:
        return ""
    if isinstance(when, datetime):
        when = timezone.localtime(when).date()
    return day_words(when)


@register.filter
def moment(when: datetime | None) -> str:
    """Return a moment on the branch's clock: 1 May 2026, 14:05."""
    if when is None:
        return ""
    here = timezone.localtime(when)
    return f"{day_words(here.date())}, {here:%H:%M}"


@register.filter
def days_left(days: int | None) -> str:
    """Return how long it is until a day: "in 12 days"."""
    if days is None:
        return ""
    if days == 0:
        return _("today")
    if days < 0:
        return ngettext("%(n)d day ago", "%(n)d days ago", -days) % {"n": -days}
    return ngettext("in %(n)d day", "in %(n)d days", days) % {"n": days}


@register.filter
def picture(svg: str) -> SafeString:
    """Return one of our own pictures as markup.

    Only what `wetrun.papers` drew belongs here: it escapes every text it was given.
    """
    return mark_safe(svg if svg.startswith("<svg ") else "")  # noqa: S308 - drawn by wetrun.papers, which escapes


@register.filter
def size_chip(size: str) -> SafeString:
    """Return the colour ISO 10625 gives a size of tips, to stand before its number; nothing where it gives none."""
    return picture(size_chip_svg(str(size)))


@register.filter
def money(cents: int | None) -> str:
    """Return an amount in the shop's currency; words if no price is known."""
    return money_words(cents)


@register.filter
def at_key(table: Any, key: Any) -> Any:  # noqa: ANN401 - templates know no types
    """Return what a table has under a key; nothing if it has no such key."""
    return table.get(key, "") if isinstance(table, dict) else ""


@register.filter
def nth_of(rows: Any, at: int) -> Any:  # noqa: ANN401 - templates know no types
    """Return one row of a list by its place from 0; nothing if it has no such row."""
    return rows[at] if isinstance(rows, list) and 0 <= at < len(rows) else ""


@register.filter
def as_typed(value: Any) -> str:  # noqa: ANN401 - whatever a document holds
    """Return what was typed at a place as one line: a table by its first value, a day as a day."""
    if isinstance(value, dict):
        return as_typed(next(iter(value.values()), ""))
    if isinstance(value, date):
        return day(value)
    return "" if value is None else str(value)
