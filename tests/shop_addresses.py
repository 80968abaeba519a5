"""Every address of the shop with a record to put in it, read off the URL table: no new page can be missed.

A record that an address names is found by its model, so that most new pages need nothing here. What is no record (a
name, a day, a place in a document) stands in `OTHER_PARTS`. An address that cannot be filled fails with what to add.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator, Mapping
from copy import deepcopy
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.db import models
from django.urls import URLPattern, get_resolver, reverse
from django.utils import timezone
from tests.shop_cases import (
    PASSWORD,
    make_catalogue,
    make_changeover,
    make_customer,
    make_machine,
    make_season,
    make_wet_run,
)
from tests.shop_photos import photo_bytes

from wetrun.shop.accounts.access import Asked
from wetrun.shop.accounts.models import Branch, Membership, User
from wetrun.shop.accounts.roles import Role
from wetrun.shop.answers.intake_draft import draft_of
from wetrun.shop.answers.tip_plans import tip_plan_of
from wetrun.shop.handing.models import Offer, Photo, Walk
from wetrun.shop.intake.models import Intake, IntakeLog
from wetrun.shop.jobs.models import Job, JobPart
from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.links.tokens import drawn, hash_of
from wetrun.shop.records.models import (
    Booking,
    Changeover,
    ChangeoverNote,
    ColumnMap,
    FieldLog,
    FillBook,
    FilledLoad,
    Handover,
    Machine,
    MachineEvent,
    MonitorSettings,
    Reading,
    Replay,
    Season,
    TipPlan,
    WetRun,
    YardRules,
)
from wetrun.shop.records.trail import told
from wetrun.shop.yard.models import SecondReading, YardEntry

TOKENS: Final[dict[int, str]] = {}
"""Tokens of the sample links, by key of the link: the shop itself keeps none."""

OFFERED: Final[dict[int, str]] = {}
"""Tokens of the sample links to handovers, by key of the offer."""
OF_A_WALK: Final = (
    *("handing-open", "handing-walk", "handing-photos", "handing-photo", "handing-numbers", "handing-sign"),
)

Records = Mapping[type[models.Model], models.Model]


@dataclass(frozen=True, slots=True)
class Address:
    """One line of the URL table.

    Attributes
    ----------
    name : str
        Its name.
    parts : tuple of str
        What has to be filled in.
    asked : Asked
        Whom and what its view asks for.
    """

    name: str
    parts: tuple[str, ...]
    asked: Asked

    def filled(self, records: Records) -> str:
        """Return the address with a sample in every part."""
        return reverse(self.name, kwargs={part: self._value(part, records) for part in self.parts})

    def _value(self, part: str, records: Records) -> object:
        if (self.name, part) in OTHER_PARTS:
            return OTHER_PARTS[self.name, part](records)
        if part in OTHER_PARTS:
            return OTHER_PARTS[part](records)
        model = self.asked.kinds.get(part)
        if model is None or model not in records:
            lacks = part if model is None else model.__name__
            raise LookupError(f"address “{self.name}”: tests/shop_addresses.py has no sample of {lacks}")
        return records[model].pk


# Parts that are no records, by name of the address and of the part, or of the part alone.
OTHER_PARTS: Final[dict[str | tuple[str, str], Callable[[Records], object]]] = {
    "nth": lambda _: 1,
    "page": lambda _: "index.html",
    "test": lambda _: "course",
    "token": lambda records: TOKENS[records[Link].pk],
    **{(name, "token"): lambda records: OFFERED[records[Offer].pk] for name in OF_A_WALK},
    **{(name, "walk"): lambda records: records[Walk].key for name in OF_A_WALK},  # type: ignore[attr-defined]
    ("handing-photo", "photo"): lambda records: records[Walk].handover.photos.get().pk,  # type: ignore[attr-defined]
    ("intake-pass", "key"): lambda _: 1,
    ("intake-pass", "part"): lambda _: "mix",
    ("record-trail", "kind"): lambda _: "Machine",
    ("record-trail", "key"): lambda records: records[Machine].pk,
}


def addresses() -> Iterator[Address]:
    """Every address, in the order of the URL table."""
    for line in get_resolver().url_patterns:
        assert isinstance(line, URLPattern), "every address stands in one flat table"
        assert line.name, f"{line.pattern} has no name"
        yield Address(line.name, tuple(line.pattern.converters), line.callback.asked)  # type: ignore[attr-defined]


def sample_records(branch: Branch) -> dict[type[models.Model], models.Model]:
    """Make one record of every kind in a branch, each hanging on the one before."""
    customer = make_customer(branch, f"Low Fork Farm of {branch.name}", person="Dana Reed", phone="555 0100")
    machine = make_machine(customer)
    season = make_season(machine)
    wet_run = make_wet_run(machine, season)
    changeover = make_changeover(machine, season)
    made: list[models.Model] = [
        branch,
        customer,
        machine,
        season,
        wet_run,
        changeover,
        make_catalogue(branch),
        ColumnMap.objects.create(branch=branch, name="columns.toml", text="format_version = 1\n"),
        *_about_people(branch, wet_run, changeover),
        *_of_a_machine(machine, season, wet_run),
        *_between_wet_runs(machine),
        *_work(branch, season),
        *_asked_of_a_customer(machine, season),
    ]
    made += _offered(machine, next(one for one in made if isinstance(one, TipPlan)))
    told(machine, "taken down", None)
    return {type(record): record for record in made}


def _asked_of_a_customer(machine: Machine, season: Season) -> list[models.Model]:
    own: dict[str, Any] = {"branch": machine.branch, "machine": machine}
    day = timezone.localdate() + timedelta(days=7)
    intake = Intake(season=season, title="Season 2027", wanted_by=day, document=draft_of(season), **own)
    intake.save()
    log = FieldLog.objects.create(name="south 80.csv", stored="logs/00/gone.csv", sha256="1" * 64, **own)
    sent = IntakeLog.objects.create(intake=intake, log=log, branch=machine.branch)
    return [intake, sent, make_link(machine, Purpose.INTAKE, intake)]


def _offered(machine: Machine, plan: TipPlan) -> list[models.Model]:
    """A machine offered over a link with a cab card, and a walk that is not signed, with a photo."""
    own: dict[str, Any] = {"branch": machine.branch, "machine": machine}
    offer = Offer.objects.create(plan=plan, pass_name=plan.in_us["passes"][0]["name"], **own)
    handover = Handover.objects.create(operator="N. Vale", over_link=True, **own)
    _photo(handover)
    OFFERED[offer.pk] = TOKENS[make_link(machine, Purpose.HANDOVER, offer).pk]
    return [offer, Walk.objects.create(branch=machine.branch, offer=offer, handover=handover)]


def make_link(machine: Machine, purpose: Purpose, record: models.Model) -> Link:
    """A link that opens a page of a purpose; its token stands in `TOKENS`."""
    token = drawn()
    link = Link.objects.create(
        branch=machine.branch,
        machine=machine,
        purpose=purpose.value,
        subject=record._meta.model_name or "",
        subject_key=str(record.pk),
        token_hash=hash_of(token),
        until=timezone.now() + timedelta(days=7),
    )
    TOKENS[link.pk] = token
    return link


def _about_people(branch: Branch, wet_run: WetRun, changeover: Changeover) -> list[models.Model]:
    person = User.objects.make(f"sample-{branch.pk}", PASSWORD, name=f"C. Sample of {branch.name}")
    place = Membership.objects.create(user=person, branch=branch, role=Role.TECHNICIAN.value)
    reading = Reading.objects.create(wet_run=wet_run, place="catch.readings.72", typed="39.1", by=person, number=1)
    own: dict[str, Any] = {"wet_run": wet_run, "by": person}
    second = SecondReading.objects.create(against=reading, place=reading.place, typed="40.2", **own)
    row = YardEntry.objects.create(entry=uuid.uuid4(), test="course", typed={"way": ["out"]}, **own)
    note = ChangeoverNote(changeover=changeover, step="Fill with water", what="done", by=person.name, user=person)
    note.save()
    return [person, place, reading, second, row, note]


def _of_a_machine(machine: Machine, season: Season, wet_run: WetRun) -> list[models.Model]:
    own: dict[str, Any] = {"branch": machine.branch}
    monitor = wet_run.document.get("monitor", {})
    stored = f"logs/00/{machine.pk}.csv"
    log = FieldLog(machine=machine, name="north 40.csv", stored=stored, sha256="0" * 64, **own)
    file = Path(settings.UPLOADS) / stored
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text("lat,lon\n", encoding="utf-8")
    records: list[models.Model] = [
        MonitorSettings(machine=machine, wet_run=wet_run, document=monitor, on=date(2027, 3, 12), by="A. Reed", **own),
        Handover(machine=machine, season=season, operator="B. Stone", signed_at=timezone.now(), **own),
        TipPlan(season=season, **deepcopy(_columns_of_a_plan(season)), **own),
        log,
        Replay(log=log, season=season, digest="0", method="", in_us={}, in_si={}, **own),
    ]
    for record in records:
        record.save()
    return [*records, _photo(next(one for one in records if isinstance(one, Handover)))]


def _photo(handover: Handover) -> Photo:
    """A photo that was looked at, with its picture."""
    stored = f"photos/00/{handover.pk}.jpg"
    file = Path(settings.UPLOADS) / stored
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(photo_bytes(wide=90, high=60))
    own: dict[str, Any] = {"branch": handover.branch, "stored": stored, "sha256": "0" * 64}
    return Photo.objects.create(handover=handover, look="leaks", wide=90, high=60, state="ready", **own)


def _between_wet_runs(machine: Machine) -> list[models.Model]:
    own: dict[str, Any] = {"branch": machine.branch, "machine": machine}
    book = FillBook(title="Season 2027", document={"format_version": 1, "title": "Season 2027"}, **own)
    records: list[models.Model] = [
        MachineEvent(kind="NEW_METER", on=date(2027, 5, 2), who="D. Hill", **own),
        YardRules(branch=machine.branch),
        Booking(on=date(2027, 5, 9), tests=["meter catches at two flows"], unproven=["meter number"], **own),
        book,
        *(
            FilledLoad(book=book, on=day, document=_load_typed(day), **own)
            for day in (date(2027, 5, 3), date(2027, 5, 9))
        ),
    ]
    for record in records:
        record.save()
    return records


def _load_typed(day: date) -> dict[str, Any]:
    return {
        "on": day,
        "filled": "800 gal",
        "left": "20 gal",
        "counted": "803 gal",
        "area": "52 ac",
        "rate": "15 gal/ac",
    }


_PLAN: Final[dict[str, Any]] = {}


def _columns_of_a_plan(season: Season) -> dict[str, Any]:
    """What the tip plan of the sample season says; worked out once, whatever branch it is shown in."""
    if not _PLAN:
        plan = tip_plan_of(season)
        kept = {field.attname for field in TipPlan._meta.concrete_fields} - {"id", "branch_id", "season_id", "version"}
        _PLAN.update({name: getattr(plan, name) for name in kept})
    return _PLAN


def _work(branch: Branch, season: Season) -> list[models.Model]:
    job = Job.objects.create(
        branch=branch, kind="tip plan", subject="season", subject_key=str(season.pk), words=f"Tip plan for {season}"
    )
    return [job, JobPart.objects.create(job=job, key="1", attempt=1)]
