"""Long lists, a page at a time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import HttpRequest

ROWS: Final = 50


def page_of(request: HttpRequest, found: QuerySet[Any] | Sequence[Any], rows: int = ROWS) -> Page[Any]:
    """Return the page of a list that the address asks for; the nearest one if it asks for none that is there.

    Parameters
    ----------
    request : HttpRequest
        Its ``page``.
    found : QuerySet or sequence
        The whole list, in order.
    rows : int
        Rows of a page.

    Returns
    -------
    Page
        Two queries, however long the list.
    """
    return Paginator(found, rows).get_page(request.GET.get("page"))
