"""What a device in the yard needs to work without a signal: who is signed in, the worker, what waits on the device."""

from __future__ import annotations

from hashlib import sha256
from typing import Final
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import redirect, render
from django.templatetags.static import static
from django.urls import path, reverse
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import anybody, asks, asks_person
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.wet_run_tests import yard_test_at
from wetrun.shop.pages.readings import refusal_words
from wetrun.shop.records.models import WetRun
from wetrun.shop.records.readings import RunProven
from wetrun.shop.yard.second_readings import decide

FORMAT_VERSION: Final = 1
FILES: Final = (
    *("tokens.css", "shop.css", "sheet.css", "wet_runs.css", "mark.svg"),
    *("fonts/Lato-Regular.ttf", "fonts/Lato-Bold.ttf"),
    *("django_htmx/htmx-2.min.js", "shop.js", "vendor/idb-8.0.4/umd.js", "yard_store.js", "yard_send.js"),
    *("yard_forms.js", "yard_waiting.js", "boom_marks.js", "catch.js", "stopwatch.js"),
)
"""What the pages of a wet run load."""


@anybody
def who_is_here(request: HttpRequest) -> HttpResponseBase:
    """Tell a device who is signed in, and the mark its sendings need."""
    user = request.user
    person = user.pk if user.is_authenticated else None
    told = {"format_version": FORMAT_VERSION, "person": person, "mark": get_token(request)}
    return JsonResponse(told, headers={"Cache-Control": "no-store"})


@anybody
def worker(request: HttpRequest) -> HttpResponse:
    """Hand out the worker that keeps pages for when there is no signal; its version is that of the files it keeps."""
    files = [static(name) for name in FILES]
    told = {"version": version_of(files), "files": files, "nothing": reverse("yard-waiting")}
    return render(request, "yard/worker.js", told, content_type="text/javascript")


def version_of(files: list[str]) -> str:
    """Return a short hash of names of files: with a changed file its name changes, and so does this."""
    return sha256("\n".join(files).encode()).hexdigest()[:12]


@anybody
def manifest(request: HttpRequest) -> HttpResponse:
    """Tell a phone how the shop looks among its own programs."""
    del request
    told = {
        "name": "Wetrun",
        "short_name": "Wetrun",
        "start_url": reverse("yard-waiting"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#f5f7f7",
        "theme_color": "#0b5468",
        "icons": [{"src": static("mark.svg"), "sizes": "any", "type": "image/svg+xml"}],
    }
    return JsonResponse(told, content_type="application/manifest+json")


@asks_person()
def waiting(request: DeskRequest) -> HttpResponse:
    """Show what this device has still to send; the device itself fills it in."""
    return render(request, "yard/waiting.html")


@asks(Act.ENTER, posts=True, wet_run=WetRun)
def second_reading(request: DeskRequest, wet_run: WetRun) -> HttpResponse:
    """Decide which of two readings of one tip stands."""
    place = request.POST.get("place", "")
    test = yard_test_at(place)
    if request.method == "POST" and request.POST.get("take") in {"first", "second"}:
        try:
            done = decide(
                wet_run, UUID(request.POST.get("entry", "")), request.user, take=request.POST["take"] == "second"
            )
        except RunProven as proven:
            messages.error(request, refusal_words(proven))
        except ValueError:
            messages.info(request, _("There is nothing to decide any more."))
        else:
            messages.success(request, _("Decided.") if done else _("There is nothing to decide any more."))
    elif request.method == "POST":
        messages.error(request, _("Choose which reading stands."))
    return redirect("wet-run-test", wet_run=wet_run.pk, test=test.key if test else "catch")


addresses = [
    path("yard/who/", who_is_here, name="yard-who"),
    path("yard/waiting/", waiting, name="yard-waiting"),
    path("worker.js", worker, name="yard-worker"),
    path("app.webmanifest", manifest, name="yard-manifest"),
    path("wet-runs/<int:wet_run>/second-reading/", second_reading, name="second-reading"),
]
