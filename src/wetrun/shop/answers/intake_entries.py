"""What a customer is asked about one pass, in three short forms; every value may stay empty."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from django.utils.translation import gettext_lazy as _
from pydantic import Field, model_validator

from wetrun.documents.entry import Entry
from wetrun.documents.fields import Area, CarrierRate, Height, InSpray, ProductRate, Speed, Wind
from wetrun.documents.plain_fields import Day, Droplets, Words
from wetrun.documents.shorthand import Shorthand
from wetrun.shop.typed.faces import Face, Layout, Say, Text
from wetrun.shop.typed.layouts import LAYOUT

GROUNDS: Final = ("hills", "waterways", "headlands")
"""Kinds of ground that have no key of their own in a season; the slowest of them may stand for slow."""


class AskedCrop(Entry):
    """What is sprayed, how much of it, when."""

    crop: Words | None = None
    name: Words | None = None
    area: Area | None = None
    first: Day | None = None
    last: Day | None = None


class AskedCarrier(Shorthand):
    """The liquid in the tank."""

    name: Words | None = None


class AskedRate(Shorthand):
    """Rate of the mix, with the range the customer accepts."""

    target: CarrierRate | None = None
    low: CarrierRate | None = None
    high: CarrierRate | None = None


class AskedProduct(Entry):
    """A product with its label as far as it is at hand."""

    name: Words | None = None
    rate: ProductRate | None = None
    in_spray: InSpray | None = None
    label_max: ProductRate | None = None
    droplets: Droplets | None = None
    min_carrier: CarrierRate | None = None
    max_wind: Wind | None = None
    max_height: Height | None = None
    max_speed: Speed | None = None


class Unfolded(Entry):
    """A form whose tables are all seen at once: they are always there, with nothing in them if nothing was typed."""

    @model_validator(mode="before")
    @classmethod
    def _holds_every_table(cls, value: object) -> object:
        tables: dict[str, object] = {name: {} for name, field in cls.model_fields.items() if field.is_required()}
        return {**tables, **value} if isinstance(value, dict) else value


class AskedMix(Unfolded):
    """What goes into the tank."""

    carrier: AskedCarrier
    rate: AskedRate
    droplets: Droplets | None = None
    product: list[AskedProduct] = Field(default=[], max_length=20)


class AskedSpeeds(Entry):
    """Speeds by kind of ground."""

    slow: Speed | None = None
    usual: Speed | None = None
    fast: Speed | None = None
    hills: Speed | None = None
    waterways: Speed | None = None
    headlands: Speed | None = None


class AskedGround(Unfolded):
    """How fast the fields let the machine go."""

    speeds: AskedSpeeds


@dataclass(frozen=True, slots=True)
class Part:
    """One short form of a pass.

    Attributes
    ----------
    key : str
        Its word in the address.
    entry : type of Entry
        What it asks.
    title : str
        What stands above it.
    """

    key: str
    entry: type[Entry]
    title: Text


PARTS: Final = (
    Part("crop", AskedCrop, _("Crop and days")),
    Part("mix", AskedMix, _("What is sprayed")),
    Part("ground", AskedGround, _("Speeds")),
)
PART_OF: Final = {part.key: part for part in PARTS}

_CROP: Final = Face(
    first={
        "crop": Say(_("Crop"), offer="crops"),
        "name": Say(_("What this spraying is for"), _("Your own word for it, such as burndown or first fungicide.")),
        "area": Say(_("Area")),
        "first": Say(_("First day it could be"), _("A guess is better than nothing.")),
        "last": Say(_("Last day it should be")),
    },
    named_by="crop",
)
_SPEEDS: Final = Face(
    first={
        "usual": Say(_("Usual, on open ground")),
        "slow": Say(_("Slow"), _("What you drive where it will not go faster.")),
        "fast": Say(_("Fast"), _("The most you really drive.")),
        "hills": Say(_("On hills")),
        "waterways": Say(_("Along waterways and terraces")),
        "headlands": Say(_("On headlands")),
    }
)
_PRODUCT: Final = Face(
    first={
        "name": Say(_("Name"), _("As it stands on the label.")),
        "rate": Say(_("Rate"), _("As the label or your agronomist gives it, with its unit.")),
        "in_spray": Say(_("Or per volume of mix"), _("With its unit, such as % v/v.")),
    },
    more={
        "label_max": Say(_("Label: most per area")),
        "droplets": Say(_("Label: droplets"), _("As the label says it: M, C or C or coarser."), offer="droplets"),
        "min_carrier": Say(_("Label: carrier at least")),
        "max_wind": Say(_("Label: wind at most")),
        "max_height": Say(_("Label: boom height at most")),
        "max_speed": Say(_("Label: speed at most")),
    },
)
INTAKE_LAYOUT: Final = LAYOUT.joined(
    Layout(
        {
            AskedCrop: _CROP,
            AskedMix: Face(
                first={
                    "droplets": Say(_("Droplets wanted"), _("If you were told any."), offer="droplets"),
                    "carrier": Say(_("Carrier")),
                    "rate": Say(_("Rate of the mix")),
                    "product": Say(
                        _("Products"), _("Each with its label in hand: the label is the law."), one=_("Product")
                    ),
                }
            ),
            AskedCarrier: Face(first={"name": Say(_("Liquid"), _("Water, or a fertiliser grade."), offer="carriers")}),
            AskedRate: Face(
                first={
                    "target": Say(_("Usual rate")),
                    "low": Say(_("Not under"), _("If you would go lower or higher.")),
                    "high": Say(_("Not over")),
                }
            ),
            AskedProduct: _PRODUCT,
            AskedGround: Face(first={"speeds": Say(_("Speeds by kind of ground"))}),
            AskedSpeeds: _SPEEDS,
        }
    )
)
