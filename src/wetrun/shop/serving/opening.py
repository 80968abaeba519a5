"""The word that keeps a new shop from whoever happens to find it first."""

from __future__ import annotations

import secrets
from typing import Final

_SIGNS: Final = "abcdefghjkmnpqrstuvwxyz23456789"
"""Nothing that is read for something else: no i, l, o, 0, 1."""
_GROUPS, _LONG = 3, 4


def drawn_word() -> str:
    """Return a word drawn by chance, such as ``k7mp-3xqd-w9ha``: 31 signs twelve times, 59 bits; no use in trying."""
    return "-".join("".join(secrets.choice(_SIGNS) for _ in range(_LONG)) for _ in range(_GROUPS))
