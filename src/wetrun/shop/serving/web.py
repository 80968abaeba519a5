"""``python -m wetrun.shop.serving.web``: granian as its own command line runs it, but gone with its starter.

The shop is loaded once, before the processes for pages are forked from this one: they share its memory, and one that
died is replaced at once.
"""

from __future__ import annotations

from importlib import import_module
from multiprocessing import get_start_method

from granian.cli import entrypoint

from wetrun.shop import lifeline


def load() -> None:
    """Load the pages and what they stand on."""
    import_module("wetrun.shop.wsgi")
    import_module("wetrun.shop.urls")


if __name__ == "__main__":
    lifeline.tie()
    if get_start_method() == "fork":
        load()
    entrypoint()  # type: ignore[no-untyped-call]
