"""By what guesses at a password are counted: the login as it is kept, and the address they come from."""

from __future__ import annotations

from collections.abc import Mapping
from ipaddress import ip_address
from typing import Any

from axes.utils import reset
from django.conf import settings
from django.http import HttpRequest


def login_of(request: HttpRequest, credentials: Mapping[str, Any] | None = None) -> str:
    """Return the login somebody tries, as it is kept.

    Capitals do not matter when signing in, so they must not give anybody another eight guesses either.

    Parameters
    ----------
    request : HttpRequest
        Of the sign-in page.
    credentials : mapping or None
        What was tried, if it is known already.

    Returns
    -------
    str
        Empty for none.
    """
    typed = (credentials or {}).get("username") or request.POST.get("username", "")
    return str(typed).strip().casefold()[:255]


def address_of(request: HttpRequest) -> str | None:
    """Return the address a request comes from.

    Parameters
    ----------
    request : HttpRequest
        Any.

    Returns
    -------
    str or None
        Behind a proxy the last address of X-Forwarded-For: that one the proxy wrote itself, whatever was sent to it.
    """
    if settings.BEHIND_PROXY:
        named = request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip()
        if _is_address(named):
            return named
    return request.META.get("REMOTE_ADDR")


def forgive(login: str) -> None:
    """Forget the failed guesses at a login: its new password counts at once, not after the wait.

    Parameters
    ----------
    login : str
        As it is kept.
    """
    reset(username=login)


def _is_address(text: str) -> bool:
    try:
        ip_address(text)
    except ValueError:
        return False
    return True
