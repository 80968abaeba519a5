"""A page with a sheet: when it may be kept, what happens if somebody else was quicker, and keeping it unfinished."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.utils.translation import gettext as _

from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.pages.form_tools import changed_words
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models.base import BranchRecord, Changed
from wetrun.shop.typed.sheet import Sheet

UNFINISHED = "unfinished"


def read_version(request: DeskRequest, record: BranchRecord) -> int:
    """Return the version of a record that a page was filled from; its own if the page does not say."""
    sent = request.POST.get("version", "")
    return int(sent) if sent.isascii() and sent.isdigit() and len(sent) < 10 else record.version


class SheetPage:
    """A sheet on its way from the browser to a record.

    Parameters
    ----------
    request : DeskRequest
        What was sent, and by whom.
    record : BranchRecord
        What the sheet is a part of.
    sheet : Sheet
        Filled from the record, or with what was sent.

    Attributes
    ----------
    version : int
        Version of the record the sheet was filled from.
    """

    def __init__(self, request: DeskRequest, record: BranchRecord, sheet: Sheet) -> None:
        self.request, self.record, self.sheet = request, record, sheet
        self.version = read_version(request, record)

    def may_keep(self) -> bool:
        """Return whether what was sent may be kept: all is right with it, or it is to be kept unfinished."""
        if self.request.method != "POST" or self.sheet.wants_more:
            return False
        return self.sheet.is_ok() or UNFINISHED in self.request.POST

    def keep(self, settle: Callable[[], BranchRecord], what: str, *, before: Any = None) -> bool:  # noqa: ANN401
        """Keep a record with its document changed.

        Parameters
        ----------
        settle : callable
            Returns the record with all that follows from its document, not saved.
        what : str
            What was done, for the trail.
        before : document
            What stood there before.

        Returns
        -------
        bool
            False if somebody else was quicker: the sheet then says so and shows what was typed.
        """
        record = settle()
        try:
            kept(record, self.request.desk, what, expected=self.version, before=before, after=self.record_document())
        except Changed as changed:
            self.sheet.problems.append(changed_words(changed.now))
            if changed.now.version == self.record.version:  # what the sheet was filled from stands there
                self.sheet.show_what_stands()
            self.version = changed.now.version
            return False
        messages.success(self.request, _("Kept."))
        return True

    def record_document(self) -> Any:  # noqa: ANN401 - a document
        """Return the document as it will be kept."""
        return getattr(self.record, "document", None)
