"""A person's data: handed over as a file, or erased for good."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.shop.accounts.access import asks, asks_person
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.models import Membership
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.photos import photo_files
from wetrun.shop.records.erasure import (
    check_person_erasable,
    customer_erased,
    customer_erasing,
    person_erased,
    person_pseudonym,
)
from wetrun.shop.records.models import Customer
from wetrun.shop.records.people import check_is_ones_own
from wetrun.shop.records.personal_data import customer_data, person_data
from wetrun.shop.records.trail import told

_ABOUT = gettext_lazy(
    "data.json holds every row the shop keeps of this person or customer, by kind, with the columns as they are kept. "
    "Numbers that were typed stand there as typed. Dates are year-month-day; moments carry their offset from UTC. "
    "The folder photos holds the photos of handovers under the keys they have there.\n"
)


class EraseForm(forms.Form):
    """A yes that nobody says by accident."""

    name = forms.CharField(label=gettext_lazy("type the name to erase it"), max_length=200)
    also = forms.CharField(
        label=gettext_lazy("other ways the name was written"),
        help_text=gettext_lazy("one a line, such as a short form in titles or file names; they are replaced too"),
        widget=forms.Textarea(attrs={"rows": 3}),
        max_length=2000,
        required=False,
    )

    def __init__(self, *args: Any, whose: str, **more: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **more)
        self.whose = whose

    def clean_name(self) -> str:
        """Refuse another name than that of the page."""
        typed = str(self.cleaned_data["name"])
        if typed.split() != self.whose.split():
            raise ValidationError(_("This page erases “%(name)s”. Type that, or leave it.") % {"name": self.whose})
        return typed

    def clean_also(self) -> tuple[str, ...]:
        """Return each line as one way."""
        return tuple(line.strip() for line in self.cleaned_data["also"].splitlines() if line.strip())


@asks(Act.MANAGE, customer=Customer)
def customer_export(request: DeskRequest, customer: Customer) -> HttpResponse:
    """Hand over everything kept of a customer."""
    told(customer, "data handed over", request.desk.user)
    return _zipped(customer_data(customer), f"customer-{customer.pk}", photo_files(customer))


@asks(Act.MANAGE, posts=True, customer=Customer)
def customer_erase(request: DeskRequest, customer: Customer) -> HttpResponse:
    """Say what erasing will do, and do it."""
    form = EraseForm(request.POST or None, whose=customer.name)
    if request.method == "POST" and form.is_valid():
        try:
            customer_erased(request.desk, customer, form.cleaned_data["also"])
        except ValidationError as why_not:
            form.add_error(None, why_not)
        else:
            messages.success(request, _("The data is erased. The records stay as those of “%s”.") % customer.name)
            return redirect("customer", customer=customer.pk)
    context = {"form": form, "customer": customer, "erasing": customer_erasing(customer)}
    return render(request, "personal/customer_erase.html", context)


@asks(Act.MANAGE, place=Membership)
def person_export(request: DeskRequest, place: Membership) -> HttpResponse:
    """Hand over everything kept of somebody of the branch."""
    try:
        check_is_ones_own(request.desk, place.user)
    except ValidationError as why_not:
        raise PermissionDenied(why_not.message) from None
    told(place.user, "data handed over", request.desk.user, branch=place.branch)
    return _zipped(person_data(place.user), f"person-{place.user.pk}")


@asks(Act.MANAGE, posts=True, place=Membership)
def person_erase(request: DeskRequest, place: Membership) -> HttpResponse:
    """Say what erasing will do, and do it."""
    person = place.user
    form = EraseForm(request.POST or None, whose=person.name)
    try:
        check_person_erasable(request.desk, person)
        if request.method == "POST" and form.is_valid():
            person_erased(request.desk, person, form.cleaned_data["also"])
            messages.success(request, _("The data is erased. What was measured stays as that of “%s”.") % person.name)
            return redirect("people")
        why_not = None
    except ValidationError as refused:
        why_not = refused
    context = {"form": form, "place": place, "pseudonym": person_pseudonym(person), "why_not": why_not}
    return render(request, "personal/person_erase.html", context)


@asks_person()
def my_data(request: DeskRequest) -> HttpResponse:
    """Hand somebody everything kept of themselves."""
    return _zipped(person_data(request.desk.user), "my-data")


def _zipped(document: dict[str, Any], name: str, files: Mapping[str, Path] | None = None) -> HttpResponse:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("about.txt", str(_ABOUT))
        archive.writestr("data.json", json.dumps(document, ensure_ascii=False, indent=1))
        for inside, place in (files or {}).items():
            archive.write(place, inside)
    answer = HttpResponse(held.getvalue(), content_type="application/zip")
    answer["Content-Disposition"] = f'attachment; filename="{name}.zip"'
    return answer


addresses = [
    path("customers/<int:customer>/export/", customer_export, name="customer-export"),
    path("customers/<int:customer>/erase/", customer_erase, name="customer-erase"),
    path("people/<int:place>/export/", person_export, name="person-export"),
    path("people/<int:place>/erase/", person_erase, name="person-erase"),
    path("my-data/", my_data, name="my-data"),
]
