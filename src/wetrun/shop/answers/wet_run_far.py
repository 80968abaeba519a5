"""How far a wet run's document is with each test, in a few words; empty where nothing is written."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from wetrun.documents.wetrun_build_yard import GATES
from wetrun.documents.wetrun_monitor_entry import SETTINGS
from wetrun.shop.answers.run_document import Document, caught, rows_of, table_of


def gates_far(document: Document) -> str:
    """Return how many gates are answered, in words; empty for nothing."""
    done = sum(key in GATES for key in table_of(document, "gates"))
    return _("%(n)d of %(all)d answered") % {"n": done, "all": len(GATES)} if done else ""


def tips_far(document: Document) -> str:
    """Return which set is fitted, in words; empty for nothing."""
    return str(table_of(document, "tips").get("fitted", ""))


def monitor_far(document: Document) -> str:
    """Return how many numbers were written down, in words; empty for nothing."""
    found, left = (
        sum(bool(table_of(document, "monitor", moment).get(key)) for key in SETTINGS)
        for moment in ("as_found", "as_left")
    )
    words = [_("%(n)d as found") % {"n": found}] if found else []
    return ", ".join([*words, *([_("%(n)d as left") % {"n": left}] if left else [])])


def course_far(document: Document) -> str:
    """Return how many runs were driven, in words; empty for nothing."""
    runs = len(rows_of(document, "course", "run"))
    return ngettext("%(n)d run", "%(n)d runs", runs) % {"n": runs} if runs else ""


def meter_far(document: Document) -> str:
    """Return how many catches the meter has, in words; empty for nothing."""
    catches = len(rows_of(document, "meter", "catch"))
    return ngettext("%(n)d catch", "%(n)d catches", catches) % {"n": catches} if catches else ""


def catch_far(document: Document) -> str:
    """Return how many tips were caught, in words; empty for nothing."""
    return _tips_caught(table_of(document, "catch").get("readings"))


def low_duty_far(document: Document) -> str:
    """Return how many tips were caught at low duty, in words; empty for nothing."""
    return _tips_caught(table_of(document, "catch", "low").get("readings"))


def _tips_caught(readings: object) -> str:
    tips = len(caught(readings))
    return ngettext("%(n)d tip", "%(n)d tips", tips) % {"n": tips} if tips else ""


def swaps_far(document: Document) -> str:
    """Return how many tips changed places, in words; empty for nothing."""
    swaps = len(rows_of(document, "catch", "swap")) + len(rows_of(document, "catch", "low", "swap"))
    return ngettext("%(n)d swap", "%(n)d swaps", swaps) % {"n": swaps} if swaps else ""


def pressure_far(document: Document) -> str:
    """Return how many pairs of cab and gauge were read, in words; empty for nothing."""
    pairs = len(rows_of(document, "pressure", "gauge"))
    return ngettext("%(n)d pair", "%(n)d pairs", pairs) % {"n": pairs} if pairs else ""


def steady_far(document: Document) -> str:
    """Return at how many steady pressures something was read, in words; empty for nothing."""
    read = len(rows_of(document, "steady"))
    return ngettext("%(n)d pressure", "%(n)d pressures", read) % {"n": read} if read else ""


def ramp_far(document: Document) -> str:
    """Return how many steps the ramp has, in words; empty for nothing."""
    steps = len(rows_of(document, "ramp", "step"))
    return ngettext("%(n)d step", "%(n)d steps", steps) % {"n": steps} if steps else ""


def sections_far(document: Document) -> str:
    """Return how many sections were looked at, and whether one was timed, in words; empty for nothing."""
    seen = len(rows_of(document, "section"))
    words = [ngettext("%(n)d section", "%(n)d sections", seen) % {"n": seen}] if seen else []
    return ", ".join([*words, *([_("timed")] if table_of(document, "timing") else [])])


def screen_far(document: Document) -> str:
    """Return whether the screen was written down, in words; empty for nothing."""
    return _("written down") if table_of(document, "screen") else ""


def evenness_far(document: Document) -> str:
    """Return how many grooves a tray has, or at which height the tips are stacked, in words; empty for nothing."""
    grooves, height = rows_of(document, "evenness", "grooves"), table_of(document, "evenness").get("height")
    if grooves:
        return ngettext("%(n)d groove", "%(n)d grooves", len(grooves)) % {"n": len(grooves)}
    return _("from the tips, at %(height)s") % {"height": height} if height else ""


def doubts_far(document: Document) -> str:
    """Return how many doubts are stated, in words; empty for nothing."""
    stated = len(table_of(document, "doubts"))
    return ngettext("%(n)d stated", "%(n)d stated", stated) % {"n": stated} if stated else ""
