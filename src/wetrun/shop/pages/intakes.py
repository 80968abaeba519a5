"""Asks a customer for a season: the link, the reminder, and how far the answer is."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django import forms
from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import Desk, DeskRequest
from wetrun.shop.accounts.models import UNITS
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.intake_draft import draft_of, empty_draft
from wetrun.shop.answers.intake_logs import logs_in
from wetrun.shop.answers.intake_reminder import NotSent, reminder_text, send_reminder
from wetrun.shop.answers.intake_sheets import told_passes
from wetrun.shop.intake.models import Intake, Stand
from wetrun.shop.links.making import NewLink, end_of_day, links_to, made, revoked
from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.links.shown import shown_once
from wetrun.shop.links.sight import LinkRefused, seen_with
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Machine, Season

USUAL_DAYS = 14
OPEN_LONGER_DAYS = 14
MOST_DAYS = 366


class AskForm(forms.Form):
    """What a customer is asked, and until when."""

    season = forms.ModelChoiceField(
        label=gettext_lazy("For the season"),
        queryset=Season.objects.none(),
        required=False,
        empty_label=gettext_lazy("a new one"),
    )
    title = forms.CharField(
        label=gettext_lazy("Title"), max_length=200, help_text=gettext_lazy("The customer reads it.")
    )
    begin = forms.BooleanField(
        label=gettext_lazy("Begin with the passes that stand in the season"),
        required=False,
        help_text=gettext_lazy("The customer then sees them, and fills in what is missing."),
    )
    units = forms.ChoiceField(label=gettext_lazy("Units printed for the customer"), choices=UNITS)
    wanted_by = forms.DateField(
        label=gettext_lazy("Answer wanted by"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    until = forms.DateField(
        label=gettext_lazy("Last day of the link"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(self, *args: Any, desk: Desk, machine: Machine, **more: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(*args, **more)
        self.today = desk.today
        seasons = Season.objects.filter(machine=machine, put_away_at=None).defer("document", "received")
        self.fields["season"].queryset = seasons  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Refuse days that are over, or in the wrong order."""
        cleaned = super().clean() or {}
        wanted, until = cleaned.get("wanted_by"), cleaned.get("until")
        if wanted is not None and wanted < self.today:
            self.add_error("wanted_by", _("That day is over. Choose today or a later one."))
        if until is not None and not self.today <= until <= self.today + timedelta(days=MOST_DAYS):
            self.add_error("until", _("A link opens until a day between today and a year from now."))
        elif wanted is not None and until is not None and until < wanted:
            self.add_error("until", _("The link would end before the answer is wanted. Choose a later day."))
        return cleaned


