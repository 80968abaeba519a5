"""A new link as its one page shows it: the whole address, and the square code of it."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlsplit

import segno
from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse

from wetrun.shop.links.making import NewLink
from wetrun.shop.links.models import Link

HERE_ONLY: Final = frozenset({"localhost", "127.0.0.1", "::1"})
_MODULE: Final = 4
_QUIET: Final = 4
"""Width of the white edge in modules, as ISO/IEC 18004 asks for it (from memory)."""


@dataclass(frozen=True, slots=True)
class ShownLink:
    """A link to be shown once.

    Attributes
    ----------
    link : Link
        The record.
    token : str
        Its secret.
    address : str
        The whole address.
    code : str
        The address as a square code, SVG.
    is_here_only : bool
        Whether the address leads nowhere on any other device.
    """

    link: Link
    token: str
    address: str
    code: str
    is_here_only: bool


def shown_once(request: HttpRequest, new: NewLink, page: str) -> ShownLink:
    """Return a new link as it is shown.

    Parameters
    ----------
    request : HttpRequest
        Of whoever made it.
    new : NewLink
        What was made.
    page : str
        Name of the address it opens, with the one part ``token``.

    Returns
    -------
    ShownLink
        With the whole address.
    """
    address = whole_address(request, reverse(page, kwargs={"token": new.token}))
    is_here_only = urlsplit(address).hostname in HERE_ONLY
    return ShownLink(new.link, new.token, address, square_code(address), is_here_only)


def whole_address(request: HttpRequest, address: str) -> str:
    """Return an address with scheme and host: those of the settings, else those the request came to.

    Django has held the host of the request against the names the shop answers to, and takes the scheme from the proxy
    if there is one.
    """
    return f"{settings.ADDRESS}{address}" if settings.ADDRESS else request.build_absolute_uri(address)


def square_code(address: str) -> str:
    """Return an address as a square code: an SVG that carries no style, dark on white in light and dark pages alike.

    Example
    -------
    >>> square_code("https://shop.example/")[:4]
    '<svg'
    """
    return _code(address).svg_inline(scale=_MODULE, border=_QUIET, dark="#000", light="#fff")


def printed_code(address: str) -> str:
    """Return an address as a square code for paper: a whole SVG document.

    Example
    -------
    >>> 'xmlns="http://www.w3.org/2000/svg"' in printed_code("https://shop.example/")
    True
    """
    held = io.BytesIO()
    _code(address).save(held, kind="svg", scale=_MODULE, border=_QUIET, dark="#000", light="#fff", xmldecl=False)
    return held.getvalue().decode()


def _code(address: str) -> segno.QRCode:
    return segno.make(address, error="m", micro=False)
