"""The door of pages that a link opens: it asks what the token may see, or says in one sentence why it opens nothing.

Such a page knows its reader by the token in its address alone. It keeps no cookie and looks at none, so a form on
another site can send nothing here in somebody's name: who does not know the token has no page to send to. That is why
Django's own mark against such forms is not asked for; with ``no-referrer`` a browser hides where a form came from, and
the mark would refuse every one of ours.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, Final

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt

from wetrun.shop.accounts.access import Asked, Who
from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.links.sight import NOT_FOUND, LinkRefused, Refusal, opened, seen_with
from wetrun.shop.links.wrong_tries import count_wrong, must_wait

LinkView = Callable[Concatenate[HttpRequest, Link, ...], HttpResponse]
_LOOKING: Final = {"GET", "HEAD", "OPTIONS"}
NOT_ALLOWED: Final = 405
PRIVATE: Final = {
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "X-Robots-Tag": "noindex, nofollow",
}
"""Of every answer behind a link: its address is a secret, and what it shows is one reader's."""


def asks_link(purpose: Purpose, *, posts: bool = False) -> Callable[[LinkView], Callable[..., HttpResponse]]:
    """Return a guard for a view that a link opens.

    Parameters
    ----------
    purpose : Purpose
        What the page is for; a token of another purpose does not open it.
    posts : bool
        Whether the page takes anything but being looked at.

    Returns
    -------
    callable
        A decorator. The address has a part ``token``; the view gets the open `Link` instead, on its branch's clock.
    """

    def guard(view: LinkView) -> Callable[..., HttpResponse]:
        @csrf_exempt
        @wraps(view)
        def guarded(request: HttpRequest, token: str, **keys: Any) -> HttpResponse:  # noqa: ANN401 - parts of the address
            answer = _answer(request, token, purpose, lambda link: _shown(request, link, view, posts=posts, **keys))
            return made_private(answer)

        guarded.asked = Asked(None, None, {}, posts, Who.LINK)  # type: ignore[attr-defined]
        guarded.purpose = purpose  # type: ignore[attr-defined]
        return guarded

    return guard


def made_private(answer: HttpResponse) -> HttpResponse:
    """Return an answer with what every answer behind a link tells the browser."""
    for name, value in PRIVATE.items():
        answer.headers[name] = value
    return answer


def may_send(request: HttpRequest, purpose: Purpose, token: str) -> bool:
    """Return whether a token opens a page of a purpose: asked before anything sent to it is written to the disk."""
    try:
        seen_with(token, purpose)
    except LinkRefused:
        return False
    return not must_wait(request)


def _answer(request: HttpRequest, token: str, purpose: Purpose, show: Callable[[Link], HttpResponse]) -> HttpResponse:
    if must_wait(request):
        return refusal(request, Refusal.GUESSED)
    try:
        return show(seen_with(token, purpose))
    except Http404 as missing:
        words = {"title": _("Not found"), "words": str(missing)}
        return render(request, "links/refused.html", words, status=NOT_FOUND)
    except LinkRefused as refused:
        if refused.why in {Refusal.TAMPERED, Refusal.UNKNOWN}:
            count_wrong(request)
        return refusal(request, refused.why)


def _shown(request: HttpRequest, link: Link, view: LinkView, *, posts: bool, **keys: Any) -> HttpResponse:  # noqa: ANN401
    if request.method not in _LOOKING and not posts:
        return HttpResponse(status=NOT_ALLOWED)
    if request.method == "GET":
        opened(link)
    with timezone.override(link.branch.time_zone):
        return view(request, link, **keys)


def refusal(request: HttpRequest, why: Refusal) -> HttpResponse:
    """Return the page that says why a token opens nothing."""
    return render(request, "links/refused.html", {"title": why.title, "words": why.words}, status=why.status)