@asks(Act.PLAN, posts=True, machine=Machine)
def intake_new(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Ask the customer of a machine, and show the link once."""
    form = AskForm(request.POST or None, initial=_usual(request, machine), desk=request.desk, machine=machine)
    if request.method == "POST" and form.is_valid():
        asked = form.cleaned_data
        season: Season | None = asked["season"]
        begun = season is not None and asked["begin"]
        intake = Intake(
            branch=machine.branch,
            machine=machine,
            season=season,
            title=asked["title"],
            units=asked["units"],
            wanted_by=asked["wanted_by"],
            document=draft_of(season) if season is not None and begun else empty_draft(),
        )
        kept(intake, request.desk, _("customer asked"), after={"wanted by": intake.wanted_by})
        return _shown(request, intake, _linked(request.desk, intake, asked["until"]))
    return render(request, "intake/new.html", {"form": form, "machine": machine})


def _usual(request: DeskRequest, machine: Machine) -> dict[str, Any]:
    latest = Season.objects.filter(machine=machine, put_away_at=None).defer("document", "received").first()
    wanted = request.desk.today + timedelta(days=USUAL_DAYS)
    return {
        "season": latest,
        "title": _("Season %(year)s") % {"year": request.desk.today.year} if latest is None else latest.title,
        "units": request.desk.system.value if latest is None else latest.units,
        "wanted_by": wanted,
        "until": wanted + timedelta(days=OPEN_LONGER_DAYS),
    }


def _linked(desk: Desk, intake: Intake, until: Any) -> NewLink:  # noqa: ANN401 - a day
    """Make the link, open to the end of a day on the branch's clock."""
    return made(desk, Purpose.INTAKE, intake, intake.machine, until=end_of_day(until, desk.zone))


def _shown(request: DeskRequest, intake: Intake, new: NewLink, trouble: str = "") -> HttpResponse:
    shown = shown_once(request, new, "intake-open")
    text = reminder_text(intake, new.link, shown.address, request.desk)
    told = {"intake": intake, "shown": shown, "text": text, "trouble": trouble, "mail_is_on": settings.MAIL_IS_ON}
    answer = render(request, "intake/link.html", told)
    answer["Cache-Control"] = "no-store"  # the one page that shows the token
    return answer


@asks(Act.LOOK, intake=Intake)
def intake_page(request: DeskRequest, intake: Intake) -> HttpResponse:
    """Show how far an intake is, and what was typed so far."""
    told = {
        "intake": intake,
        "stands": {each.name: each for each in Stand},
        "late": intake.is_late(request.desk.today),
        "link": links_to(intake, Purpose.INTAKE).first(),
        "passes": told_passes(intake),
        "logs": logs_in(intake),
    }
    return render(request, "intake/page.html", told)


class AskAgainForm(forms.Form):
    """Until when a new link opens."""

    wanted_by = forms.DateField(
        label=gettext_lazy("Answer wanted by"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )


@asks(Act.PLAN, posts=True, intake=Intake)
def intake_link(request: DeskRequest, intake: Intake) -> HttpResponse:
    """Make a new link to an intake: the one before opens nothing any more; one handed in is open again."""
    initial = {"wanted_by": max(intake.wanted_by, request.desk.today + timedelta(days=USUAL_DAYS))}
    form = AskAgainForm(request.POST or None, initial=initial)
    if intake.stand in {Stand.SETTLED, Stand.PUT_AWAY}:
        messages.error(request, _("This one is closed. Ask the customer anew from the machine's page."))
        return redirect("intake", intake=intake.pk)
    if request.method == "POST" and form.is_valid():
        wanted = form.cleaned_data["wanted_by"]
        if request.desk.today <= wanted <= request.desk.today + timedelta(days=MOST_DAYS):
            intake.wanted_by, intake.handed_in_at = wanted, None
            kept(intake, request.desk, _("customer asked again"))
            return _shown(request, intake, _linked(request.desk, intake, wanted + timedelta(days=OPEN_LONGER_DAYS)))
        form.add_error("wanted_by", _("Choose a day between today and a year from now."))
    return render(request, "intake/again.html", {"intake": intake, "form": form})


@asks(Act.PLAN, posts=True, intake=Intake)
def intake_mail(request: DeskRequest, intake: Intake) -> HttpResponse:
    """Send the reminder by e-mail, from the page that shows the link."""
    link = _link_of(intake, request.POST.get("token", ""))
    if request.method != "POST" or link is None:
        messages.error(request, _("The link has to be made anew first: the shop keeps no copy of it."))
        return redirect("intake", intake=intake.pk)
    new = NewLink(link, request.POST["token"])
    to = request.POST.get("to", "").strip()
    text = reminder_text(intake, link, shown_once(request, new, "intake-open").address, request.desk)
    try:
        validate_email(to)
        send_reminder(intake, to, text)
    except ValidationError:
        return _shown(request, intake, new, _("“%(to)s” is no e-mail address. Nothing was sent.") % {"to": to})
    except NotSent as why_not:
        return _shown(request, intake, new, str(why_not))
    intake.mailed_to, intake.mailed_at = to[:254], timezone.now()
    kept(intake, request.desk, _("reminder sent by e-mail"))
    messages.success(request, _("Sent to %(to)s.") % {"to": to})
    return redirect("intake", intake=intake.pk)


def _link_of(intake: Intake, token: str) -> Link | None:
    try:
        link = seen_with(token, Purpose.INTAKE)
    except LinkRefused:
        return None
    return link if link.subject_key == str(intake.pk) and link.branch_id == intake.branch_id else None


@asks(Act.PLAN, posts=True, intake=Intake)
def intake_put_away(request: DeskRequest, intake: Intake) -> HttpResponse:
    """Put an intake away: its link opens nothing any more, what was typed stays."""
    if request.method == "POST" and intake.put_away_at is None:
        for link in links_to(intake, Purpose.INTAKE):
            revoked(request.desk, link)
        intake.put_away_at = timezone.now()
        kept(intake, request.desk, _("put away"))
        messages.success(request, _("Put away. The link opens nothing any more."))
    return redirect("intake", intake=intake.pk)


addresses = [
    path("machines/<int:machine>/intake/new/", intake_new, name="intake-new"),
    path("intakes/<int:intake>/", intake_page, name="intake"),
    path("intakes/<int:intake>/link/", intake_link, name="intake-link"),
    path("intakes/<int:intake>/mail/", intake_mail, name="intake-mail"),
    path("intakes/<int:intake>/put-away/", intake_put_away, name="intake-put-away"),
]
