"""Customers: the list, one customer with machines, and the form."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import Desk, DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.pages.form_tools import VersionedForm
from wetrun.shop.pages.listing import page_of
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Customer
from wetrun.shop.records.models.base import Changed


class CustomerForm(VersionedForm):
    """What is kept of a customer."""

    class Meta:
        model = Customer
        fields = ("name", "person", "phone", "email", "place", "remarks")

    def __init__(self, *args: object, desk: Desk, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.desk = desk

    def clean_name(self) -> str:
        """Refuse a name another customer of the branch has."""
        name = " ".join(self.cleaned_data["name"].split())
        if Customer.objects.of(self.desk).filter(name__iexact=name).exclude(pk=self.instance.pk).exists():
            self.add_error("name", _("Another customer of this branch is called that. Add a place to tell them apart."))
        return name


@asks(Act.LOOK)
def customers(request: DeskRequest) -> HttpResponse:
    """Show the customers of the branch."""
    asked = request.GET.get("q", "").strip()
    found = Customer.objects.of(request.desk).annotate(machine_count=Count("machines")).order_by("name", "pk")
    if asked:
        found = found.filter(Q(name__icontains=asked) | Q(place__icontains=asked) | Q(person__icontains=asked))
    return render(request, "customers/list.html", {"page": page_of(request, found), "asked": asked})


@asks(Act.LOOK, customer=Customer)
def customer_page(request: DeskRequest, customer: Customer) -> HttpResponse:
    """Show one customer."""
    machines = customer.machines.all()
    return render(request, "customers/page.html", {"customer": customer, "machines": machines})


@asks(Act.PLAN, posts=True)
def customer_new(request: DeskRequest) -> HttpResponse:
    """Take down a new customer."""
    return _answer(request, Customer(), _("taken down"))


@asks(Act.PLAN, posts=True, customer=Customer)
def customer_edit(request: DeskRequest, customer: Customer) -> HttpResponse:
    """Change what is kept of a customer."""
    return _answer(request, customer, _("changed"))


def _answer(request: DeskRequest, customer: Customer, what: str) -> HttpResponse:
    form = CustomerForm(request.POST or None, instance=customer, desk=request.desk)
    if request.method == "POST" and form.is_valid():
        try:
            kept(form.instance, request.desk, what, expected=form.read_version)
        except Changed as changed:
            form.say_changed(changed)
        else:
            messages.success(request, _("“%(name)s” is kept.") % {"name": form.instance})
            return redirect("customer", customer=form.instance.pk)
    return render(request, "customers/edit.html", {"form": form, "customer": customer})


addresses = [
    path("customers/", customers, name="customers"),
    path("customers/new/", customer_new, name="customer-new"),
    path("customers/<int:customer>/", customer_page, name="customer"),
    path("customers/<int:customer>/edit/", customer_edit, name="customer-edit"),
]
