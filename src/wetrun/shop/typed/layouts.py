"""The layout of every document: all words together."""

from __future__ import annotations

from functools import reduce
from typing import Final

from wetrun.shop.typed.faces import Layout
from wetrun.shop.typed.words_catch import CATCH_WORDS
from wetrun.shop.typed.words_changeover import CHANGEOVER_WORDS
from wetrun.shop.typed.words_machine import MACHINE_WORDS
from wetrun.shop.typed.words_monitor import MONITOR_WORDS
from wetrun.shop.typed.words_plumbing import PLUMBING_WORDS
from wetrun.shop.typed.words_product import PRODUCT_WORDS
from wetrun.shop.typed.words_season import SEASON_WORDS
from wetrun.shop.typed.words_wet_run import WET_RUN_WORDS
from wetrun.shop.typed.words_yard import YARD_WORDS

LAYOUT: Final = reduce(
    Layout.joined,
    (
        MACHINE_WORDS,
        PLUMBING_WORDS,
        SEASON_WORDS,
        PRODUCT_WORDS,
        WET_RUN_WORDS,
        CATCH_WORDS,
        YARD_WORDS,
        MONITOR_WORDS,
        CHANGEOVER_WORDS,
    ),
)
"""Every entry of the documents, with its words."""
