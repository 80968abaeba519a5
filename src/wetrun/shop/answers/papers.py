"""Papers of records, set from the data that was kept: printed today or in a year, they say the same."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.utils.translation import gettext as _

from wetrun.errors import NotDefined
from wetrun.papers.changeover_paper import changeover_pdf_of
from wetrun.papers.load_sheet import load_sheet_pdf
from wetrun.papers.papers import Paper, card_pdf, pass_names, plan_pdf_of
from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_paper import wet_run_pdf_of
from wetrun.quantity import System
from wetrun.shop.answers.loads import load_sheets_of
from wetrun.shop.records.models import Changeover, Season, TipPlan, WetRun

Record = TipPlan | Season | WetRun | Changeover
File = tuple[str, bytes]


@dataclass(frozen=True, slots=True, kw_only=True)
class Print:
    """How a paper is wanted.

    Attributes
    ----------
    system : System
        The reader's unit system.
    paper : Paper
        Size of the pages.
    shop : str
        Name of the shop on it.
    of_pass : str
        Which pass, for a cab card, a load sheet or lanes.
    unproven : tuple of str
        What a cab card says is no longer proven, or not yet.
    code : mapping or None
        For a cab card that carries a link: ``code_svg``, its square code, and ``words`` beside it.
    """

    system: System
    paper: Paper
    shop: str
    of_pass: str = ""
    unproven: tuple[str, ...] = ()
    code: Mapping[str, str] | None = None


def paper_of(record: Record, which: str, *, system: System, size: Paper | str, shop: str, of_pass: str = "") -> File:
    """Return a paper of a record.

    Parameters
    ----------
    record : TipPlan, Season, WetRun or Changeover
        Of a season only load sheets, which are worked out anew; of the others what was kept.
    which : str
        One of `PAPERS`: "tip plan", "cab card", "lanes", "load sheet", "wet run", "boom", "changeover", "first acres".
    system : System
        The reader's unit system.
    size : Paper or str
        "letter" or "a4".
    shop : str
        Name of the shop on it.
    of_pass : str
        Name of the pass, for a cab card, lanes or a load sheet.

    Returns
    -------
    tuple of str and bytes
        Name of the file, and a PDF or SVG.

    Raises
    ------
    NotDefined
        If the record has no such paper.
    WetrunError
        For a load sheet, whatever is wrong with the season.
    """
    kind, make = PAPERS.get(which, (None, None))
    if kind is None or make is None or not isinstance(record, kind):
        raise _none(which, _("this record has no such paper"))
    return make(record, Print(system=system, paper=Paper(size), shop=shop, of_pass=of_pass))


def _tip_plan(plan: TipPlan, wanted: Print) -> File:
    return "tip-plan.pdf", plan_pdf_of({**_data(plan, wanted), "shop": wanted.shop}, wanted.paper)


def cab_card(plan: TipPlan, wanted: Print) -> File:
    """Return the cab card of one pass, with what is not proven on the machine by now."""
    name, card = card_of(plan, wanted)
    return f"cab-card-{name}.pdf", card_pdf(card, wanted.paper)


def card_of(plan: TipPlan, wanted: Print) -> tuple[str, dict[str, Any]]:
    """Return what the cab card of one pass says: the data that paper and page are both made of.

    Parameters
    ----------
    plan : TipPlan
        As it was kept.
    wanted : Print
        Whose units, and which pass.

    Returns
    -------
    tuple of str and dict
        A plain name for a file, and the card as `wetrun.papers.card_data` makes it.

    Raises
    ------
    NotDefined
        If the plan has no such pass, or no tip set was found for it.
    """
    data = _data(plan, wanted)
    at, name = _pass(data, wanted)
    card = data["cards"][at]
    if card is None:
        raise _none("cab card", _("no tip set was found for this pass"))
    return name, {**card, "unproven": list(wanted.unproven), "link": dict(wanted.code) if wanted.code else None}


def _lanes(plan: TipPlan, wanted: Print) -> File:
    data = _data(plan, wanted)
    at, name = _pass(data, wanted)
    return f"lanes-{name}-{wanted.system.value}.svg", _picture("lanes", data["lanes"][at])


def _load_sheet(season: Season, wanted: Print) -> File:
    sheet = load_sheets_of(season, Reader(wanted.system), wanted.of_pass)[0]
    (name,) = pass_names([sheet["name"]])
    return f"load-sheet-{name}.pdf", load_sheet_pdf(sheet, wanted.paper)


def _wet_run(wet_run: WetRun, wanted: Print) -> File:
    return "wet-run.pdf", wet_run_pdf_of({**_data(wet_run, wanted), "shop": wanted.shop}, wanted.paper)


def _boom(wet_run: WetRun, wanted: Print) -> File:
    boom = _data(wet_run, wanted)["boom"]
    return f"boom-{wanted.system.value}.svg", _picture("boom", boom["picture_svg"] if boom else "")


def _changeover(changeover: Changeover, wanted: Print) -> File:
    return "changeover.pdf", changeover_pdf_of({**_data(changeover, wanted), "shop": wanted.shop}, wanted.paper)


def _first_acres(changeover: Changeover, wanted: Print) -> File:
    picture = _data(changeover, wanted)["picture_svg"]
    return f"first-acres-{wanted.system.value}.svg", _picture("first acres", picture)


PAPERS: Final[Mapping[str, tuple[type[Any], Callable[[Any, Print], File]]]] = {
    "tip plan": (TipPlan, _tip_plan),
    "cab card": (TipPlan, cab_card),
    "lanes": (TipPlan, _lanes),
    "load sheet": (Season, _load_sheet),
    "wet run": (WetRun, _wet_run),
    "boom": (WetRun, _boom),
    "changeover": (Changeover, _changeover),
    "first acres": (Changeover, _first_acres),
}
"""Every paper: whose it is, and what makes it."""


def _data(record: TipPlan | WetRun | Changeover, wanted: Print) -> dict[str, Any]:
    data = record.in_us if wanted.system is System.US else record.in_si
    if data is None:
        raise _none(str(record), _("nothing was worked out yet"))
    return dict(data)


def _pass(data: Mapping[str, Any], wanted: Print) -> tuple[int, str]:
    """Place and plain file name of the pass that is wanted."""
    idents = [one["name"] for one in data["passes"]]
    if wanted.of_pass not in idents:
        raise _none(wanted.of_pass, _("the plan has no such pass"))
    at = idents.index(wanted.of_pass)
    return at, pass_names(idents)[at]


def _picture(thing: str, svg: str) -> bytes:
    if not svg:
        raise _none(thing, _("there is no such picture"))
    return svg.encode()


def _none(thing: str, reason: str) -> NotDefined:
    return NotDefined(thing, reason=reason, remedy=_("Work it out first, or choose another paper"))
