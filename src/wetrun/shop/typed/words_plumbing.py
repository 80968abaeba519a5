"""The plumbing of the boom, and how a machine may be filled, in words."""

from __future__ import annotations

from typing import Final

from django.utils.translation import gettext_lazy as _

from wetrun.documents.load_entry import AxleEntry, FillEntry
from wetrun.documents.plumbing_entry import BodyLossEntry, HoseEntry, LossEntry, PlumbingEntry, ValveEntry
from wetrun.shop.typed.faces import Face, Layout, Say

_EACH: Final = _("One for all sections, or one for each from the left.")
_BODY: Final = Say(
    _("One nozzle body loses"), _("Strainer, check valve and solenoid of one body on water, at one flow.")
)
_LOSS: Final = Face(
    first={
        "cab": Say(_("Cab shows")),
        "tip": Say(_("A gauge at a tip shows")),
        "boom_flow": Say(_("At a boom flow of")),
    },
    more={
        "body": _BODY,
        "return_passes": Say(_("The return flow passes the same sensor and hoses, as on a recirculating boom")),
    },
)
_BODY_LOSS: Final = Face(first={"drop": Say(_("Loses")), "flow": Say(_("At a flow of"))})
_VALVE: Final = Face(first={"drop": Say(_("Loses")), "flow": Say(_("At a flow of"))}, named_by="flow")
_HOSE: Final = Face(first={"bore": Say(_("Inner diameter")), "length": Say(_("Length"))})
_PLUMBING: Final = Face(
    first={
        "line": Say(_("Boom line, inner diameter"), _EACH),
        "wall": Say(
            _("Wall of the line"), choices={"smooth": _("smooth: plastic, stainless, new"), "steel": _("steel")}
        ),
        "feed": Say(
            _("Hose meets the line"),
            _("In words, or how far from the section's first tip; one for all sections, or one for each."),
            offer="feeds",
        ),
        "hose": Say(_("Section hose, inner diameter"), _EACH),
        "hose_length": Say(_("Section hose, length"), _EACH),
    },
    more={
        "valve": Say(_("Section valves"), _EACH, one=_("Valve")),
        "main": Say(_("Hose from the cab's sensor to where the sections part")),
        "boom_valve": Say(_("Boom valve with its strainer")),
        "body": _BODY,
    },
)
_FILL: Final = Face(
    first={
        "usable": Say(_("Filled to at most"), _("Leave room for foam and slopes.")),
        "undrainable": Say(_("Stays behind"), _("In sump, hoses and boom when the spray gives out.")),
        "tank_weight": Say(_("Contents may weigh"), _("The most the tank is built for.")),
        "axle": Say(_("Axles"), one=_("Axle")),
    },
    more={
        "gauge": Say(_("Step of the tank gauge"), _("Loads are whole steps of gauge, jug and scale.")),
        "jug": Say(_("Step of the jug"), units=("fl oz", "mL")),
        "scale": Say(_("Step of the scale"), units=("oz", "g")),
    },
)
_AXLE: Final = Face(
    first={
        "name": Say(_("Axle")),
        "limit": Say(_("May carry"), _("The least of axle, tyres and road law.")),
        "empty": Say(_("Carries empty")),
        "load_share": Say(_("Takes of a load")),
    }
)

PLUMBING_WORDS: Final = Layout(
    {
        LossEntry: _LOSS,
        BodyLossEntry: _BODY_LOSS,
        ValveEntry: _VALVE,
        HoseEntry: _HOSE,
        PlumbingEntry: _PLUMBING,
        FillEntry: _FILL,
        AxleEntry: _AXLE,
    }
)
