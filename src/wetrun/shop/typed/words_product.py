"""A product with its label in words: amount, limits, how it goes into the tank, what it may hurt."""

from __future__ import annotations

from typing import Final

from django.utils.translation import gettext_lazy as _

from wetrun.documents.mixing_entry import LabelMixEntry, LabelOrderEntry
from wetrun.documents.pass_entry import PermittedTipEntry, ProductEntry
from wetrun.shop.typed.faces import Face, Layout, Say

_PRODUCT: Final = Face(
    first={
        "name": Say(_("Name")),
        "form": Say(_("Formulation"), _("The letters on the label: SC, EC, WG.")),
        "rate": Say(_("Rate"), _("With its unit: fl oz/ac or L/ha of a liquid, lb/ac or kg/ha of a dry product.")),
        "in_spray": Say(
            _("Or per volume of mix"), _("With its unit: % v/v, a liquid or a weight per 100 gal or 100 L.")
        ),
        "label_max": Say(_("Label: most per area"), _("The label is the law.")),
        "droplets": Say(_("Label: droplets"), _("As the label says it: M, C or C or coarser."), offer="droplets"),
        "min_carrier": Say(_("Label: carrier at least")),
        "max_wind": Say(_("Label: wind at most")),
        "max_height": Say(_("Label: boom height at most")),
        "max_speed": Say(_("Label: speed at most")),
        "risky_on": Say(
            _("Hurts these crops"),
            _("Names with commas between them; none if the label names none; empty if nobody has looked."),
            offer="crops",
        ),
    },
    more={
        "in_carrier": Say(_("Or per volume of carrier")),
        "label_mix": Say(_("Label: amount per volume")),
        "label_order": Say(_("Label: place in the order of filling")),
        "tips": Say(
            _("Label: only these tips"),
            _("For a label that names its tips; no droplet class replaces the list."),
            one=_("Tip"),
        ),
        "max_carrier": Say(_("Label: carrier at most")),
        "forbidden_carriers": Say(_("Label: never in these carriers"), offer="carriers"),
        "min_wind": Say(_("Label: wind at least")),
        "first": Say(_("Label: not before")),
        "last": Say(_("Label: not after")),
        "risky_words": Say(_("What the label says of clean-out"), _("Its own sentence.")),
        "tolerated": Say(
            _("Tolerated carry-over"), _("Of its own rate on the next crop, if the label gives a figure.")
        ),
        "clean_after": Say(_("Clean out after this product whatever comes next")),
        "density": Say(_("Density"), _("Of a liquid, if it is not near the carrier's.")),
    },
)
_TIP: Final = Face(
    first={
        "tip": Say(_("Tip"), _("Its ident in the tip catalogue."), offer="tips"),
        "max_pressure": Say(_("Up to a pressure of")),
    },
    named_by="tip",
)
_MIX: Final = Face(first={"low": Say(_("At least")), "high": Say(_("At most"))})
_ORDER: Final = Face(
    first={
        "place": Say(_("Goes in"), choices={"first": _("first of all"), "last": _("last of all")}),
        "after": Say(_("After"), _("Products of this pass or formulations, with commas between them.")),
        "before": Say(_("Before")),
    }
)

PRODUCT_WORDS: Final = Layout(
    {ProductEntry: _PRODUCT, PermittedTipEntry: _TIP, LabelMixEntry: _MIX, LabelOrderEntry: _ORDER}
)
