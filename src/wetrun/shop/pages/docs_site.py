"""The pages of docs/ as the shop serves them, without internet: open to anybody, since they hold nobody's records.

Whoever has a link to a card or an intake form may then read how a figure was worked out without signing in, and
whoever cannot sign in, what to do.
"""

from __future__ import annotations

import mimetypes
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.core.exceptions import SuspiciousFileOperation
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path
from django.utils._os import safe_join
from django.utils.translation import gettext as _
from django.views.decorators.http import last_modified, require_safe

from wetrun.shop.accounts.access import anybody

FIRST = "index.html"


def _file_of(page: str) -> Path | None:
    """The file of a page; None for what is no file of the site, and for what only looks like a way into it."""
    try:
        file = Path(safe_join(settings.DOCS, page))
        return file if file.is_file() else None
    except (SuspiciousFileOperation, ValueError, OSError):
        return None


def _changed(request: HttpRequest, page: str = FIRST) -> datetime | None:
    """When a page was built, so that a browser that has it is not sent it again."""
    del request
    file = _file_of(page)
    return None if file is None else datetime.fromtimestamp(file.stat().st_mtime, UTC)


@anybody
@require_safe
@last_modified(_changed)
def docs_page(request: HttpRequest, page: str = FIRST) -> HttpResponse:
    """Hand out a page of the site, a picture or a script of it."""
    del request
    file = _file_of(page)
    if file is None and not _file_of(FIRST):
        raise Http404(_("The pages of docs/ are not built here. Whoever runs the shop builds them with “make docs”."))
    if file is None:
        raise Http404(_("There is no such page in docs/. Its first page finds every other one."))
    kind = mimetypes.guess_type(file.name)[0] or "application/octet-stream"
    # Read whole: pages are small, and a file that waits for a reader who has gone stays open.
    return HttpResponse(file.read_bytes(), content_type=f"{kind}; charset=utf-8" if kind.startswith("text/") else kind)


addresses = [
    path("docs/", docs_page, name="docs"),
    path("docs/<path:page>", docs_page, name="docs-page"),
]
