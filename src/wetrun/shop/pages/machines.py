"""A machine as it is typed: a new one of a customer, and changes to one that is there."""

from __future__ import annotations

from typing import Any, Final

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.documents.load_entry import FilledMachineEntry
from wetrun.quantity import System
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.pages.sheet_keeping import SheetPage
from wetrun.shop.pages.tip_names import tip_idents
from wetrun.shop.records.models import Customer, Machine
from wetrun.shop.typed.sheet import Sheet

SPACINGS: Final = {System.US: "20 in", System.SI: "50 cm"}


def first_document(system: System) -> dict[str, Any]:
    """Return what a new machine's sheet begins with: the usual spacing and sections, a flow-meter loop, no name."""
    return {
        "boom": {"spacing": SPACINGS[system], "sections": [9, 9, 9, 9, 9, 9]},
        "control": {"loop": "flow meter"},
    }


@asks(Act.PLAN, posts=True, customer=Customer)
def machine_new(request: DeskRequest, customer: Customer) -> HttpResponse:
    """Take down a new machine of a customer."""
    system = request.desk.system
    machine = Machine(customer=customer, document=first_document(system), units=system.value)
    return _answer(request, machine, _("taken down"))


@asks(Act.PLAN, posts=True, machine=Machine)
def machine_edit(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Change a machine."""
    return _answer(request, machine, _("changed"))


def _answer(request: DeskRequest, machine: Machine, what: str) -> HttpResponse:
    page = SheetPage(request, machine, _sheet(request, machine))
    if page.sheet.is_ok() and _has_its_own_name(page.sheet, machine):
        before, machine.document = (machine.document if machine.pk else None), page.sheet.document
        if page.keep(lambda: machine, what, before=before):
            return redirect("machine", machine=machine.pk)
    return render(request, "machines/edit.html", {"machine": machine, "page": page, "sheet": page.sheet})


def _sheet(request: DeskRequest, machine: Machine) -> Sheet:
    return Sheet(
        FilledMachineEntry,
        raw=machine.document,
        system=request.desk.system,
        written_in=System(machine.units),
        posted=request.POST if request.method == "POST" else None,
        prefix="machine",
        file="season.toml",
        offers={"tips": tip_idents(machine.customer.branch_id)},
    )


def _has_its_own_name(sheet: Sheet, machine: Machine) -> bool:
    """Whether no other machine of the customer is called that; otherwise the sheet says so."""
    name = " ".join(str(sheet.document["name"]).split())
    if not machine.customer.machines.filter(name__iexact=name).exclude(pk=machine.pk).exists():
        return True
    sheet.say("name", _("Another machine of this customer is called that. Add what tells them apart."))
    return False


addresses = [
    path("customers/<int:customer>/machines/new/", machine_new, name="machine-new"),
    path("machines/<int:machine>/edit/", machine_edit, name="machine-edit"),
]
