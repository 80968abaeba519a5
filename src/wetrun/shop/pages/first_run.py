"""The first page of a new shop: one branch, and one person who manages it. Afterwards there is no such page."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth import login
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters

from wetrun.shop.accounts.access import anybody
from wetrun.shop.accounts.models import User
from wetrun.shop.pages.account_forms import BranchForm, FirstPersonForm
from wetrun.shop.records.people import opened

_BACKEND = "django.contrib.auth.backends.ModelBackend"


@anybody
@sensitive_post_parameters("person-password")
def first_run(request: HttpRequest) -> HttpResponse:
    """Make the first branch and its first person."""
    if User.objects.exists():
        raise Http404(_("This shop has been opened already. Sign in, or ask its manager for a login."))
    branch = BranchForm(request.POST or None, prefix="branch")
    if settings.OPENING_WORD == "":
        return render(request, "accounts/not_yet.html", status=403)
    person = FirstPersonForm(request.POST or None, prefix="person", opening=settings.OPENING_WORD)
    # Both are looked at, so that everything that is wrong is said at once.
    if request.method == "POST" and all([branch.is_valid(), person.is_valid()]):
        return _open(request, branch, person)
    return render(request, "accounts/first_run.html", {"branch_form": branch, "person_form": person})


def _open(request: HttpRequest, branch: BranchForm, person: FirstPersonForm) -> HttpResponse:
    first = person.save(commit=False)
    first.set_password(person.cleaned_data["password"])
    if not opened(branch.save(commit=False), first):
        raise Http404(_("Somebody else opened this shop a moment ago. Ask them for a login."))
    login(request, first, backend=_BACKEND)
    return redirect("board")


addresses = [path("first-run/", first_run, name="first-run")]
