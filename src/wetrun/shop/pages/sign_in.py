"""Signing in and out. Whatever is wrong with login or password, the sentence is the same."""

from __future__ import annotations

from typing import Any

from axes.helpers import get_cool_off
from django.contrib.auth import login, logout
from django.contrib.auth.forms import AuthenticationForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render, resolve_url
from django.urls import path
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from wetrun.shop.accounts.access import anybody, asks_person
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.models import User

_NO_SUCH = gettext_lazy(
    "Login and password do not belong together. Look at capitals in the password; a manager of your branch can set a "
    "new one."
)


class SignInForm(AuthenticationForm):
    """A login and its password."""

    error_messages = {"invalid_login": _NO_SUCH, "inactive": _NO_SUCH}


@anybody
@sensitive_post_parameters("password")
def sign_in(request: HttpRequest) -> HttpResponse:
    """Let somebody in, back to where they wanted to go."""
    wanted = _wanted(request)
    if not User.objects.exists():
        return redirect("first-run")
    if request.user.is_authenticated and request.method != "POST":
        return redirect(wanted)
    form = SignInForm(request, data=request.POST or None)
    if request.method == "POST" and form.is_valid():
        login(request, form.get_user())
        return redirect(wanted)
    return _shown(request, form)


@asks_person(posts=True)
@require_POST
def sign_out(request: DeskRequest) -> HttpResponse:
    """Let somebody out; what the browser kept of our pages goes too, but not readings it still has to send."""
    logout(request)
    answer = redirect("sign-in")
    answer["Clear-Site-Data"] = '"cache"'
    return answer


def told_to_wait(request: HttpRequest, *_more: object) -> HttpResponse:
    """Answer somebody who has guessed too often, whether or not there is such a login."""
    wait = get_cool_off(request)
    minutes = round(wait.total_seconds() / 60) if wait is not None else 0
    form = SignInForm(request, initial={"username": request.POST.get("username", "")})
    words = _(
        "Too many sign-ins with this login have failed from here. Wait %(minutes)s minutes before the next one: each "
        "earlier one begins the wait anew. A manager of your branch can set a new password meanwhile."
    )
    answer = _shown(request, form, words % {"minutes": minutes}, status=429)
    answer["Retry-After"] = str(minutes * 60)
    return answer


def _shown(request: HttpRequest, form: Any, wait: str = "", *, status: int = 200) -> HttpResponse:  # noqa: ANN401
    context = {"form": form, "wait": wait, "wanted": _wanted(request)}
    return render(request, "accounts/sign_in.html", context, status=status)


def _wanted(request: HttpRequest) -> str:
    """Return where to go then: an address of this shop, whatever was asked for."""
    asked = request.POST.get("next") or request.GET.get("next") or ""
    if url_has_allowed_host_and_scheme(asked, {request.get_host()}, require_https=request.is_secure()):
        return asked
    return resolve_url("board")


addresses = [
    path("sign-in/", sign_in, name="sign-in"),
    path("sign-out/", sign_out, name="sign-out"),
]
