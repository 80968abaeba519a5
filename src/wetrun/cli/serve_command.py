"""`wetrun serve`: starts the shop, which is a program of its own: nothing of it is imported here."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from typing import NoReturn


def run_serve(options: Sequence[str]) -> NoReturn:
    """Become the shop, with the options as they were typed.

    Parameters
    ----------
    options : sequence of str
        Read, explained and refused by the shop itself.

    Raises
    ------
    SystemExit
        With the shop's own exit code, where one process cannot become another.
    """
    words = [sys.executable, "-m", "wetrun.shop.serving", *options]
    if os.name == "posix":
        os.execv(sys.executable, words)  # noqa: S606 - our own interpreter; signals then reach the shop itself
    raise SystemExit(subprocess.call(words))  # noqa: S603 - the same
