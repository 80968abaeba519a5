"""Whose machines stand in the demo's yard, and how far each is. All of it is invented."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Final


class Stage(IntEnum):
    """How far a machine is brought; each stage is on top of those before it."""

    BARE = 0
    """The machine is known, and nothing of its season."""
    TYPED = 1
    PLANNED = 2
    AGREED = 3
    ORDERED = 4
    HERE = 5
    """Its tips are here."""
    RUN = 6
    """A wet run is open."""
    PROVEN = 7
    HANDED = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Farm:
    """A customer with a machine.

    Attributes
    ----------
    customer, person, phone, place : str
        Who.
    machine : str
        What it is called.
    sections : int
        Sections of eight tips, 20 in apart.
    tank : str
        As typed.
    passes : tuple of pairs of str
        Names of passes of the demo's season, each with its area.
    in_days : int
        Days from today to the first spray day.
    stage : Stage
        How far it is.
    slips : tuple of str
        Keys of the first pass that nobody has typed yet.
    changed_since : bool
        Whether the customer has called again since the plan was made.
    new_meter : bool
        Whether it got another flow meter since its wet run.
    """

    customer: str
    person: str
    phone: str
    place: str
    machine: str
    sections: int
    tank: str
    passes: tuple[tuple[str, str], ...]
    in_days: int
    stage: Stage
    slips: tuple[str, ...] = ()
    changed_since: bool = False
    new_meter: bool = False


IN_DAYS: Final = 27
"""Days to the first spray day of the demo's own machine: its wet run was a week ago."""

FARMS: Final = (
    Farm(
        customer="Copper Slough Farms", person="D. Finch", phone="555 0102", place="two miles past the elevator",
        machine="Old blue, 80 ft", sections=6, tank="800 gal",
        passes=(("Burndown and residual", "640 ac"), ("Post herbicide", "640 ac")),
        in_days=4, stage=Stage.PROVEN, new_meter=True,
    ),
    Farm(
        customer="Tall Reed Acres", person="M. Heron", phone="555 0103", place="County road 9",
        machine="Big one, 120 ft", sections=9, tank="1200 gal",
        passes=(("Burndown and residual", "1900 ac"), ("Post herbicide", "900 ac")),
        in_days=12, stage=Stage.HANDED,
    ),
    Farm(
        customer="Seven Gates Custom", person="P. Thrush", phone="555 0104", place="behind the scale house",
        machine="Rig 2, 107 ft", sections=8, tank="1000 gal",
        passes=(("Post herbicide", "2400 ac"), ("Fungicide", "1100 ac")),
        in_days=16, stage=Stage.ORDERED,
    ),
    Farm(
        customer="Clay Bottom Farm", person="R. Wren", phone="555 0105", place="river road, gate by the pump",
        machine="Pull-type, 53 ft", sections=4, tank="500 gal",
        passes=(("Burndown and residual", "310 ac"),),
        in_days=9, stage=Stage.TYPED, slips=("rate", "speeds"),
    ),
    Farm(
        customer="Windbreak Grain", person="T. Plover", phone="555 0106", place="north of the tracks",
        machine="Number 2, 93 ft", sections=7, tank="1000 gal",
        passes=(("Fungicide", "780 ac"), ("Desiccant", "780 ac")),
        in_days=33, stage=Stage.AGREED, changed_since=True,
    ),
    Farm(
        customer="Hedge Apple Farm", person="C. Teal", phone="555 0107", place="",
        machine="The 90, 93 ft", sections=7, tank="1000 gal",
        passes=(("Post herbicide", "520 ac"),),
        in_days=41, stage=Stage.PLANNED,
    ),
    Farm(
        customer="Quarry Hill Acres", person="B. Kite", phone="555 0108", place="the white barn",
        machine="New to us, 120 ft", sections=9, tank="1200 gal",
        passes=(), in_days=0, stage=Stage.BARE,
    ),
)  # fmt: skip
