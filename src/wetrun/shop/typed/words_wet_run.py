"""A wet run in words: what is fitted, ground speed, flow meter, pressures, evenness."""

from __future__ import annotations

from typing import Final

from django.utils.translation import gettext_lazy as _

from wetrun.documents.wetrun_entry import FittedEntry, StandsEntry, UseEntry, WetRunEntry
from wetrun.documents.wetrun_tests_entry import (
    CourseEntry,
    EvennessEntry,
    GaugeEntry,
    MeterCatchEntry,
    MeterTestEntry,
    PressureEntry,
    RunEntry,
    SourceEntry,
)
from wetrun.shop.typed.faces import Face, Layout, Say
from wetrun.shop.typed.words_season import UNITS

OUT_THROUGHOUT: Final = Say(_("Measure off throughout by"), _("Scale or vessel, the same at every reading."))
TEMPERATURE: Final = Say(_("Water temperature"))
FINE_VOLUME: Final = ("fl oz", "mL")
_WET_RUN: Final = Face(
    first={
        "title": Say(_("Title")),
        "on": Say(_("Day")),
        "technician": Say(_("Technician")),
        "pass": Say(_("For the pass"), _("The pass of the season it is proved for."), offer="passes"),
        "tips": Say(_("Tips on the boom")),
        "gates": Say(_("Before water flows"), _("What was looked at, and by whom.")),
        "course": Say(_("Ground speed")),
        "meter": Say(_("Flow meter")),
        "catch": Say(_("Catch of the boom")),
        "steady": Say(
            _("Steady readings"), _("Read while the whole boom ran steadily: they check each other."), one=_("Reading")
        ),
        "pressure": Say(_("Cab against gauges")),
        "evenness": Say(_("Evenness")),
        "ramp": Say(_("Ramp"), _("Simulated speed, rate control in automatic.")),
        "section": Say(_("Sections on dry ground"), _("One for each, from the left."), one=_("Section")),
        "timing": Say(_("On and off delay")),
        "monitor": Say(_("Monitor")),
    },
    more={
        "screen": Say(_("The monitor's screen at one moment"), _("Every digit it shows; the width by tape.")),
        "doubts": Say(_("Standard uncertainties"), _("Where yours are better known than usual.")),
        "stands": Say(
            _("Readings that stand"), _("Asked about, looked at again, and right as typed."), one=_("Reading")
        ),
        "machine": Say(_("Machine")),
        "customer": Say(_("Customer")),
        "season": Say(_("Season")),
        "units": UNITS,
    },
)
_FITTED: Final = Face(
    first={
        "fitted": Say(_("Set fitted"), _("The ident of the tip when new."), offer="tips"),
        "sprayed": Say(_("Spraying time so far"), units=("h", "h")),
        "use": Say(_("What it sprays in a season"), _("For what wear costs.")),
    },
    more={"catalogue": Say(_("Tip catalogue"), offer="catalogues")},
)
_USE: Final = Face(
    first={
        "area": Say(_("Area")),
        "rate": Say(_("Rate")),
        "products": Say(_("Cost of products"), _("Of the season, in the shop's currency.")),
    }
)
_STANDS: Final = Face(
    first={
        "reading": Say(_("Reading"), _("By the name in brackets behind the question.")),
        "by": Say(_("Looked at by")),
        "at": Say(_("At"), _("Time of day.")),
        "remark": Say(_("Remark")),
    },
    named_by="reading",
)
_COURSE: Final = Face(
    first={
        "length": Say(_("Length of the course")),
        "surface": Say(
            _("Surface"),
            choices={"field": _("field"), "road or yard": _("road or yard"), "not told": _("not told")},
        ),
        "tank": Say(_("Tank filled to")),
        "source": Say(_("Speed sources"), one=_("Source")),
        "run": Say(_("Runs"), _("Out and back, twice at least."), one=_("Run")),
    },
    more={
        "tape": Say(_("Marks may be off by"), units=("in", "cm")),
        "reaction": Say(_("One press of the watch off by")),
        "watch_step": Say(_("Last digit of the watch")),
        "paced": Say(_("The course was paced, not taped")),
        "rolling_start": Say(_("Started rolling")),
    },
)
_SOURCE: Final = Face(
    first={
        "name": Say(_("Name")),
        "kind": Say(_("Kind")),
        "number": Say(_("Number in the monitor"), _("To its last zero.")),
        "form": Say(_("Form of the number"), offer="speed forms"),
        "step": Say(_("Last digit it shows")),
    }
)
_RUN: Final = Face(
    first={
        "way": Say(_("Way"), choices={"out": _("out"), "back": _("back")}),
        "time": Say(_("Time")),
        "shown": Say(_("Speeds shown"), one=_("Source")),
        "pulses": Say(_("Pulses counted"), one=_("Source")),
    },
    more={"name": Say(_("Name"))},
    named_by="way",
)
_METER: Final = Face(
    first={
        "number": Say(_("Number as found"), _("Unless it stands under the monitor as found.")),
        "form": Say(_("Form of the number"), offer="meter forms"),
        "tag": Say(_("Number on its tag")),
        "tag_form": Say(_("Form of the tag's number"), offer="meter forms"),
        "least": Say(_("Reads from")),
        "greatest": Say(_("Reads to")),
        "catch": Say(_("Catches"), _("Three at two flows or more, weighed or in a proven measure."), one=_("Catch")),
    },
    more={
        "scale": Say(_("One weighing off by"), _("Half of the interval of the scale.")),
        "vessel": Say(_("One reading of the vessel off by"), units=FINE_VOLUME),
        "measure": OUT_THROUGHOUT,
        "same_measure": Say(_("The tips were caught with the same scale or vessel")),
        "temperature": TEMPERATURE,
    },
)
_METER_CATCH: Final = Face(
    first={
        "flow": Say(_("Flow"), _("Any word: slow, fast. Catches at one flow share it.")),
        "time": Say(_("Time")),
        "pulses": Say(_("Pulses counted")),
        "shown": Say(_("Volume the monitor shows")),
        "volume": Say(_("Volume caught")),
        "gross": Say(_("Weighs full")),
        "tare": Say(_("Weighs empty")),
    },
    more={"tank_marks": Say(_("Read off the marks of a tank")), "name": Say(_("Name"))},
    named_by="flow",
)
_PRESSURE: Final = Face(
    first={
        "reading": Say(_("One difference may be off by"), _("As standard uncertainty.")),
        "gauge": Say(_("Readings"), _("Two flows in one section at least."), one=_("Reading")),
    },
    more={"gauge_within": Say(_("Gauge off throughout by"))},
)
_GAUGE: Final = Face(
    first={
        "section": Say(_("Section"), _("Counted from the left.")),
        "flow": Say(_("Boom flow")),
        "cab": Say(_("Cab shows")),
        "tip": Say(_("Gauge at the tip shows")),
    },
    named_by="section",
)
_EVENNESS: Final = Face(
    first={
        "rule": Say(
            _("Rule"),
            choices={
                "in use": _("sprayer in use"),
                "new at stated height": _("new tips at the stated height"),
                "new over the range": _("new tips over the range of heights"),
            },
        ),
        "height": Say(_("Height"), _("At which the tips caught are stacked with their fans.")),
        "grooves": Say(_("Grooves of a tray"), _("In order, with commas between them.")),
        "unit": Say(_("Unit of the grooves"), offer="catch units"),
        "reading": Say(_("One groove may be off by")),
    }
)

WET_RUN_WORDS: Final = Layout(
    {
        WetRunEntry: _WET_RUN,
        FittedEntry: _FITTED,
        UseEntry: _USE,
        StandsEntry: _STANDS,
        CourseEntry: _COURSE,
        SourceEntry: _SOURCE,
        RunEntry: _RUN,
        MeterTestEntry: _METER,
        MeterCatchEntry: _METER_CATCH,
        PressureEntry: _PRESSURE,
        GaugeEntry: _GAUGE,
        EvennessEntry: _EVENNESS,
    }
)
