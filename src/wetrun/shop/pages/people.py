"""The people of a branch: who signs in, as what, and who may no more."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError
from django.db.models import Count
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import Desk, DeskRequest
from wetrun.shop.accounts.models import Membership, User
from wetrun.shop.accounts.roles import Act, Role
from wetrun.shop.pages.account_forms import KnownPersonForm, NewPersonForm, PersonForm, SetPasswordForm
from wetrun.shop.pages.listing import page_of
from wetrun.shop.records.people import changed, check_is_ones_own, let_in, password_set, sent_off, taken_in


@asks(Act.MANAGE)
def people(request: DeskRequest) -> HttpResponse:
    """Show the people of the branch."""
    found = (
        Membership.objects.filter(branch=request.desk.branch)
        .select_related("user")
        .annotate(branch_count=Count("user__memberships"))
        .order_by("-user__is_active", "user__name", "pk")
    )
    return render(request, "accounts/people.html", {"page": page_of(request, found)})


@asks(Act.MANAGE, posts=True)
@sensitive_post_parameters("password")
def person_new(request: DeskRequest) -> HttpResponse:
    """Take in somebody new."""
    form = NewPersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        person = form.save(commit=False)
        person.set_password(form.cleaned_data["password"])
        try:
            taken_in(request.desk, person, Role(form.cleaned_data["role"]))
        except IntegrityError:
            form.add_error("login", _("Somebody took that login a moment ago. Choose another."))
        else:
            return _done(request, _("“%(name)s” can sign in as “%(login)s”."), person)
    return render(request, "accounts/person_new.html", {"form": form})


@asks(Act.MANAGE, posts=True)
def person_known(request: DeskRequest) -> HttpResponse:
    """Take in somebody of another branch; only for whoever looks after all of them."""
    if not request.desk.user.is_group or request.desk.branch is None:
        raise PermissionDenied(_("Only somebody who looks after all branches may take in people of another one."))
    form = KnownPersonForm(request.POST or None, branch=request.desk.branch)
    if request.method == "POST" and form.is_valid() and form.person is not None:
        taken_in(request.desk, form.person, Role(form.cleaned_data["role"]))
        return _done(request, _("“%(name)s” works in this branch too."), form.person)
    return render(request, "accounts/person_known.html", {"form": form})


@asks(Act.MANAGE, place=Membership)
def person(request: DeskRequest, place: Membership) -> HttpResponse:
    """Show one person, and what can be done."""
    return render(request, "accounts/person.html", {"place": place, "not_ones_own": _not_ones_own(request.desk, place)})


@asks(Act.MANAGE, posts=True, place=Membership)
def person_edit(request: DeskRequest, place: Membership) -> HttpResponse:
    """Change a person's role, and name and login if they are this branch's alone."""
    not_ones_own = _not_ones_own(request.desk, place)
    someone = place.user
    before = {"role": place.role, "name": someone.name, "login": someone.login, "is_group": someone.is_group}
    form = PersonForm(request.POST or None, desk=request.desk, place=place, is_ones_own=not not_ones_own)
    if request.method == "POST" and form.is_valid():
        place.role = form.cleaned_data["role"]
        try:
            changed(request.desk, place, before)
        except ValidationError as why_not:
            form.add_error(None, why_not)
        except IntegrityError:
            form.add_error("login", _("Somebody took that login a moment ago. Choose another."))
        else:
            return _done(request, _("“%(name)s” is kept."), someone)
    context = {"form": form, "name": before["name"], "place": place, "not_ones_own": not_ones_own}
    return render(request, "accounts/person_edit.html", context)


@asks(Act.MANAGE, posts=True, place=Membership)
@sensitive_post_parameters("password")
def person_password(request: DeskRequest, place: Membership) -> HttpResponse:
    """Set a password for somebody who forgot theirs."""
    _refuse_if(_not_ones_own(request.desk, place))
    form = SetPasswordForm(request.POST or None, person=place.user)
    if request.method == "POST" and form.is_valid():
        password_set(request.desk, place.user, form.cleaned_data["password"])
        if place.user == request.desk.user:
            update_session_auth_hash(request, place.user)
        return _done(request, _("“%(name)s” has a new password, and is signed out everywhere."), place.user)
    return render(request, "accounts/person_password.html", {"form": form, "place": place})


@asks(Act.MANAGE, posts=True, place=Membership)
@require_POST
def person_active(request: DeskRequest, place: Membership) -> HttpResponse:
    """Let somebody sign in again, or no more."""
    _refuse_if(_not_ones_own(request.desk, place))
    may_sign_in = request.POST.get("may") == "1"
    try:
        let_in(request.desk, place.user, may_sign_in=may_sign_in)
    except ValidationError as why_not:
        return _not_done(request, place, why_not)
    said = _("“%(name)s” may sign in again.") if may_sign_in else _("“%(name)s” may not sign in any more.")
    return _done(request, said, place.user)


@asks(Act.MANAGE, posts=True, place=Membership)
@require_POST
def person_leave(request: DeskRequest, place: Membership) -> HttpResponse:
    """Take somebody out of this branch who stays in another."""
    try:
        sent_off(request.desk, place)
    except ValidationError as why_not:
        return _not_done(request, place, why_not)
    return _done(request, _("“%(name)s” is no more of this branch."), place.user)


def _not_ones_own(desk: Desk, place: Membership) -> str:
    """Return why a manager has no hold on login and password of somebody; empty if he has."""
    try:
        check_is_ones_own(desk, place.user)
    except ValidationError as why_not:
        return str(why_not.message)
    return ""


def _refuse_if(why_not: str) -> None:
    if why_not:
        raise PermissionDenied(why_not)


def _done(request: DeskRequest, said: str, someone: User) -> HttpResponse:
    messages.success(request, said % {"name": someone.name, "login": someone.login})
    return redirect("people")


def _not_done(request: DeskRequest, place: Membership, why_not: ValidationError) -> HttpResponse:
    context: dict[str, Any] = {"place": place, "not_ones_own": _not_ones_own(request.desk, place), "why_not": why_not}
    return render(request, "accounts/person.html", context)


addresses = [
    path("people/", people, name="people"),
    path("people/new/", person_new, name="person-new"),
    path("people/known/", person_known, name="person-known"),
    path("people/<int:place>/", person, name="person"),
    path("people/<int:place>/edit/", person_edit, name="person-edit"),
    path("people/<int:place>/password/", person_password, name="person-password"),
    path("people/<int:place>/active/", person_active, name="person-active"),
    path("people/<int:place>/leave/", person_leave, name="person-leave"),
]
