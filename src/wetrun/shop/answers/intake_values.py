"""Every value of a draft beside what the record has now, with what is proposed where the customer left a gap."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from wetrun.errors import QuantityRefused
from wetrun.quantity import Kind, read
from wetrun.shop.answers.intake_entries import GROUNDS, INTAKE_LAYOUT, PARTS, AskedSpeeds, Part
from wetrun.shop.answers.intake_places import Place, text_at, twin_of
from wetrun.shop.answers.intake_sheets import part_sheet, trail_words
from wetrun.shop.intake.models import Intake
from wetrun.shop.typed.annotated import keys_of
from wetrun.shop.typed.nodes import Field


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a draft.

    Attributes
    ----------
    name : str
        Its name in the form: key of the pass and place.
    place : tuple
        Where it stands in a pass.
    title : str
        Its words.
    typed : str
        As the customer typed it; empty for a gap.
    now : str
        What the record has there.
    field : Field
        The box it was typed in.
    proposal : str
        What the box for another value begins with.
    note : str
        Why it is proposed.
    problems : tuple of str
        Why it cannot be read.
    """

    name: str
    place: Place
    title: str
    typed: str
    now: str
    field: Field
    proposal: str = ""
    note: str = ""
    problems: tuple[str, ...] = ()

    @property
    def is_same(self) -> bool:
        """Whether the record says it already."""
        return bool(self.typed) and self.typed == self.now

    @property
    def usual(self) -> str:
        """What is decided unless somebody decides otherwise."""
        if self.is_same:
            return "out"
        return "other" if self.problems or not self.typed else "take"


def values_of(intake: Intake, key: int, typed: Mapping[str, Any], target: Mapping[str, Any]) -> list[Value]:
    """Return the values of one pass.

    Parameters
    ----------
    intake : Intake
        Its draft.
    key : int
        Of the pass in the draft.
    typed : mapping
        The pass as the customer typed it.
    target : mapping
        The pass of the record it is held against; empty for a new one.

    Returns
    -------
    list of Value
        In the order of the forms.
    """
    found = [value for part in PARTS for value in _of_part(intake, key, typed, target, part=part)]
    order = [each.name for part in PARTS for each in keys_of(part.entry)]
    return sorted([*_gaps(intake, key, typed, target), *found], key=lambda value: order.index(str(value.place[0])))


def _of_part(
    intake: Intake, key: int, typed: Mapping[str, Any], target: Mapping[str, Any], *, part: Part
) -> Iterator[Value]:
    sheet = part_sheet(intake, typed, part)
    sheet.check()
    for field in sheet.fields():
        if not field.text.strip():
            continue
        place = place_of(field)
        yield Value(
            name=f"{key}.{'.'.join(map(str, place))}",
            place=place,
            title=trail_words(field),
            typed=field.text,
            now=text_at(target, twin_of(place, typed, target)),
            proposal=field.text,
            problems=tuple(map(str, field.problems)),
            field=field,
        )


def place_of(field: Field) -> Place:
    """Return where a box's value stands in a pass."""
    return tuple(int(each) if each.isdigit() else each for each in field.name.split(".")[1:])


def _gaps(intake: Intake, key: int, typed: Mapping[str, Any], target: Mapping[str, Any]) -> Iterator[Value]:
    """What the customer left empty and something typed elsewhere may stand for."""
    crop = str(typed.get("crop", ""))
    if crop and not typed.get("name") and not target.get("name"):
        yield _gap(intake, key, ("name",), crop, _("a pass needs a name; the crop may do"))
    speeds = typed.get("speeds")
    slowest = _slowest(speeds) if isinstance(speeds, dict) and not speeds.get("slow") else None
    if slowest is not None:
        ground, speed = slowest
        label = str(INTAKE_LAYOUT.face(AskedSpeeds).first[ground].label).lower()
        now = text_at(target, ("speeds", "slow"))
        yield _gap(intake, key, ("speeds", "slow"), speed, _("the slowest that was typed: %s") % label, now)


def _gap(intake: Intake, key: int, place: Place, proposal: str, note: str, now: str = "") -> Value:  # noqa: PLR0917
    field = next(field for part in PARTS for field in part_sheet(intake, {}, part).fields() if place_of(field) == place)
    return Value(
        name=f"{key}.{'.'.join(map(str, place))}",
        place=place,
        title=trail_words(field),
        typed="",
        now=now,
        proposal=proposal,
        note=note,
        field=field,
    )


def _slowest(speeds: Mapping[str, Any]) -> tuple[str, str] | None:
    """The kind of ground with the lowest speed that can be read, and that speed as it was typed."""
    read_speeds = []
    for ground in GROUNDS:
        try:
            read_speeds.append((read(str(speeds.get(ground, "")), Kind.SPEED).si_value, ground))
        except QuantityRefused:
            continue
    return (min(read_speeds)[1], str(speeds[min(read_speeds)[1]])) if read_speeds else None
