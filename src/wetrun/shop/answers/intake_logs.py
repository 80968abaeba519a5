"""Field logs that come over a link: bounded, of a kind some reader knows, in no plan before they are accepted."""

from __future__ import annotations

from pathlib import PurePosixPath
from typing import Final

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.shop.answers.intake_keeping import still_open
from wetrun.shop.intake.models import Intake, IntakeLog
from wetrun.shop.records.models import FieldLog
from wetrun.shop.records.trail import told

MOST_LOGS: Final = 20
MOST_BYTES: Final = 1_000_000_000
"""Of all logs of one intake together."""
ENDINGS: Final = (
    *(".zip", ".xml", ".bin", ".csv", ".txt", ".tsv", ".json", ".geojson"),
    *(".gpx", ".nmea", ".log", ".parquet"),
)
"""Of files the readers know. A shapefile is several files, so it comes as a zip."""


def why_not(intake: Intake, name: str, size: int, sha256: str) -> str:
    """Return why a file is not taken, as a sentence; empty if it is.

    Parameters
    ----------
    intake : Intake
        It would belong to.
    name : str
        Of the file.
    size : int
        Bytes.
    sha256 : str
        Of its bytes.

    Returns
    -------
    str
        What is wrong and what to do.
    """
    here = FieldLog.objects.filter(from_intake__intake=intake, taken_away_at=None)
    sizes = dict(here.values_list("sha256", "size"))
    if PurePosixPath(name.lower()).suffix not in ENDINGS:
        words = _(
            "“%(name)s” is no field log. Send the files the terminal wrote: %(kinds)s; a shapefile or a folder zipped."
        )
        return words % {"name": name, "kinds": ", ".join(ENDINGS)}
    if size == 0:
        return _("“%(name)s” is empty. Copy it from the terminal again.") % {"name": name}
    if sha256 in sizes:
        return _("“%(name)s” is here already: it would count its area twice.") % {"name": name}
    if len(sizes) >= MOST_LOGS:
        return _("%(most)s logs are here already, and no more are taken. Send the rest in one zip.") % {
            "most": MOST_LOGS
        }
    if sum(sizes.values()) + size > MOST_BYTES:
        return _("“%(name)s” is too much: all logs together may have 1 GB. Ask the shop to take it in.") % {
            "name": name
        }
    return ""


def log_taken(intake: Intake, log: FieldLog) -> FieldLog:
    """Keep a log that came over a link; to be called inside a transaction.

    Parameters
    ----------
    intake : Intake
        Open to its customer.
    log : FieldLog
        Stored, not saved.

    Returns
    -------
    FieldLog
        Saved.

    Raises
    ------
    LinkRefused
        If the intake was closed to its customer meanwhile.
    """
    still_open(intake)
    log.branch, log.machine = intake.branch, intake.machine
    log.save()
    IntakeLog.objects.create(branch=intake.branch, intake=intake, log=log)
    Intake.objects.filter(pk=intake.pk).update(typed_at=timezone.now())
    told(log, _("handed in over the link"), None)
    return log


def log_taken_back(intake: Intake, key: int) -> None:
    """Take a log away again that the customer did not mean to send."""
    log = FieldLog.objects.filter(pk=key, from_intake__intake=intake, taken_away_at=None).first()
    if log is not None:
        with transaction.atomic():
            log.taken_away_at = timezone.now()
            log.save_over(log.version)
            told(log, _("taken away over the link"), None)


def logs_in(intake: Intake) -> list[FieldLog]:
    """Return the logs of an intake, in the order they came."""
    found = FieldLog.objects.filter(from_intake__intake=intake, taken_away_at=None)
    return list(found.defer("in_us", "in_si").order_by("pk"))
