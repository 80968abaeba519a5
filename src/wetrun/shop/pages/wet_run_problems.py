"""What keeps a wet run from being judged, in words of a page and with the field where it is put right."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.urls import reverse

from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.answers.wet_run_pieces import PIECES
from wetrun.shop.answers.wet_run_tests import TESTS, YardTest, yard_test_at
from wetrun.shop.pages.wet_run_sheet import problems_in, sheet_at
from wetrun.shop.records.models import WetRun
from wetrun.shop.typed.page_words import page_words


def problems_told(request: DeskRequest, wet_run: WetRun, document: dict[str, Any]) -> Iterator[dict[str, str]]:
    """Yield what keeps a run from being judged, in words of a page.

    Parameters
    ----------
    request : DeskRequest
        In whose units.
    wet_run : WetRun
        The run, as it was looked at last.
    document : dict
        Its document, readings laid in.

    Yields
    ------
    dict
        ``test`` and ``field`` it is about, what is ``said``, and the ``address`` of the field; empty where it belongs
        to no test.
    """
    for test in TESTS:
        found = list(problems_in(wet_run, PIECES[test.key]))
        if found:
            sheet = sheet_at(request, wet_run, test, document, sent=False)
            sheet.lay(found)
            address = address_of(wet_run, test)
            for one in sheet.wrong:
                at = f"{address}#{one.at}" if one.at else address
                yield {"test": str(test.title), "field": one.where, "said": str(one.words), "address": at}
    for one in wet_run.problems or []:
        owner = yard_test_at(one["key"])
        if owner is None or not PIECES[owner.key].key_of(one["key"]):
            yield _of_no_sheet(wet_run, owner, one)


def _of_no_sheet(wet_run: WetRun, test: YardTest | None, one: dict[str, str]) -> dict[str, str]:
    """A problem of something that is on no sheet: what a single tip gave, the season, the machine."""
    said = page_words(one["limit"], one["remedy"]) if one["limit"] else one["words"]
    field = f"{one['key']} ({one['value']})" if one["value"] else one["key"]
    title = "" if test is None else str(test.title)
    return {"test": title, "field": field, "said": said, "address": "" if test is None else address_of(wet_run, test)}


def address_of(wet_run: WetRun, test: YardTest) -> str:
    """Return where a test of a run is typed; empty once nothing is typed any more."""
    return reverse("wet-run-test", kwargs={"wet_run": wet_run.pk, "test": test.key}) if wet_run.is_open else ""
