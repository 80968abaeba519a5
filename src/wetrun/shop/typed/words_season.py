"""A season in words: the plan, the passes, their carrier and rates, how loads are wanted."""

from __future__ import annotations

from typing import Final

from django.utils.translation import gettext_lazy as _

from wetrun.documents.load_entry import BandEntry, LoadEntry, WaterEntry
from wetrun.documents.pass_entry import CarrierEntry, PassEntry, RateEntry
from wetrun.documents.season_entry import CustomerEntry, PlanEntry, SeasonEntry
from wetrun.documents.speeds_entry import GroundEntry, SpeedsEntry
from wetrun.shop.typed.faces import Face, Layout, Say

UNITS: Final = Say(_("Written in"), choices={"us": _("US customary units"), "si": _("metric units")})
_SEASON: Final = Face(
    first={
        "title": Say(_("Title")),
        "customer": Say(_("Customer")),
        "machine": Say(_("Machine")),
        "plan": Say(_("What the plan may use")),
        "pass": Say(_("Passes"), _("Every planned application, in the order of the season."), one=_("Pass")),
    },
    more={
        "water": Say(
            _("Water test"),
            _("As the laboratory gives it; an ion left out counts as none."),
            tick=_("The water was tested"),
        ),
        "units": UNITS,
    },
)
_PLAN: Final = Face(
    first={
        "most_sets": Say(_("Sets at most"), _("How many tip sets the machine may carry over the season.")),
        "budget": Say(_("Budget for tips"), _("In the shop's currency, without its sign.")),
        "generic": Say(_("Propose tips of the built-in catalogue, too")),
    },
    more={
        "tolerance": Say(_("Rate may be off by"), _("A pass counts as held inside this; usual is 5 %.")),
        "catalogue": Say(_("Tip catalogue"), _("Name of the shop's own file of tips."), offer="catalogues"),
    },
)
_PASS: Final = Face(
    first={
        "name": Say(_("Name")),
        "crop": Say(_("Crop"), offer="crops"),
        "area": Say(_("Area")),
        "first": Say(_("First day")),
        "last": Say(_("Last day")),
        "carrier": Say(_("Carrier")),
        "rate": Say(_("Rate of the mix")),
        "speeds": Say(_("Speeds"), _("Left empty where a field log of this pass says them.")),
        "height": Say(_("Boom height"), _("Above what is to be hit.")),
        "product": Say(_("Products"), one=_("Product")),
        "load": Say(_("Loads"), tick=_("Work out the loads of this pass")),
    },
    more={
        "droplets": Say(
            _("Droplets wanted"), _("Beside what the labels say; such as M, C or C or coarser."), offer="droplets"
        ),
        "fit": Say(
            _("Only these tips"),
            _("Families or idents, such as streamer; left empty, any that fits."),
            offer="families",
        ),
        "at_once": Say(
            _("Two tips the bodies can spray at once"),
            _("Only for bodies that switch between two tip sets; the plan tells what each and both hold."),
            offer="tips",
        ),
        "odd": Say(_("Odd positions keep their own tips")),
        "after": Say(_("Not before"), _("Names of passes that have to be done first."), offer="passes"),
        "days": Say(_("Days of work"), _("So that an order of passes is one that can be done.")),
        "rate_is": Say(
            _("The rate is of"),
            choices={
                "solution": _("what lands on the field"),
                "water equivalent": _("water, already corrected for density"),
            },
        ),
        "tolerance": Say(_("Rate may be off by"), _("For this pass alone.")),
        "logs": Say(_("Field logs")),
        "log_map": Say(_("Map of log columns")),
    },
)
_CARRIER: Final = Face(
    first={
        "name": Say(_("Liquid"), _("water, a fertiliser grade, or any name with its density."), offer="carriers"),
    },
    more={
        "density": Say(_("Density"), _("As weighed or stated; wins over what is printed for the grade.")),
        "specific_gravity": Say(_("Specific gravity"), _("Instead of the density.")),
        "temperature": Say(_("Temperature")),
    },
)
_RATE: Final = Face(
    first={
        "target": Say(_("Target")),
        "low": Say(_("Not under"), _("The range the customer accepts.")),
        "high": Say(_("Not over")),
    }
)
_SPEEDS: Final = Face(
    first={"slow": Say(_("Slow"), _("The slowest worth holding.")), "usual": Say(_("Usual")), "fast": Say(_("Fast"))},
    more={
        "hills": Say(_("Hills"), tick=_("Another speed on hills")),
        "waterways": Say(_("Waterways"), tick=_("Another speed along waterways and terraces")),
        "headlands": Say(_("Headlands"), tick=_("Another speed on headlands")),
    },
)
_GROUND: Final = Face(
    first={
        "speed": Say(_("Speed there")),
        "share": Say(_("Share of the area"), _("Left empty if nobody knows: it is told, and not counted.")),
    }
)
_LOAD: Final = Face(
    first={
        "split": Say(
            _("Loads are"), choices={"full": _("full, the last one smaller"), "equal": _("equal to each other")}
        ),
        "field_length": Say(_("Length of a swath"), _("Tells where the tank runs out.")),
        "jar": Say(_("Jar test in"), _("Volume of the jar."), units=("qt", "mL")),
    },
    more={
        "alike": Say(
            _("Loads of one size get the very same amounts"),
            _("Otherwise the total is the nearest one, and some loads get a step more."),
        ),
        "carry_in": Say(_("In the machine already"), _("Mix of this very pass.")),
        "band": Say(_("Band"), _("Only for bands over the rows; rates are then per treated area.")),
        "order": Say(
            _("Order of filling"),
            _("The labels come first; this is for what they leave open."),
            choices={"one third first": _("one third of the carrier first")},
        ),
        "first_fill": Say(_("Carrier before the first product")),
    },
)
_BAND: Final = Face(first={"width": Say(_("Width of the band")), "row": Say(_("From row to row"))})
_WATER: Final = Face(
    first={
        "calcium": Say(_("Calcium")),
        "magnesium": Say(_("Magnesium")),
        "sodium": Say(_("Sodium")),
        "potassium": Say(_("Potassium")),
        "iron": Say(_("Iron")),
    }
)

SEASON_WORDS: Final = Layout(
    {
        SeasonEntry: _SEASON,
        CustomerEntry: Face(first={"name": Say(_("Name"))}),
        PlanEntry: _PLAN,
        PassEntry: _PASS,
        CarrierEntry: _CARRIER,
        RateEntry: _RATE,
        SpeedsEntry: _SPEEDS,
        GroundEntry: _GROUND,
        LoadEntry: _LOAD,
        BandEntry: _BAND,
        WaterEntry: _WATER,
    }
)
