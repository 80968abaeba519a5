"""The demo's own farm, Low Fork Farm with Number 7: its season over its logs, its wet run, its changeover."""

from __future__ import annotations

import hashlib
import shutil
import tempfile
import uuid
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

from django.conf import settings

from wetrun.documents.catalogue_file import tips_of_text
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.accounts.roles import Role
from wetrun.shop.answers.changeovers import digest_of
from wetrun.shop.answers.field_logs import keep_reading_of, read_log
from wetrun.shop.answers.files import changeover_from, keep_test
from wetrun.shop.answers.laid_out import toml_text
from wetrun.shop.answers.seasons import recount
from wetrun.shop.answers.shared_files import taken_in
from wetrun.shop.demo.between import take_loads
from wetrun.shop.demo.farms import IN_DAYS
from wetrun.shop.demo.files import document_of, text_of, write_logs
from wetrun.shop.demo.stages import Desks, make_plan, take_run, take_season
from wetrun.shop.jobs.asking import asked
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import Catalogue, ColumnMap, FieldLog, Season


def take_shared_files(desk: Desk) -> None:
    """Take in the tip file and the map of log columns that the demo's seasons name."""
    tips = text_of("tips.csv")
    count = len(tips_of_text("tips.csv", tips))
    taken_in(desk, Catalogue(branch=desk.branch, name="tips.csv", text=tips, tips=count), None)
    taken_in(desk, ColumnMap(branch=desk.branch, name="log_map.toml", text=text_of("log_map.toml")), None)


def take_own_farm(desks: Desks, today: date, say: Callable[[str], None]) -> None:
    """Take the demo's own farm down: logs read, plan made, wet run open, changeover asked for.

    Parameters
    ----------
    desks : mapping of Role to Desk
        Who does what.
    today : date
        The day it is in the branch.
    say : callable
        Told what is being done.
    """
    specialist, technician = desks[Role.SPECIALIST], desks[Role.TECHNICIAN]
    first_day = today + timedelta(days=IN_DAYS)
    document = document_of("season.toml", first_day) | {"title": f"Season {first_day.year}"}
    season = take_season(toml_text(document), specialist)
    customer = season.machine.customer
    customer.person, customer.phone, customer.place = "E. Marsh", "555 0101", "low fork, last gate"
    kept(customer, specialist, "whom to call")
    say("reading its logs")
    _take_logs(season, technician)
    recount(season.machine)
    season.refresh_from_db()
    say("planning its season")
    make_plan(season, specialist)
    take_run(toml_text(document_of("wetrun.toml", first_day)), season, technician)
    take_loads(season.machine, technician, today)
    _ask_changeover(season, first_day, specialist)


def _take_logs(season: Season, desk: Desk) -> None:
    with tempfile.TemporaryDirectory() as folder:
        for file in write_logs(Path(folder)):
            content = file.read_bytes()
            log = FieldLog(
                machine=season.machine,
                season=season,
                name=file.name,
                column_map="log_map.toml",
                size=len(content),
                sha256=hashlib.sha256(content).hexdigest(),
                stored=_stored(file),
            )
            kept(log, desk, "handed in")
            read_log(log)
            keep_reading_of(log)


def _stored(file: Path) -> str:
    name = uuid.uuid4().hex
    stored = f"logs/{name[:2]}/{name}{file.suffix}"
    place = Path(settings.UPLOADS) / stored
    place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    shutil.copyfile(file, place)
    place.chmod(0o600)
    return stored


def _ask_changeover(season: Season, first_day: date, desk: Desk) -> None:
    """Keep the changeover, and leave its answer to the worker: it takes up to a minute."""
    document = document_of("changeover.toml", first_day) | {"title": "Soybeans to corn"}
    changeover = keep_test(changeover_from(toml_text(document), season.machine, "changeover.toml", season), desk)
    asked(
        season.branch,
        "changeover",
        by=desk.user,
        words=f"Changeover for {season.machine}, {changeover.title}",
        args={"changeover": changeover.pk, "digest": digest_of(changeover)},  # type: ignore[arg-type]
        subject=changeover,
    )
