"""A changeover in words: the two tanks, the machine's circuits, water, what the next crop may get, label steps."""

from __future__ import annotations

from typing import Final

from django.utils.translation import gettext_lazy as _

from wetrun.documents.changeover_entry import (
    ChangeoverEntry,
    CleanerEntry,
    ExtraEntry,
    LabelStepEntry,
    MeasuredEntry,
    NextEntry,
    PlumbingOfEntry,
    RecordEntry,
    RecordStepEntry,
    TankEntry,
    ToleratedEntry,
    WaterEntry,
    WinterEntry,
)
from wetrun.shop.typed.faces import Face, Layout, Say
from wetrun.shop.typed.words_season import UNITS

_STAND: Final = Say(_("Let it stand"), units=("min", "min"))
_CHANGEOVER: Final = Face(
    first={
        "title": Say(_("Title")),
        "on": Say(_("Day")),
        "from": Say(
            _("Out of the machine"), _("A pass of the season, or what was in the tank since the last clean-out.")
        ),
        "to": Say(_("What comes next"), _("A pass of the season, or typed here with how it is sprayed.")),
        "plumbing": Say(
            _("Circuits of the machine"), _("Typical volumes of its class stand in until somebody measures.")
        ),
        "water": Say(_("Clean water")),
        "tolerated": Say(_("The next crop may get"), _("One of the three.")),
        "label": Say(
            _("Label steps"), _("As they read. They come first, and nobody may leave them out."), one=_("Step")
        ),
        "cleaner": Say(_("Cleaners"), _("Only those the label names. Never bleach with ammonia."), one=_("Cleaner")),
        "rinsate": Say(_("Where the rinsate goes"), _("Where label and local rules allow it.")),
    },
    more={
        "nurse": Say(_("A nurse tank or hoses carried the product")),
        "winter": Say(_("Winter"), tick=_("The machine is put away after this clean-out")),
        "record": Say(_("Record")),
        "machine": Say(_("Machine")),
        "season": Say(_("Season")),
        "units": UNITS,
    },
)
_TANK_FIRST: Final = {"pass": Say(_("Pass of the season"), offer="passes")}
_TANK_MORE: Final = {
    "name": Say(_("Name")),
    "crop": Say(_("Crop"), offer="crops"),
    "rate": Say(_("Rate of the mix")),
    "contents": Say(_("Products"), _("With commas between them.")),
}
_NEXT_FIRST: Final = {
    "speed": Say(_("Speed"), _("If the pass states none.")),
    "load": Say(_("First load")),
}
_PLUMBING: Final = Face(
    first={
        "class": Say(
            _("Class of machine"),
            choices={"self-propelled": _("self-propelled"), "trailed": _("trailed"), "mounted": _("mounted")},
        ),
        "rinse_tank": Say(_("Rinse tank holds"), _("Or the clean water a nurse tank brings at a time.")),
        "measured": Say(
            _("Measured circuits"),
            _("Fill a drained circuit with a jug; catch what still comes out when it is said to be empty."),
            one=_("Circuit"),
        ),
        "extra": Say(_("Lines some machines have besides"), one=_("Line")),
    },
    more={
        "ends_open": Say(_("The ends of the boom can be opened")),
        "recirculating": Say(_("The boom returns to the tank")),
        "drains": Say(_("It is drained before the first rinse and after each")),
        "fed": Say(_("Sections are fed"), choices={"at an end": _("at an end"), "in the middle": _("in the middle")}),
    },
)
_MEASURED: Final = Face(
    first={
        "circuit": Say(_("Circuit"), offer="circuits"),
        "volume": Say(_("Holds")),
        "residue": Say(_("Keeps when drained")),
    },
    named_by="circuit",
)
_EXTRA: Final = Face(
    first={
        "kind": Say(
            _("Line"),
            choices={
                "chemical hose": _("chemical hose"),
                "injection line": _("injection line"),
                "foam marker": _("foam marker"),
                "winter-fluid line": _("winter-fluid line"),
            },
        ),
        "flushed_with": Say(_("Flushed with"), _("The line that flushes it; empty, it counts as never rinsed.")),
    },
    named_by="kind",
)
_WATER: Final = Face(
    first={
        "refills": Say(_("Refills of the rinse tank")),
        "ways": Say(
            _("Ways to rinse"),
            choices={
                "batch": _("in batches through the tank"),
                "continuous": _("continuously through the tank"),
                "boom": _("straight from the rinse tank to the boom"),
            },
        ),
        "most_rinses": Say(_("Rinses at most")),
    },
    more={
        "step": Say(_("Water is measured out in steps of")),
        "first_flush": Say(_("First flush"), _("Round pump and tank walls, before the first rinse.")),
    },
)
_TOLERATED: Final = Face(
    first={
        "label": Say(_("By the label")),
        "own": Say(_("By your own figure")),
        "of": Say(
            _("Share of"),
            choices={
                "tank mix": _("the old tank mix in what leaves the tips"),
                "dose": _("the old product's dose on the area"),
            },
        ),
        "published": Say(_("By a published figure"), offer="published"),
    }
)
_RECORD_STEP: Final = Face(
    first={
        "step": Say(_("Step")),
        "by": Say(_("By")),
        "begun": Say(_("Begun"), _("Day and time: 2027-07-08 14:30.")),
        "done": Say(_("Done"), _("Day and time: 2027-07-08 14:45.")),
        "water": Say(_("Water")),
        "skipped_because": Say(_("Skipped because")),
    },
    named_by="step",
)

CHANGEOVER_WORDS: Final = Layout(
    {
        ChangeoverEntry: _CHANGEOVER,
        TankEntry: Face(first=_TANK_FIRST, more=_TANK_MORE, named_by="pass"),
        NextEntry: Face(
            first={**_TANK_FIRST, **_NEXT_FIRST},
            more={"boom_flow": Say(_("Or boom flow"), _("Instead of the speed.")), **_TANK_MORE},
            named_by="pass",
        ),
        PlumbingOfEntry: _PLUMBING,
        MeasuredEntry: _MEASURED,
        ExtraEntry: _EXTRA,
        WaterEntry: _WATER,
        ToleratedEntry: _TOLERATED,
        LabelStepEntry: Face(
            first={
                "product": Say(_("Product")),
                "words": Say(_("The label's words")),
                "water": Say(_("Water")),
                "stand": _STAND,
            },
            named_by="product",
        ),
        CleanerEntry: Face(
            first={"name": Say(_("Name")), "words": Say(_("As its label says")), "stand": _STAND},
        ),
        RecordEntry: Face(
            first={
                "signed_by": Say(_("Signed by")),
                "signed_at": Say(_("Signed at"), _("Day and time: 2027-07-08 16:40.")),
                "step": Say(_("Steps"), one=_("Step")),
            }
        ),
        RecordStepEntry: _RECORD_STEP,
        WinterEntry: Face(
            first={"antifreeze": Say(_("Antifreeze")), "where_it_goes": Say(_("Where it goes in spring"))}
        ),
    }
)
