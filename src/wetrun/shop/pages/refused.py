"""Pages that refuse: what stands in the way and what to do, and nothing about how the shop is made."""

from __future__ import annotations

from django.core.exceptions import DisallowedHost
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseServerError
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils.translation import gettext as _


def not_understood(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer what no browser sends by itself: a wrong host, too many fields."""
    if isinstance(exception, DisallowedHost):
        words = _("The shop does not answer to this address. Whoever runs it sets its names in WETRUN_HOSTS.")
    else:
        words = _("The shop could not read what was sent, and kept nothing of it.")
    return _refused(request, 400, _("Not understood"), words)


def not_allowed(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer somebody who may not, with the reason if there is one."""
    words = _said(exception) or _("You may not see or do this.")
    return _refused(request, 403, _("Not allowed"), words)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer whoever asks for what is not there, or not there for them."""
    words = _said(exception) or _("There is no page at this address.")
    return _refused(request, 404, _("Not found"), words)


def form_too_old(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form without the mark that shows it is ours and of this visit."""
    del reason
    words = _(
        "This form was opened before you signed in or out, or in another browser, so nothing was kept. Go back, copy "
        "what you typed if it was long, load the page again and send it once more."
    )
    return _refused(request, 403, _("Form out of date"), words)


def fault(request: HttpRequest) -> HttpResponse:
    """Answer after a fault: a page that needs neither database nor files."""
    del request
    return HttpResponseServerError(render_to_string("refused/fault.html"))


def _said(exception: Exception) -> str:
    first = exception.args[0] if exception.args else ""
    # Django's own 404 carries its table of addresses here; only a sentence of ours is ever shown.
    return first if isinstance(first, str) else ""


def _refused(request: HttpRequest, status: int, title: str, words: str) -> HttpResponse:
    return render(request, "refused/page.html", {"title": title, "words": words}, status=status)
