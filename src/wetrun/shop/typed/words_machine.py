"""The machine in words: boom, control, pump, what is lost on the way to the tips, sets on hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from django.utils.translation import gettext_lazy as _

from wetrun.documents.load_entry import FilledMachineEntry
from wetrun.documents.machine_entry import (
    BoomEntry,
    ControlEntry,
    HoldEntry,
    MachineEntry,
    MeterEntry,
    OddEntry,
    OwnedEntry,
    PulseEntry,
    PumpEntry,
    PumpPointEntry,
)
from wetrun.documents.response_entry import ResponseEntry
from wetrun.shop.typed.faces import Face, Layout, Say

_MACHINE: Final = Face(
    first={
        "name": Say(_("Name"), _("As the customer calls it, with its width if he has more than one.")),
        "tank": Say(_("Tank holds")),
        "boom": Say(_("Boom")),
        "control": Say(_("Rate control")),
        "pump": Say(_("Pump"), _("What the pump gives at working pressure, and what does not reach the boom.")),
        "owned": Say(
            _("Sets on hand"), _("Tip sets the customer already has: they cost nothing in a plan."), one=_("Set")
        ),
    },
    more={
        "check_valve": Say(_("Check valves open at"), _("Pressure at which the nozzle bodies open.")),
        "relief": Say(_("Relief valve opens at")),
        "loss": Say(
            _("Loss between cab and tips"),
            _("Two gauges read at the same time on clean water, the whole boom on."),
        ),
        "plumbing": Say(
            _("Plumbing of the boom"),
            _("By tape and by the size printed on hose and pipe: tells how pressure falls along the boom."),
        ),
    },
)
_FILLED_MACHINE: Final = replace(
    _MACHINE, first={**_MACHINE.first, "fill": Say(_("Filling"), _("How full and how heavy a load may be."))}
)
_BOOM: Final = Face(
    first={
        "spacing": Say(_("Tip spacing")),
        "sections": Say(_("Tips in each section"), _("From the left, one number a section: 8, 8, 8.")),
        "body_positions": Say(_("Tips a nozzle body carries"), _("1 for a plain body, 3 to 5 for a turret.")),
        "odd": Say(
            _("Odd positions"),
            _("Positions with a tip of their own, whatever set is on: boom ends, wheel tracks."),
            one=_("Odd tip"),
        ),
    },
)
_ODD: Final = Face(
    first={
        "kind": Say(
            _("Where"),
            choices={
                "boom end": _("boom end"),
                "wheel track": _("wheel track"),
                "centre rack": _("centre rack"),
                "drop": _("drop"),
                "other": _("elsewhere"),
            },
        ),
        "positions": Say(_("Positions"), _("Counted from the left end, such as 1,72 or 35-38.")),
        "tip": Say(_("Tip"), _("Its ident in the tip catalogue."), offer="tips"),
    },
    named_by="kind",
)
_CONTROL: Final = Face(
    first={
        "loop": Say(
            _("Keeps its rate by"),
            choices={
                "flow meter": _("flow meter"),
                "pressure": _("pressure"),
                "pulse width": _("pulse width"),
                "none": _("hand, no controller"),
            },
        ),
        "hold": Say(
            _("Minimum hold"), _("Below this the controller goes no lower. Fill in the one the monitor asks for.")
        ),
        "max_pressure": Say(_("Highest pressure"), _("The limit set in the monitor.")),
        "meter": Say(_("Flow meter"), _("Its range, from its data sheet.")),
        "pulse": Say(_("Pulse-width settings"), _("Only for a machine that pulses its tips.")),
    },
    more={
        "off_below": Say(
            _("Shuts off below"), _("Speed under which it closes the boom by itself; empty if it does not.")
        ),
        "density_setting": Say(
            _("Density set in the monitor"),
            _("Only if it corrects for density by itself; the plan says what a wrong one does."),
        ),
        "turn_compensation": Say(
            _("Compensates turns"),
            _("A flow of its own for each section or tip; a pulse-width machine's doing."),
            choices={"none": _("no"), "section": _("by section"), "tip": _("tip by tip")},
        ),
        "stage_hysteresis": Say(
            _("Between switching up and down"),
            _("Only for bodies that switch between two tip sets; a difference in speed."),
        ),
        "response": Say(
            _("How fast it follows"),
            _("Fitted to the machine's own log, or timed in the yard."),
            tick=_("The times of this machine are known"),
        ),
    },
)
_HOLD: Final = Face(
    first={
        "pressure": Say(_("Hold by pressure")),
        "boom_flow": Say(_("Hold by boom flow")),
        "duty": Say(_("Hold by duty"), _("Only on a pulse-width machine.")),
    }
)
_METER: Final = Face(
    first={
        "least": Say(_("Reads from")),
        "greatest": Say(_("Reads to")),
        "sees_return": Say(_("The return flow passes through it")),
    }
)
_PULSE: Final = Face(
    first={
        "frequency": Say(_("Pulses a second")),
        "set_pressure": Say(_("Pressure it keeps")),
        "duty_from": Say(
            _("Duty is set from"), choices={"flow meter": _("the flow meter"), "pressure": _("the pressure")}
        ),
        "least_duty": Say(_("Least duty")),
        "greatest_duty": Say(_("Greatest duty")),
    }
)
_RESPONSE: Final = Face(
    first={
        "lag": Say(_("Lag"), _("After a step of speed, 63 % of the change is through in this time.")),
        "delay": Say(_("Delay"), _("Time before anything moves.")),
        "open": Say(_("Sections open in")),
        "close": Say(_("Sections shut in")),
        "shut_off": Say(
            _("When a section shuts"),
            _("What the rest of the boom feels."),
            choices={
                "pressure stays": _("the pressure stays: three-way valves"),
                "flow stays": _("the flow goes to the sections left: plain two-way valves"),
            },
        ),
    }
)
_PUMP: Final = Face(
    first={
        "flow": Say(_("Gives at working pressure")),
        "agitation": Say(_("Agitation takes")),
        "return": Say(_("Return takes"), _("What circulates through the boom or a bypass.")),
        "wear_reserve": Say(_("Kept back for wear"), _("Share of the flow not counted on.")),
    },
    more={
        "curve": Say(_("Pump curve"), _("On water, from least to greatest flow."), one=_("Point")),
    },
)
_POINT: Final = Face(first={"flow": Say(_("Flow")), "pressure": Say(_("Pressure"))}, named_by="flow")
_OWNED: Final = Face(
    first={
        "tip": Say(_("Tip"), _("Its ident in the tip catalogue."), offer="tips"),
        "count": Say(_("How many")),
        "wear": Say(_("Over new"), _("How much more than new tips they give, as caught.")),
    },
    named_by="tip",
)

MACHINE_WORDS: Final = Layout(
    {
        MachineEntry: _MACHINE,
        FilledMachineEntry: _FILLED_MACHINE,
        BoomEntry: _BOOM,
        OddEntry: _ODD,
        ControlEntry: _CONTROL,
        HoldEntry: _HOLD,
        MeterEntry: _METER,
        PulseEntry: _PULSE,
        ResponseEntry: _RESPONSE,
        PumpEntry: _PUMP,
        PumpPointEntry: _POINT,
        OwnedEntry: _OWNED,
    }
)
