"""The forms of an intake: one part of one pass as a sheet, and what stands there in a few words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import QueryDict

from wetrun.quantity import System
from wetrun.shop.answers.intake_draft import part_in, passes_in
from wetrun.shop.answers.intake_entries import INTAKE_LAYOUT, PARTS, Part
from wetrun.shop.intake.models import Intake
from wetrun.shop.typed.nodes import Field
from wetrun.shop.typed.sheet import Sheet


@dataclass(frozen=True, slots=True)
class PartTold:
    """One form of a pass in a few words.

    Attributes
    ----------
    part : Part
        Which.
    words : tuple of (str, str)
        What was asked and what was typed.
    wrong : int
        How many of them cannot be read.
    """

    part: Part
    words: tuple[tuple[str, str], ...]
    wrong: int


@dataclass(frozen=True, slots=True)
class PassTold:
    """One pass of a draft.

    Attributes
    ----------
    key : int
        Its key in the draft.
    title : str
        What it is called.
    parts : tuple of PartTold
        Its forms.
    """

    key: int
    title: str
    parts: tuple[PartTold, ...]


def part_sheet(intake: Intake, typed: Mapping[str, Any], part: Part, posted: QueryDict | None = None) -> Sheet:
    """Return one form of a pass.

    Parameters
    ----------
    intake : Intake
        Says the units that are printed.
    typed : mapping
        The pass as typed so far.
    part : Part
        Which form.
    posted : QueryDict or None
        What was sent.

    Returns
    -------
    Sheet
        Filled from the draft, or with what was sent.
    """
    system = System(intake.units)
    return Sheet(part.entry, raw=part_in(typed, part), layout=INTAKE_LAYOUT, system=system, posted=posted)


def title_of(typed: Mapping[str, Any], number: int) -> str:
    """Return what a pass is called: crop and what it is for, else its number."""
    named = [str(typed[name]) for name in ("crop", "name") if typed.get(name)]
    return ", ".join(named) or str(number)


def told_passes(intake: Intake) -> list[PassTold]:
    """Return the passes of a draft in words, in their order."""
    return [
        PassTold(one["key"], title_of(one["typed"], at), tuple(_told(intake, one["typed"], part) for part in PARTS))
        for at, one in enumerate(passes_in(intake), start=1)
    ]


def _told(intake: Intake, typed: Mapping[str, Any], part: Part) -> PartTold:
    sheet = part_sheet(intake, typed, part)
    sheet.check()
    words = tuple((trail_words(field), field.text) for field in sheet.fields() if field.text.strip())
    return PartTold(part, words, len(sheet.wrong))


def trail_words(field: Field) -> str:
    """Return what a value is called: its own name, and that of the row or table it stands in."""
    return " – ".join(str(each) for each in field.trail[-2:])
