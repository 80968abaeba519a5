"""Settles an intake: the season, the logs and the intake itself, all or nothing."""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass
from typing import Final

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.intake_review import Review, decisions_of, document_after
from wetrun.shop.answers.seasons import problems_of_season, settled
from wetrun.shop.intake.models import Intake, IntakeLog
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import FieldLog, Season

ALL: Final = "all"
OUT: Final = "out"


@dataclass(frozen=True, slots=True)
class Settling:
    """What accepting makes, before anything is kept.

    Attributes
    ----------
    season : Season
        As it would be; not saved.
    before : dict
        Its document as it stands.
    problems : tuple of str
        What would stand in the way of a plan, by the season's own rules.
    """

    season: Season
    before: dict[str, object]
    problems: tuple[str, ...]


def settling_of(review: Review, intake: Intake) -> Settling:
    """Return what accepting a review would make.

    Parameters
    ----------
    review : Review
        Decided.
    intake : Intake
        Its draft.

    Returns
    -------
    Settling
        Nothing is saved.
    """
    season, before = copy(review.season), review.season.document
    season.document = document_after(review, intake)
    found = problems_of_season(season, logs=season.pk is not None)
    # What is wrong with the machine or its tips is not this customer's answer, and stands on the season's own page.
    return Settling(season, before, tuple(str(one) for one in found if one.key.startswith("pass")))


def settle(
    desk: Desk, intake: Intake, review: Review, made: Settling, *, version: int, logs: Mapping[int, str]
) -> list[FieldLog]:
    """Keep a season with what was accepted, and the intake as settled.

    Parameters
    ----------
    desk : Desk
        Of whoever reviewed it.
    intake : Intake
        Handed in.
    review : Review
        Decided.
    made : Settling
        What it makes.
    version : int
        Version of the season that was looked at.
    logs : mapping of int to str
        By key of each log of the intake: a pass of the season by name, all, or out.

    Returns
    -------
    list of FieldLog
        Those that count from now on; they have to be read again for the season's questions.

    Raises
    ------
    Changed
        If somebody else changed season or intake in the meantime; nothing is kept then.
    """
    with transaction.atomic():
        season = settled(made.season)
        what = _("taken over from “%(intake)s”") % {"intake": intake.title}
        kept(season, desk, what, expected=version, before=made.before, after=season.document)
        intake.season, intake.settled_at, intake.settled_by = season, timezone.now(), desk.user
        intake.decisions = decisions_of(review)
        kept(intake, desk, _("looked through and settled"), after={"decisions": intake.decisions})
        counted = [_counted(desk, one, season, logs.get(one.log_id, ALL)) for one in _logs_of(intake)]
    return [log for log in counted if log is not None]


def _logs_of(intake: Intake) -> list[IntakeLog]:
    return list(intake.intake_logs.filter(log__taken_away_at=None).select_related("log__branch", "log__machine"))


def _counted(desk: Desk, one: IntakeLog, season: Season, use: str) -> FieldLog | None:
    log = one.log
    if use == OUT:
        log.taken_away_at = timezone.now()
        kept(log, desk, _("left out"))
        return None
    one.accepted_at = timezone.now()
    one.save_over(one.version)
    log.season, log.passes, log.state = season, [] if use == ALL else [use], "waiting"
    return kept(log, desk, _("accepted"))
