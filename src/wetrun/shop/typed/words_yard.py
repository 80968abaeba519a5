"""What is looked at in the yard, in words: gates, ramp, sections, timing."""

from __future__ import annotations

from typing import Final

from django.utils.translation import gettext_lazy as _

from wetrun.documents.wetrun_yard_entry import (
    AntennaEntry,
    GateEntry,
    GatesEntry,
    InstrumentEntry,
    RampEntry,
    RestoredEntry,
    SectionEntry,
    StepEntry,
    TimingEntry,
)
from wetrun.shop.typed.faces import Face, Layout, Say

_LOOKED: Final = _("Looked at and confirmed")
_GATES: Final = Face(
    first={
        "by": Say(_("Looked at by")),
        "at": Say(_("At"), _("Time of day.")),
        "last_product": Say(_("What was in it last, and how it was rinsed"), tick=_LOOKED),
        "where_water_lands": Say(_("Where the water lands"), _("Away from drains, ditches and wells."), tick=_LOOKED),
        "backflow": Say(_("Nothing can run back into the supply"), tick=_LOOKED),
        "overhead_lines": Say(_("The boom stays clear of overhead lines"), tick=_LOOKED),
        "nobody_under_boom": Say(_("Nobody is under or near the boom"), tick=_LOOKED),
        "cautions_read": Say(_("The cautions were read"), tick=_LOOKED),
    }
)
_GATE: Final = Face(
    first={"remark": Say(_("What was found"))},
    more={"safe": Say(_("It is safe")), "applies": Say(_("It applies to this machine today"))},
)
_RAMP: Final = Face(
    first={
        "rate": Say(_("Target rate"), _("Left empty, the pass says it.")),
        "simulated_speed_off": Say(_("Simulated speed is off again"), _("Looked at after the last step.")),
        "step": Say(
            _("Steps"), _("Slow, usual, fast and back; then with half the sections and with one."), one=_("Step")
        ),
    },
    more={
        "instrument": Say(
            _("Instruments"), _("How far each may be off, as standard uncertainty."), one=_("Instrument")
        ),
        "water_density_by": Say(_("Density set to water by")),
        "density_restored": Say(_("Density put back")),
        "passing": Say(_("Flow that passes the sensor and returns")),
    },
)
_STEP: Final = Face(
    first={
        "name": Say(_("Name")),
        "speed": Say(_("Simulated speed")),
        "sections_on": Say(_("Sections on")),
        "rate": Say(_("Rates shown"), _("Several readings, with commas between them.")),
        "flow": Say(_("Flows shown"), _("below range where the meter is too large to show it.")),
        "cab": Say(_("Cab pressures")),
        "tip": Say(_("Pressures at a tip")),
        "duty": Say(_("Duties shown"), _("Only on a pulse-width machine.")),
    },
    more={
        "tips_on": Say(_("Tips on"), _("Where sections differ in tips.")),
        "agitation": Say(_("Agitation as in the field")),
        "every": Say(_("One reading every"), _("For a log from the change on instead of settled readings.")),
    },
)
_INSTRUMENT: Final = Face(
    first={
        "of": Say(
            _("Shows"),
            choices={
                "shown rate": _("the rate"),
                "meter flow": _("the flow"),
                "cab pressure": _("the pressure in the cab"),
                "tip pressure": _("the pressure at a tip"),
                "shown duty": _("the duty"),
            },
        ),
        "share": Say(_("Off by a share of")),
        "rate_step": Say(_("Last digit of the rate")),
        "flow_step": Say(_("Last digit of the flow")),
        "pressure_step": Say(_("Last mark of the pressure")),
        "duty_step": Say(_("Last digit of the duty")),
    },
    more={
        "rate": Say(_("Off by, as a rate")),
        "flow": Say(_("Off by, as a flow")),
        "pressure": Say(_("Off by, as a pressure")),
        "duty": Say(_("Off by, as a duty")),
    },
    named_by="of",
)
_SECTION: Final = Face(
    first={
        "opened": Say(_("Its switch opened"), _("Numbers of sections from the left; none if nothing opened.")),
        "tips": Say(_("Tips counted")),
        "typed_tips": Say(_("Tips in the monitor")),
        "width": Say(_("Width by tape")),
        "typed_width": Say(_("Width in the monitor")),
        "drips_until": Say(_("Drips after shut-off for")),
    },
    named_by="opened",
)
_TIMING: Final = Face(
    first={
        "speed": Say(_("At a speed of")),
        "opening": Say(_("Opening took"), _("Each try, with commas between them.")),
        "opening_ahead": Say(_("Monitor opens ahead by")),
        "shutting": Say(_("Shutting took")),
        "shutting_ahead": Say(_("Monitor shuts ahead by")),
        "antenna": Say(_("Tips behind the antenna")),
    },
    more={
        "reading": Say(_("One try may be off by")),
        "allowed": Say(_("Overlap or gap allowed"), units=("ft", "m")),
    },
)
_ANTENNA: Final = Face(
    first={"taped": Say(_("By tape")), "typed": Say(_("In the monitor"))},
    more={"within": Say(_("Tape may be off by"), units=("in", "cm"))},
)

YARD_WORDS: Final = Layout(
    {
        GatesEntry: _GATES,
        GateEntry: _GATE,
        RampEntry: _RAMP,
        StepEntry: _STEP,
        InstrumentEntry: _INSTRUMENT,
        RestoredEntry: Face(
            first={"typed": Say(_("Number typed")), "by": Say(_("By")), "at": Say(_("At"), _("Time of day."))}
        ),
        SectionEntry: _SECTION,
        TimingEntry: _TIMING,
        AntennaEntry: _ANTENNA,
    }
)
