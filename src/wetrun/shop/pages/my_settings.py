"""What somebody sets for themselves: units, light or dark, password, and the branch they work in."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.urls import path
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from wetrun.shop.accounts.access import asks_person
from wetrun.shop.accounts.desk import BRANCH_IN_SESSION, DeskRequest
from wetrun.shop.accounts.models import ROLES, User
from wetrun.shop.pages.account_forms import OwnPasswordForm, OwnSettingsForm
from wetrun.shop.records.people import password_set, settled


@asks_person(posts=True)
def my_settings(request: DeskRequest) -> HttpResponse:
    """Show and change how somebody wants the pages."""
    person = _person(request)
    before = {"units": person.units, "theme": person.theme}
    form = OwnSettingsForm(request.POST or None, instance=person)
    if request.method == "POST" and form.is_valid():
        settled(request.desk, person, before, {name: form.cleaned_data[name] for name in before})
        messages.success(request, _("Your settings are kept."))
        return redirect("my-settings")
    names = dict(ROLES)
    places = [(branch, names[request.desk.roles[branch.pk].value]) for branch in request.desk.branches]
    return render(request, "accounts/my_settings.html", {"form": form, "places": places})


@asks_person(posts=True)
@sensitive_post_parameters("old", "password")
def my_password(request: DeskRequest) -> HttpResponse:
    """Change one's own password; this visit goes on, every other one ends."""
    person = _person(request)
    form = OwnPasswordForm(request.POST or None, person=person)
    if request.method == "POST" and form.is_valid():
        password_set(request.desk, person, form.cleaned_data["password"])
        update_session_auth_hash(request, person)
        messages.success(
            request, _("Your new password is kept. Every other place you were signed in at is signed out.")
        )
        return redirect("my-settings")
    return render(request, "accounts/my_password.html", {"form": form})


@asks_person(posts=True)
@require_POST
def branch_here(request: DeskRequest) -> HttpResponse:
    """Go and work in another branch of one's own."""
    wanted = {str(branch.pk): branch for branch in request.desk.branches}.get(request.POST.get("branch", ""))
    if wanted is None and request.POST.get("branch"):
        raise Http404(_("There is no such branch among yours."))
    if wanted is not None:
        request.session[BRANCH_IN_SESSION] = wanted.pk
    return redirect(_back(request))


def _person(request: DeskRequest) -> User:
    """Return whoever is signed in, as a record that the page on the way may still show as it was."""
    return User.objects.get(pk=request.desk.user.pk)


def _back(request: HttpRequest) -> str:
    asked = request.POST.get("next", "")
    if url_has_allowed_host_and_scheme(asked, {request.get_host()}, require_https=request.is_secure()):
        return asked
    return resolve_url("board")


addresses = [
    path("my-settings/", my_settings, name="my-settings"),
    path("my-settings/password/", my_password, name="my-password"),
    path("branch-here/", branch_here, name="branch-here"),
]
