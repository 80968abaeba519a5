"""Parts lists: of the branch over all machines, and of one machine; how far each order is; files for a spreadsheet."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from typing import Any, Final

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from wetrun.fleet.parts import parts_list
from wetrun.papers.words import GENERIC_CAUTION
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.parts import NOT_COUNTED, PlanParts, branch_parts, cost_of, machine_parts
from wetrun.shop.answers.parts_files import parts_csv, parts_xlsx
from wetrun.shop.answers.parts_orders import DONE, Moved, take_down
from wetrun.shop.pages.listing import page_of
from wetrun.shop.records.models import Machine, TipPlan
from wetrun.shop.records.models.season import PARTS_STATES

STATES: Final = dict(PARTS_STATES)
NEXT: Final = {"needed": "ordered", "ordered": "here"}
"""What can be taken down for everything on the list at once."""
XLSX: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_SEEN: Final = re.compile(r"(\d{1,18}):(\d{1,9})")


@asks(Act.LOOK, to_post=Act.PLAN)
def parts(request: DeskRequest) -> HttpResponse:
    """Show what has to be bought over all machines; sent back, everything shown is ordered, or here."""
    if request.method == "POST":
        return _taken_down_at_once(request)
    found, without_plan = branch_parts(request.desk)
    state = _state(request)
    shown = _of_state(found, state)
    told = {
        "states": _counted(found),
        "state": state,
        "next": NEXT.get(state, "") if shown else "",
        "lines": [_line(line) for line in parts_list(order for one in shown for order in one.orders)],
        "shown": shown,
        "page": page_of(request, shown),
        "without_plan": without_plan,
    }
    return render(request, "parts_list/branch.html", told | _sums(shown))


@asks(Act.LOOK, machine=Machine)
def machine_parts_page(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Show what has to be bought for one machine."""
    found = machine_parts(machine)
    return render(request, "parts_list/machine.html", {"machine": machine, "plans": found} | _sums(found))


@asks(Act.LOOK, to_post=Act.ENTER, tip_plan=TipPlan)
def plan_parts(request: DeskRequest, tip_plan: TipPlan) -> HttpResponse:
    """Take down how far the tips of one plan are; to be looked at, they stand on the page of the machine."""
    back = "parts" if request.POST.get("back") == "parts" else "machine-parts"
    if request.method == "POST":
        state, versions = request.POST.get("state", ""), _seen(request.POST.get("plan", ""))
        if state in DONE and set(versions) == {tip_plan.pk}:
            _tell(request, take_down(request.desk, versions, state), state)
    if back == "parts":
        return redirect("parts")
    return redirect(back, machine=tip_plan.season.machine_id)


@asks(Act.LOOK)
def parts_csv_file(request: DeskRequest) -> HttpResponse:
    """Hand out the branch's parts list as CSV."""
    return _csv(request, _of_state(branch_parts(request.desk)[0], _state(request)), "parts.csv")


@asks(Act.LOOK)
def parts_xlsx_file(request: DeskRequest) -> HttpResponse:
    """Hand out the branch's parts list as a workbook."""
    return _file(parts_xlsx(_of_state(branch_parts(request.desk)[0], _state(request))), "parts.xlsx", XLSX)


@asks(Act.LOOK, machine=Machine)
def machine_parts_csv_file(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Hand out a machine's parts list as CSV."""
    return _csv(request, machine_parts(machine), f"parts {machine.name}.csv")


@asks(Act.LOOK, machine=Machine)
def machine_parts_xlsx_file(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Hand out a machine's parts list as a workbook."""
    del request
    return _file(parts_xlsx(machine_parts(machine)), f"parts {machine.name}.xlsx", XLSX)


def _state(request: DeskRequest) -> str:
    """The state that is asked for: what is to be ordered, unless the address says otherwise; empty for all."""
    asked = request.GET.get("state", "needed")
    return asked if asked in STATES else ""


def _of_state(found: Sequence[PlanParts], state: str) -> tuple[PlanParts, ...]:
    return tuple(one for one in found if state in {"", one.plan.parts_state})


def _counted(found: Sequence[PlanParts]) -> list[dict[str, Any]]:
    counts = Counter(one.plan.parts_state for one in found)
    rows = [{"state": state, "words": words, "count": counts[state]} for state, words in PARTS_STATES]
    return [*rows, {"state": "all", "words": _("all"), "count": len(found)}]


def _line(line: Any) -> dict[str, Any]:  # noqa: ANN401 - a line of `wetrun.fleet.parts`
    generic = any(order.tip.generic for order in line.orders)
    return {"tip": line, "cost": cost_of(line.orders), "generic": generic}


def _sums(found: Sequence[PlanParts]) -> dict[str, Any]:
    orders = [order for one in found for order in one.orders]
    generic = any(order.tip.generic for order in orders)
    return {
        "count": sum(order.count for order in orders),
        "cost": cost_of(orders),
        "caution": GENERIC_CAUTION if generic else "",
        "not_counted": NOT_COUNTED,
    }


def _taken_down_at_once(request: DeskRequest) -> HttpResponse:
    state, versions = request.POST.get("state", ""), _seen(request.POST.get("plans", ""))
    if state in DONE and versions:
        _tell(request, take_down(request.desk, versions, state), state)
    return redirect("parts")


def _seen(text: str) -> dict[int, int]:
    """Plans that were looked at, with the version that was seen, as the page sends them: ``12:3 15:1``."""
    return {int(found[1]): int(found[2]) for part in text.split() if (found := _SEEN.fullmatch(part))}


def _tell(request: DeskRequest, moved: Moved, state: str) -> None:
    if moved.done:
        words = ngettext(
            "Taken down for %(n)d machine: %(state)s.",
            "Taken down for %(n)d machines: %(state)s.",
            n := len(moved.done),
        )
        messages.success(request, words % {"n": n, "state": STATES[state]})
    if moved.left:
        names = ", ".join(plan.season.machine.name for plan in moved.left)
        words = _("Left as it was, because a new plan was made or somebody else was quicker: %(names)s. Look again.")
        messages.warning(request, words % {"names": names})


def _csv(request: DeskRequest, found: Sequence[PlanParts], name: str) -> HttpResponse:
    content = parts_csv(found, mark="plain" not in request.GET, decimal_comma="comma" in request.GET)
    return _file(content, name, "text/csv; charset=utf-8")


def _file(content: bytes, name: str, kind: str) -> HttpResponse:
    offered = content_disposition_header(as_attachment=True, filename=name)
    return HttpResponse(
        content, content_type=kind, headers={"Content-Disposition": offered, "Cache-Control": "private"}
    )


addresses = [
    path("parts/", parts, name="parts"),
    path("parts/parts.csv", parts_csv_file, name="parts-csv"),
    path("parts/parts.xlsx", parts_xlsx_file, name="parts-xlsx"),
    path("machines/<int:machine>/parts/", machine_parts_page, name="machine-parts"),
    path("machines/<int:machine>/parts/parts.csv", machine_parts_csv_file, name="machine-parts-csv"),
    path("machines/<int:machine>/parts/parts.xlsx", machine_parts_xlsx_file, name="machine-parts-xlsx"),
    path("tip-plans/<int:tip_plan>/parts/", plan_parts, name="plan-parts"),
]
