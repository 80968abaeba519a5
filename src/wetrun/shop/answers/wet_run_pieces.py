"""The pieces a wet run's document is typed in, one per test, and keeping one of them without touching the others.

Two who type different tests of one run never meet; the second of two who typed the same test is told.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from hashlib import sha256
from typing import Any, Final

from django.db import transaction
from django.utils.translation import gettext as _

from wetrun.documents.entry import Entry
from wetrun.documents.wetrun_catch_entry import CatchEntry, LowDutyEntry
from wetrun.documents.wetrun_entry import WetRunEntry
from wetrun.documents.wetrun_monitor_entry import MonitorEntry
from wetrun.documents.wetrun_steady_entry import DoubtsEntry, ScreenEntry
from wetrun.documents.wetrun_tests_entry import (
    EvennessEntry,
)
from wetrun.documents.wetrun_yard_entry import (
    GateEntry,
    GatesEntry,
)
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.run_document import table_of
from wetrun.shop.answers.wet_run_entries import (
    CoursePiece,
    HeadPiece,
    MeterPiece,
    PressurePiece,
    RampPiece,
    SectionsPiece,
    SteadyPiece,
    SwapsPiece,
)
from wetrun.shop.answers.wet_run_tests import YardTest
from wetrun.shop.answers.wet_runs import document_of
from wetrun.shop.document_field import document_text
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import WetRun
from wetrun.shop.records.reading_sheet import last_number
from wetrun.shop.records.readings import RunProven
from wetrun.shop.typed.faces import Face, Layout
from wetrun.shop.typed.layouts import LAYOUT

Document = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A part of a wet run's document that is typed on one page.

    Attributes
    ----------
    entry : type of Entry
        What it is.
    at : tuple of str
        Way to the table it stands in; empty for the document itself.
    only : tuple of str
        Keys of that table that belong to it; empty for all but `without`.
    without : tuple of str
        Keys of that table that are typed elsewhere.
    layout : Layout
        Its words.
    """

    entry: type[Entry]
    at: tuple[str, ...] = ()
    only: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    layout: Layout = field(default_factory=lambda: LAYOUT)

    def cut(self, document: Mapping[str, Any]) -> Document:
        """Return this piece of a document."""
        return {key: value for key, value in table_of(document, *self.at).items() if self._owns(key)}

    def put(self, document: Mapping[str, Any], piece: Mapping[str, Any]) -> Document:
        """Return a document with this piece in it, its other keys where they were."""
        table = table_of(document, *self.at)
        laid = {key: piece.get(key, value) for key, value in table.items() if key in piece or not self._owns(key)}
        laid |= {key: value for key, value in piece.items() if key not in laid}
        return _put_at(dict(document), self.at, laid)

    def key_of(self, place: str) -> str:
        """Return the key a problem of the whole document has inside the piece; empty if it is of another one."""
        start = "".join(f"{step}." for step in self.at)
        inside = place.removeprefix(start) if place.startswith(start) else ""
        first = inside.replace("[", ".").split(".")[0]
        return inside if first and self._owns(first) else ""

    def _owns(self, key: str) -> bool:
        return key in self.only if self.only else key not in self.without


def _put_at(document: Document, at: tuple[str, ...], table: Document) -> Document:
    if not at:
        return table
    inner = table_of(document, at[0])
    found = _put_at(inner, at[1:], table)
    if found or at[0] in document:
        document[at[0]] = found
    return document if document.get(at[0]) else {key: value for key, value in document.items() if key != at[0]}


class PieceChanged(Exception):  # noqa: N818 - named as a reader would say it
    """Somebody else changed the same piece since it was read; ``now`` is the run as it stands now."""

    def __init__(self, now: WetRun) -> None:
        self.now = now
        super().__init__(f"{now} was changed in the meantime")


def digest_of(piece: Document) -> str:
    """Return the hash of a piece, to tell whether it is still as it was read."""
    return sha256(document_text(piece).encode()).hexdigest()[:20]


