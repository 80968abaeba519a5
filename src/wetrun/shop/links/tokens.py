"""The secret of a link: drawn by chance, signed, and kept only as a hash."""

from __future__ import annotations

import hashlib
import re
import secrets
from typing import Final

from django.utils.crypto import constant_time_compare, salted_hmac

DRAWN_BYTES: Final = 24
"""192 bits of chance: more than anybody ever tries."""
SIGNED_LETTERS: Final = 20
_SHAPE: Final = re.compile(r"([A-Za-z0-9_-]{32})([0-9a-f]{20})")
_SALT: Final = "wetrun.shop.links.tokens"


def drawn() -> str:
    """Return a new token, of 52 letters, figures, - and _."""
    chance = secrets.token_urlsafe(DRAWN_BYTES)
    return chance + _signature(chance)


def is_ours(token: str) -> bool:
    """Return whether a token was drawn here and came as it was sent: told by its signature, without any record.

    Example
    -------
    >>> is_ours("not one of ours")
    False
    """
    match = _SHAPE.fullmatch(token)
    return match is not None and constant_time_compare(match[2], _signature(match[1]))


def hash_of(token: str) -> str:
    """Return what is kept of a token. It holds so much chance that a plain hash gives nothing away."""
    return hashlib.sha256(token.encode()).hexdigest()


def _signature(chance: str) -> str:
    return salted_hmac(_SALT, chance, algorithm="sha256").hexdigest()[:SIGNED_LETTERS]
