"""Keeps what was typed along a boom: what was changed and can be read, never over what somebody else typed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from django.db import transaction
from django.utils.translation import gettext as _
from pydantic_core import PydanticCustomError

from wetrun.documents.wetrun_readings import NO_FLOW, tip_readings
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.catch_sheet import CatchSheet, base_of, prefix_of
from wetrun.shop.answers.wet_run_pieces import PIECES, digest_of, keep_piece
from wetrun.shop.answers.wet_run_tests import YardTest
from wetrun.shop.answers.wet_runs import document_of
from wetrun.shop.records.models import Reading, WetRun
from wetrun.shop.records.reading_sheet import SheetRead, keep_sheet, last_number
from wetrun.shop.typed.page_words import page_words
from wetrun.shop.typed.printed_units import with_unit

LONGEST: Final = 40
_POSITIONS: Final = re.compile(r"[1-9][0-9]{0,2}")


@dataclass(frozen=True, slots=True, kw_only=True)
class SentCatch:
    """A sheet as it was sent.

    Attributes
    ----------
    typed : mapping of str to str
        By place.
    number : int
        The last reading that was on the page.
    unit : str
        That was printed on it.
    """

    typed: Mapping[str, str]
    number: int
    unit: str


def keep_catch(wet_run: WetRun, desk: Desk, shown: CatchSheet, sent: SentCatch) -> tuple[CatchSheet, int]:
    """Keep what was changed on a boom's sheet.

    Parameters
    ----------
    wet_run : WetRun
        An open one.
    desk : Desk
        Who typed it.
    shown : CatchSheet
        The sheet as it stands.
    sent : SentCatch
        The sheet as it was sent.

    Returns
    -------
    tuple of CatchSheet and int
        The sheet with what was typed on it, what was not kept marked, and how many readings were kept. A reading that
        nobody can read is not kept, and neither is one where somebody else typed another meanwhile.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    """
    test, base = shown.test, base_of(wet_run, shown.test)
    stands = {row.place: row.typed for row in shown.rows}
    typed = {place: text for place, text in sent.typed.items() if place in stands}
    wrong = {place: words for place, text in typed.items() if (words := wrong_with(text, sent.unit))}
    good = {place: text for place, text in typed.items() if place not in wrong}
    with transaction.atomic():
        unit = unit_kept(wet_run, desk, test, sent.unit)
        if unit != sent.unit:
            # A bare number takes the unit that was printed when it was typed, whatever stands there now.
            good = {p: text if text == stands[p] else with_unit(text, sent.unit) for p, text in good.items()}
        kept = keep_sheet(wet_run, good, SheetRead(base=base, number=sent.number), desk.user)
    marked = _marked(shown, typed, wrong, kept.clashes)
    return replace(marked, unit=unit, number=last_number(wet_run)), len(kept.places)


def wrong_with(text: str, unit: str) -> str:
    """Return what is wrong with a tip's reading, as a sentence; empty for one that can be read, and for a blank.

    Example
    -------
    >>> wrong_with("39,2", "fl oz"), wrong_with("", "fl oz"), wrong_with("no flow", "fl oz")
    ('', '', '')
    >>> wrong_with("39.2.1", "fl oz").startswith("It ")
    True
    """
    try:
        tip_readings({"1": text}, unit)
    except PydanticCustomError as refused:
        context = refused.context or {}
        return page_words(
            str(context.get("limit", refused.message())), _("Write it as 39.2, or with a unit of its own.")
        )
    return ""


def dry(text: str, test: YardTest) -> dict[str, str]:
    """Return readings for tips that were caught and gave nothing, by place.

    Parameters
    ----------
    text : str
        Their positions, as typed: "23, 40".
    test : YardTest
        The catch, or the one at low duty.

    Returns
    -------
    dict of str to str
        No keypad of numbers can type the words.
    """
    return {f"{prefix_of(test)}{tip}": NO_FLOW for tip in _POSITIONS.findall(text)}


def unit_kept(wet_run: WetRun, desk: Desk, test: YardTest, printed: str) -> str:
    """Return a sheet's unit; the printed one is kept with its first readings: they are never numbers of nothing."""
    piece = PIECES[test.key].cut(document_of(wet_run))
    if piece.get("unit"):
        return str(piece["unit"])
    keep_piece(wet_run, desk, test, {**piece, "unit": printed}, read=digest_of(piece))
    return printed


def _marked(
    shown: CatchSheet, typed: Mapping[str, str], wrong: Mapping[str, str], theirs: Mapping[str, Reading]
) -> CatchSheet:
    sections = tuple(
        replace(
            section,
            rows=tuple(
                replace(
                    row,
                    typed=typed.get(row.place, row.typed),
                    wrong=wrong.get(row.place, ""),
                    theirs=theirs.get(row.place),
                )
                for row in section.rows
            ),
        )
        for section in shown.sections
    )
    return replace(shown, sections=sections)
