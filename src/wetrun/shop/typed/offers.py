"""Lists of suggestions that go with a box: what may be typed there, where that is known to everybody."""

from __future__ import annotations

from functools import cache
from typing import Final

from wetrun.documents.family_words import FAMILY_WORDS
from wetrun.planning.formulation import Form
from wetrun.proving.monitor import DENSITY_FORMS, METER_FORMS, SIZE_FORMS, SPEED_FORMS
from wetrun.spray.carrier import CARRIER_GRADES
from wetrun.spray.droplets import DropletClass
from wetrun.spray.plumbing import Feed

_COARSER: Final = ("F", "M", "C", "VC")


@cache
def usual_offers() -> dict[str, tuple[str, ...]]:
    """Return the suggestions a sheet has of its own, by name.

    Returns
    -------
    dict of tuple of str
        Formulations, droplet classes, carriers, families of tips, forms of a monitor's numbers, feeds, units.
    """
    return {
        "formulations": tuple(each.value for each in Form),
        "droplets": (*(f"{letters} or coarser" for letters in _COARSER), *(each.letters for each in DropletClass)),
        "carriers": ("water", *CARRIER_GRADES),
        "families": tuple(FAMILY_WORDS),
        "meter forms": tuple(each.words for each in METER_FORMS),
        "speed forms": tuple(each.words for each in SPEED_FORMS),
        "density forms": tuple(each.words for each in DENSITY_FORMS),
        "size forms": tuple(each.words for each in SIZE_FORMS),
        "feeds": tuple(each.value for each in Feed),
        "catch units": ("fl oz", "mL", "oz", "g", "gal/min", "L/min"),
    }
