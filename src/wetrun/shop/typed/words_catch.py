"""The catch of a boom in words: readings, what they were taken with, swap tests, low duty."""

from __future__ import annotations

from typing import Final

from django.utils.translation import gettext_lazy as _

from wetrun.documents.wetrun_catch_entry import CatchEntry, LowDutyEntry, SwapEntry
from wetrun.proving.catch_rules import RULES
from wetrun.shop.typed.faces import Face, Layout, Say
from wetrun.shop.typed.words_wet_run import FINE_VOLUME, OUT_THROUGHOUT, TEMPERATURE

_READINGS: Final = {
    "unit": Say(_("Unit of the readings"), offer="catch units"),
    "readings": Say(
        _("Readings"),
        _(
            "From the left end, with commas between them: nothing for a gap, no flow for a tip that gave nothing. "
            "Or one line each: 23 = 38.5."
        ),
    ),
    "time": Say(_("Caught for")),
    "pressure": Say(_("Pressure at the tips")),
}
_READ_MORE: Final = {
    "before": Say(_("Pressure before")),
    "after": Say(_("Pressure after")),
    "times": Say(_("Tips caught for another time"), one=_("Position")),
    "section_pressures": Say(_("Pressures section by section"), _("Where one section was on at a time.")),
    "swap": Say(_("Swap tests"), _("An odd tip changed places with a good one."), one=_("Swap")),
}
_CATCH: Final = Face(
    first={
        "rule": Say(_("Rule"), choices={key: rule.words for key, rule in RULES.items()}),
        **_READINGS,
        "temperature": TEMPERATURE,
        "mode": Say(_("Rate control was"), choices={"manual": _("manual"), "automatic": _("automatic")}),
        "agitation": Say(_("Agitation as in the field")),
    },
    more={
        "jug": Say(_("One reading of the jug off by"), units=FINE_VOLUME),
        "scale": Say(_("One weighing off by"), units=("oz", "g")),
        "watch": Say(_("One timing off by")),
        "measure": OUT_THROUGHOUT,
        "gauge": Say(_("Gauge off throughout by")),
        "wander": Say(_("Pressure wandered by")),
        "instrument": Say(_("Instrument off from one holding to the next by")),
        "jugs": Say(_("Jugs hung at once")),
        "duty": Say(_("Duty"), _("Only on a pulse-width machine.")),
        "new_tips": Say(_("New tips put there to compare"), _("Their positions, such as 5,23,40.")),
        "conditions": Say(_("Anything else")),
        "low": Say(_("Caught again at low duty")),
        **_READ_MORE,
    },
)
_LOW: Final = Face(first={"duty": Say(_("Duty")), **_READINGS}, more=_READ_MORE)
_SWAP: Final = Face(
    first={
        "odd": Say(_("Position of the odd tip")),
        "with": Say(_("Position of the good tip")),
        "readings": Say(_("What the two places gave then"), _("One line each: 57 = 44.7.")),
    },
    more={
        "home": Say(_("What they gave before"), _("If both were caught once more before the swap.")),
        "unit": Say(_("Unit of the readings"), offer="catch units"),
        "time": Say(_("Caught for")),
        "pressure": Say(_("Pressure at the tips")),
    },
    named_by="odd",
)

CATCH_WORDS: Final = Layout({CatchEntry: _CATCH, LowDutyEntry: _LOW, SwapEntry: _SWAP})