def keep_piece(wet_run: WetRun, desk: Desk, test: YardTest, typed: Document, *, read: str) -> WetRun:
    """Keep the piece of an open wet run that is typed at one test.

    Parameters
    ----------
    wet_run : WetRun
        Of the person's branch.
    desk : Desk
        Who does it.
    test : YardTest
        Which.
    typed : dict
        The piece as it is to be.
    read : str
        Hash of the piece as it was read, from `digest_of`.

    Returns
    -------
    WetRun
        As it is now.

    Raises
    ------
    RunProven
        If the run takes no more readings.
    PieceChanged
        If somebody else changed this piece; then nothing is kept.
    """
    piece = PIECES[test.key]
    with transaction.atomic():
        now = WetRun.objects.select_for_update(of=("self",)).select_related("branch", "machine").get(pk=wet_run.pk)
        if not now.is_open:
            raise RunProven
        before = piece.cut(document_of(now))
        if digest_of(before) != read:
            raise PieceChanged(now)
        if typed == before:
            return now
        now.document = piece.put(now.document, typed)
        # What was typed reading by reading at this test is in the piece now, and must not be laid over it again.
        now.settled = {**now.settled, test.key: last_number(now)}
        what = _("%(test)s written down") % {"test": test.title}
        return kept(with_columns(now), desk, what, before=before, after=typed)


def with_columns(wet_run: WetRun) -> WetRun:
    """Return a wet run whose columns say what its document says: title, day, technician, units."""
    document = wet_run.document
    on = document.get("on")
    wet_run.title = str(document.get("title", "") or wet_run.title)[:200]
    wet_run.on = on if isinstance(on, date) and not isinstance(on, datetime) else None
    wet_run.technician = str(document.get("technician", ""))[:200]
    if document.get("units") in {"us", "si"}:
        wet_run.units = document["units"]
    return wet_run


def _of_run(entry: type[Entry], *keys: str) -> Layout:
    """The words the whole file has for some of its tables."""
    whole = LAYOUT.face(WetRunEntry)
    return LAYOUT.joined(Layout({entry: Face(first={key: say for key in keys if (say := whole.say(key))})}))


def _gates() -> Layout:
    """Every answer to a gate stands at the gate: that it is not safe must not be hidden under More."""
    face = LAYOUT.face(GateEntry)
    return LAYOUT.joined(Layout({GateEntry: replace(face, first={**face.first, **face.more}, more={})}))


PIECES: Final[Mapping[str, Piece]] = {
    "gates": Piece(entry=GatesEntry, at=("gates",), layout=_gates()),
    "tips": Piece(
        entry=HeadPiece,
        only=("title", "on", "technician", "pass", "tips"),
        layout=_of_run(HeadPiece, "title", "on", "technician", "pass", "tips"),
    ),
    "monitor": Piece(entry=MonitorEntry, at=("monitor",)),
    "course": Piece(entry=CoursePiece, at=("course",)),
    "meter": Piece(entry=MeterPiece, at=("meter",)),
    "catch": Piece(entry=CatchEntry, at=("catch",), without=("readings", "swap", "low")),
    "low-duty": Piece(entry=LowDutyEntry, at=("catch", "low"), without=("readings",)),
    "swaps": Piece(
        entry=SwapsPiece,
        at=("catch",),
        only=("swap",),
        layout=LAYOUT.joined(Layout({SwapsPiece: Face(first={"swap": LAYOUT.face(CatchEntry).more["swap"]})})),
    ),
    "pressure": Piece(entry=PressurePiece, at=("pressure",)),
    "steady": Piece(entry=SteadyPiece, only=("steady",), layout=_of_run(SteadyPiece, "steady")),
    "ramp": Piece(entry=RampPiece, at=("ramp",)),
    "sections": Piece(
        entry=SectionsPiece, only=("section", "timing"), layout=_of_run(SectionsPiece, "section", "timing")
    ),
    "screen": Piece(entry=ScreenEntry, at=("screen",)),
    "evenness": Piece(entry=EvennessEntry, at=("evenness",)),
    "doubts": Piece(entry=DoubtsEntry, at=("doubts",)),
}
"""What is typed at each test, by the test's key."""
