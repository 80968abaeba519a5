"""What every page tells the browser it may load: our own files, and nothing written into a page as script or style."""

from __future__ import annotations

import logging
import re
from collections.abc import Callable
from typing import Final

from django.http import HttpRequest, HttpResponse

_SOURCES: Final = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self' data:",
    "font-src": "'self'",
    "connect-src": "'self'",
    "manifest-src": "'self'",
    "worker-src": "'self'",
    "form-action": "'self'",
    "frame-ancestors": "'none'",
    "base-uri": "'none'",
}
_TOKEN: Final = re.compile(r"(?<![A-Za-z0-9_-])[A-Za-z0-9_-]{32}[0-9a-f]{20}(?![A-Za-z0-9_-])")
POLICY: Final = "; ".join(f"{what} {whence}" for what, whence in _SOURCES.items())
PERMISSIONS: Final = "geolocation=(), camera=(self), microphone=(), payment=(), usb=()"
ALWAYS: Final = {
    "Content-Security-Policy": POLICY,
    "Permissions-Policy": PERMISSIONS,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    # A page may hold what only its reader may see: no cache on the way keeps it, and none shows it unasked.
    "Cache-Control": "private, no-cache",
}
"""Of every answer, whichever part of the shop gives it; one that names its own keeps it."""


class HidesSecrets(logging.Filter):
    """Leaves the secrets of links out of what is written to the log, where paths stand in it."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Return True, with every token in the line replaced."""
        line = record.getMessage()
        if (clean := _TOKEN.sub("…", line)) != line:
            record.msg, record.args = clean, None
        return True


class ContentPolicy:
    """Adds the policy to every answer."""

    def __init__(self, answer: Callable[[HttpRequest], HttpResponse]) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Return the page with its policy."""
        response = self.answer(request)
        for name, value in ALWAYS.items():
            response.headers.setdefault(name, value)
        return response
