"""The branches, for whoever looks after all of them."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import asks_group
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.models import Branch
from wetrun.shop.pages.account_forms import BranchForm
from wetrun.shop.pages.listing import page_of
from wetrun.shop.records.branches import branch_changed, branch_made


@asks_group()
def branches(request: DeskRequest) -> HttpResponse:
    """Show every branch."""
    can_sign_in = Count("memberships", filter=Q(memberships__user__is_active=True))
    found = Branch.objects.annotate(people=can_sign_in).order_by("name", "pk")
    return render(request, "accounts/branches.html", {"page": page_of(request, found)})


@asks_group(posts=True)
def branch_new(request: DeskRequest) -> HttpResponse:
    """Make a branch; whoever makes it is its first manager."""
    form = BranchForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        branch = branch_made(request.desk, form.save(commit=False))
        messages.success(request, _("“%(name)s” is kept, and you are its manager.") % {"name": branch.name})
        return redirect("branches")
    return render(request, "accounts/branch_edit.html", {"form": form, "branch": None})


@asks_group(posts=True, place=Branch)
def branch_edit(request: DeskRequest, place: Branch) -> HttpResponse:
    """Change a branch's name, units, paper or clock."""
    before = {name: getattr(place, name) for name in BranchForm.Meta.fields}
    form = BranchForm(request.POST or None, instance=place)
    if request.method == "POST" and form.is_valid():
        branch_changed(request.desk, place, before)
        messages.success(request, _("“%(name)s” is kept.") % {"name": place.name})
        return redirect("branches")
    return render(request, "accounts/branch_edit.html", {"form": form, "branch": place})


addresses = [
    path("branches/", branches, name="branches"),
    path("branches/new/", branch_new, name="branch-new"),
    path("branches/<int:place>/edit/", branch_edit, name="branch-edit"),
]
