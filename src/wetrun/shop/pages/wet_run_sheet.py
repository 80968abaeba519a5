"""The sheet of one test of a wet run: filled from the run, kept into it, and what to say if somebody was quicker."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from django.utils.translation import gettext as _

from wetrun.errors import Problem
from wetrun.quantity import System
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.answers.run_document import caught, table_of
from wetrun.shop.answers.wet_run_pieces import PIECES, Piece, PieceChanged, digest_of, keep_piece
from wetrun.shop.answers.wet_run_tests import YardTest
from wetrun.shop.answers.wet_runs import document_of
from wetrun.shop.pages.form_tools import changed_words
from wetrun.shop.pages.season_sheet import passes_of
from wetrun.shop.pages.sheet_keeping import UNFINISHED
from wetrun.shop.pages.tip_names import tip_idents
from wetrun.shop.records.models import Catalogue, WetRun
from wetrun.shop.typed.nodes import Field, Node
from wetrun.shop.typed.sheet import Sheet

FILE: Final = "wetrun.toml"
READ: Final = "read"
"""Name of the box that holds the hash of the piece a page was filled from."""
_NOTHING_CAUGHT: Final = {"1": ""}


@dataclass(slots=True)
class PieceSheet:
    """A test's sheet on its way from the browser to the run.

    Attributes
    ----------
    request : DeskRequest
        What was sent, and by whom.
    wet_run : WetRun
        The run.
    test : YardTest
        Which test.
    sheet : Sheet
        Filled from the run, with what was sent laid over it.
    read : str
        Hash of the piece the page was filled from.
    sent : bool
        Whether this sheet was sent.
    """

    request: DeskRequest
    wet_run: WetRun
    test: YardTest
    sheet: Sheet
    read: str
    sent: bool

    def keeps(self) -> bool:
        """Keep what was sent if it may be kept; False if the page has to be shown again.

        Raises
        ------
        RunProven
            If the run takes no more readings.
        """
        if not self.sent or self.sheet.wants_more:
            return False
        if not (self.sheet.is_ok() or UNFINISHED in self.request.POST):
            return False
        try:
            keep_piece(self.wet_run, self.request.desk, self.test, self.sheet.document, read=self.read)
        except PieceChanged as changed:
            self._say_changed(changed.now)
            return False
        return True

    def _say_changed(self, now: WetRun) -> None:
        """Say that somebody was quicker: what was typed stays, and what stands there now is shown at each field."""
        document = document_of(now)
        as_it_is = sheet_at(self.request, now, self.test, document, sent=False)
        stands = {one.name: one.text for one in _fields(as_it_is.root)}
        self.sheet = sheet_at(self.request, now, self.test, document, sent=True)
        self.sheet.problems.append(changed_words(now))
        mine = {one.name: one for one in _fields(self.sheet.root)}
        for name, text in stands.items():
            if name not in mine:
                self.sheet.problems.append(
                    _("A row that you do not have now stands there: %(value)s") % {"value": text}
                )
            elif mine[name].text.strip() != text.strip():
                mine[name].problems.append(_("Now stands there: %(value)s") % {"value": text or _("nothing")})
        self.wet_run, self.read = now, digest_of(PIECES[self.test.key].cut(document))


def sheet_of_test(request: DeskRequest, told: dict[str, Any], test: YardTest, *, sent: bool) -> PieceSheet:
    """Return the sheet of a test, with what keeps the run from being judged at its fields.

    Parameters
    ----------
    request : DeskRequest
        What was sent, and in whose units.
    told : dict
        What the page is told of the run; an open one.
    test : YardTest
        Which.
    sent : bool
        Whether what was sent is this sheet.

    Returns
    -------
    PieceSheet
        Ready to be kept or shown.
    """
    piece, wet_run, document = PIECES[test.key], told["wet_run"], told["document"]
    raw = piece.cut(document)
    sheet = sheet_at(request, wet_run, test, document, sent=sent)
    if not sent:
        sheet.lay(problems_in(wet_run, piece))
    read = request.POST.get(READ, "") if sent else digest_of(raw)
    return PieceSheet(request, wet_run, test, sheet, read, sent)


def typed_rows(request: DeskRequest, wet_run: WetRun, test: YardTest) -> Iterator[tuple[str, str]]:
    """Yield what was typed at a test, for looking at: names on the way to it, and what stands there.

    Parameters
    ----------
    request : DeskRequest
        In whose units.
    wet_run : WetRun
        The run.
    test : YardTest
        Which.

    Yields
    ------
    tuple of str and str
        In the order of the sheet; blanks left out. What single tips gave follows by position.
    """
    piece, document = PIECES[test.key], document_of(wet_run)
    for one in _fields(sheet_at(request, wet_run, test, document, sent=False).root):
        if one.is_filled and one.text:
            yield " – ".join(str(each) for each in one.trail), one.text
    if "readings" in piece.without:
        unit = table_of(document, *piece.at).get("unit", "")
        for tip, text in caught(table_of(document, *piece.at).get("readings")).items():
            yield _("Tip %(tip)s") % {"tip": tip}, f"{text} {unit}".strip()


def sheet_at(request: DeskRequest, wet_run: WetRun, test: YardTest, document: dict[str, Any], *, sent: bool) -> Sheet:
    """Return the sheet of a test, filled from a run's document, with what was sent laid over it if it was."""
    piece = PIECES[test.key]
    return Sheet(
        piece.entry,
        raw=piece.cut(document),
        layout=piece.layout.without(piece.entry, *piece.without),
        system=request.desk.system,
        written_in=System(wet_run.units),
        posted=request.POST if sent else None,
        file=FILE,
        beside=_beside(piece, document),
        offers=_offers(wet_run),
    )


def _beside(piece: Piece, document: dict[str, Any]) -> dict[str, Any]:
    """Readings that are typed elsewhere and that the entry wants to see."""
    if "readings" not in piece.without:
        return {}
    return {"readings": table_of(document, *piece.at).get("readings") or _NOTHING_CAUGHT}


def _offers(wet_run: WetRun) -> dict[str, list[str]]:
    known = list(Catalogue.objects.filter(branch=wet_run.branch_id, replaced_at=None).values_list("name", flat=True))
    passes = [] if wet_run.season is None else passes_of(wet_run.season)
    return {
        "tips": tip_idents(wet_run.branch_id),
        "catalogues": known,
        "passes": [str(one.get("name", "")) for one in passes],
    }


def problems_in(wet_run: WetRun, piece: Piece) -> Iterator[Problem]:
    """Yield what keeps a run from being judged, as far as it stands in a piece, by its key in there."""
    for one in wet_run.problems or []:
        key = piece.key_of(one["key"])
        if key:
            yield Problem(FILE, key, one["value"], one["limit"], one["remedy"])


def _fields(node: Node) -> Iterator[Field]:
    if isinstance(node, Field):
        yield node
    for each in node.inside():
        yield from _fields(each)
