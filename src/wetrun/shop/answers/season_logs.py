"""Which field logs stand for which pass of a season, under which names, and by which maps of columns they are read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any

from django.db.models import Q

from wetrun.shop.answers.file_names import wrong_with
from wetrun.shop.records.models import ColumnMap, FieldLog, Season


@dataclass(frozen=True, slots=True, kw_only=True)
class LogUse:
    """A log that stands for a pass.

    Attributes
    ----------
    pass_name : str
        The pass.
    name : str
        What the log is called beside the season file.
    log : FieldLog or None
        The upload; None for a name nobody handed a file in for.
    column_map : str
        Name of the map its columns are read by; empty for none.
    """

    pass_name: str
    name: str
    log: FieldLog | None
    column_map: str


def logs_of_season(season: Season) -> tuple[FieldLog, ...]:
    """Return every log a season may use: those of its machine that are still here, the newest first.

    One that a customer handed in over a link is none of them before it is accepted.
    """
    settled = Q(from_intake=None) | Q(from_intake__accepted_at__isnull=False)
    return tuple(season.machine.logs.filter(settled, taken_away_at=None).order_by("-pk"))


def uses_of_logs(season: Season, logs: Sequence[FieldLog] | None = None) -> tuple[LogUse, ...]:
    """Return the logs of every pass: those its document names, and those handed in for it.

    Parameters
    ----------
    season : Season
        The season.
    logs : sequence of FieldLog or None
        Logs of its machine, if they are at hand.

    Returns
    -------
    tuple of LogUse
        In the order of the passes. A log handed in for no pass by name stands for every pass without a log of its own.
    """
    known = logs_of_season(season) if logs is None else tuple(logs)
    named = list(_named(season, known))
    own = {use.pass_name for use in named}
    given = [one for one in reversed(known) if one.season_id == season.pk and one.pk not in _keys(named)]
    found = list(named)
    for one in given:
        passes = [name for name in _pass_names(season) if (name in one.passes if one.passes else name not in own)]
        name = _free_name(one.name, {use.name: use.log for use in found}, one)
        found += [LogUse(pass_name=each, name=name, log=one, column_map=one.column_map) for each in passes]
    order = {name: at for at, name in enumerate(_pass_names(season))}
    return tuple(sorted(found, key=lambda use: order[use.pass_name]))


def with_logs_named(document: dict[str, Any], uses: Iterable[LogUse]) -> dict[str, Any]:
    """Return a season's document in which every pass names the logs that stand for it.

    Parameters
    ----------
    document : dict
        As typed.
    uses : iterable of LogUse
        What stands for each pass.

    Returns
    -------
    dict
        Passes that name all their logs already are as they were.
    """
    by_pass: dict[str, list[LogUse]] = {}
    for use in uses:
        by_pass.setdefault(use.pass_name, []).append(use)
    passes = document.get("pass")
    if not isinstance(passes, list):
        return document
    return document | {"pass": [_with_logs(one, by_pass) if isinstance(one, dict) else one for one in passes]}


def plain_name(typed: Mapping[str, Any]) -> str:
    """Return the name of a pass as plans use it: spaces at its ends and double ones do not count."""
    return " ".join(str(typed.get("name", "")).split())


def maps_of_uses(season: Season, uses: Iterable[LogUse]) -> dict[str, str]:
    """Return the texts of the branch's maps of columns that logs are read by, by name."""
    names = {use.column_map for use in uses if use.column_map}
    kept = ColumnMap.objects.filter(branch_id=season.branch_id, name__in=names, replaced_at=None) if names else ()
    return {one.name: one.text for one in kept}


def _named(season: Season, known: Sequence[FieldLog]) -> Iterator[LogUse]:
    for one in passes_of(season):
        names = one.get("logs")
        column_map = one.get("log_map")
        used_by = column_map.strip() if isinstance(column_map, str) else ""
        for typed in names if isinstance(names, list) else ():
            if isinstance(typed, str) and typed.strip():
                name = typed.strip()
                log = _log_called(name, known, season)
                own = "" if log is None else log.column_map
                yield LogUse(pass_name=plain_name(one), name=name, log=log, column_map=used_by or own)


def _log_called(name: str, known: Sequence[FieldLog], season: Season) -> FieldLog | None:
    """The upload a name in the document means: this season's before others, the newest before older ones."""
    last = PurePosixPath(name).name
    fitting = [one for one in known if one.name == name] or [one for one in known if one.name == last]
    return min(fitting, key=lambda one: (one.season_id != season.pk, -one.pk), default=None)


def _with_logs(typed: dict[str, Any], by_pass: Mapping[str, Sequence[LogUse]]) -> dict[str, Any]:
    uses = by_pass.get(plain_name(typed), ())
    listed = typed.get("logs", [])
    if not isinstance(listed, list):
        return typed
    named = [name.strip() for name in listed if isinstance(name, str)]
    more = {"logs": [*listed, *given]} if (given := [o.name for o in uses if o.name not in named]) else {}
    column_map = next((use.column_map for use in uses if use.column_map), "")
    mapped = {"log_map": column_map} if column_map and "log_map" not in typed else {}
    return {**typed, **more, **mapped} if more or mapped else typed


def _free_name(name: str, taken: Mapping[str, FieldLog | None], log: FieldLog) -> str:
    """A name below logs/ that nothing else has."""
    plain = PurePosixPath(name.replace("\\", "/")).name
    base = plain if plain and not wrong_with(plain) else f"log-{log.pk}{PurePosixPath(log.stored).suffix}"
    wanted = f"logs/{base}"
    return f"logs/{log.pk}-{base}" if wanted in taken and taken[wanted] != log else wanted


def _keys(uses: Iterable[LogUse]) -> set[int]:
    return {use.log.pk for use in uses if use.log is not None}


def passes_of(season: Season) -> list[dict[str, Any]]:
    """Return the passes of a season as typed; what is no table is left to the loader."""
    typed = season.document.get("pass")
    return [one for one in typed if isinstance(one, dict)] if isinstance(typed, list) else []


def _pass_names(season: Season) -> list[str]:
    return [plain_name(one) for one in passes_of(season)]
