"""What lies beside each other when a record is read as files: the very files the command line would be given."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

import tomli_w

from wetrun.documents.changeover_entry import CHANGEOVER_VERSION
from wetrun.documents.machine_entry import MachineEntry
from wetrun.documents.refusals import Place, typed_at
from wetrun.documents.season_entry import FORMAT_VERSION
from wetrun.documents.wetrun_entry import WETRUN_VERSION
from wetrun.errors import InputProblems
from wetrun.shop.answers.file_names import name_at, problems_of_names, problems_together, wrong_with
from wetrun.shop.answers.season_logs import LogUse, maps_of_uses, uses_of_logs, with_logs_named
from wetrun.shop.records.models import Catalogue, Changeover, FieldLog, Season, WetRun

SEASON_FILE: Final = "season.toml"
WET_RUN_FILE: Final = "wetrun.toml"
CHANGEOVER_FILE: Final = "changeover.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidOut:
    """The files of one record.

    Attributes
    ----------
    main : str
        Name of the record's own file.
    texts : mapping of str to str
        Text files by name, the main one among them.
    uses : tuple of LogUse
        Logs, each with the pass it stands for and its map of columns.
    """

    main: str
    texts: Mapping[str, str]
    uses: tuple[LogUse, ...] = ()

    @property
    def logs(self) -> Mapping[str, FieldLog]:
        """Field logs by name."""
        return {use.name: use.log for use in self.uses if use.log is not None}


def season_laid_out(season: Season, *, logs: bool = False) -> LaidOut:
    """Return the files of a season.

    Parameters
    ----------
    season : Season
        With machine and customer.
    logs : bool
        Whether its field logs are to be read too; those that were handed in for a pass are then named in the pass.

    Returns
    -------
    LaidOut
        A tip file or log nobody handed in is not among them: the loader says so in its own sentence.

    Raises
    ------
    InputProblems
        If a name leads out of the folder.
    """
    uses = uses_of_logs(season) if logs else ()
    document = whole_season(season)
    if logs:
        document = with_logs_named(document, uses)
    _check_names(SEASON_FILE, document, tuple(_season_places(document)))
    texts = {SEASON_FILE: toml_text(document)} | _catalogue(season.branch_id, name_at(document, ("plan", "catalogue")))
    texts |= maps_of_uses(season, uses)
    found = LaidOut(main=SEASON_FILE, texts=texts, uses=uses)
    return _apart(found)


def wet_run_laid_out(wet_run: WetRun, document: Mapping[str, Any]) -> LaidOut:
    """Return the files of a wet run.

    Parameters
    ----------
    wet_run : WetRun
        A proven one is laid out as it was on that day.
    document : mapping
        Its document with the readings laid over; see `wetrun.shop.answers.wet_runs.document_of`.

    Returns
    -------
    LaidOut
        With its season beside it, if it has one.

    Raises
    ------
    InputProblems
        If a name leads out of the folder.
    """
    if wet_run.files_then is not None:
        return LaidOut(main=WET_RUN_FILE, texts=wet_run.files_then)
    whole = whole_test(wet_run, document, WETRUN_VERSION)
    _check_names(WET_RUN_FILE, whole, (("tips", "catalogue"),))
    texts = {WET_RUN_FILE: toml_text(whole)} | _season_beside(wet_run, whole)
    texts = _catalogue(wet_run.branch_id, name_at(whole, ("tips", "catalogue"))) | texts
    return _apart(LaidOut(main=WET_RUN_FILE, texts=texts))


def changeover_laid_out(changeover: Changeover, document: Mapping[str, Any]) -> LaidOut:
    """Return the files of a changeover; as `wet_run_laid_out`.

    Parameters
    ----------
    changeover : Changeover
        A signed one is laid out as it was on that day.
    document : mapping
        Its document with what was written down.

    Returns
    -------
    LaidOut
        With its season beside it, if it has one.

    Raises
    ------
    InputProblems
        If a name leads out of the folder.
    """
    if changeover.files_then is not None:
        return LaidOut(main=CHANGEOVER_FILE, texts=changeover.files_then)
    whole = whole_test(changeover, document, CHANGEOVER_VERSION)
    return _apart(
        LaidOut(
            main=CHANGEOVER_FILE,
            texts={CHANGEOVER_FILE: toml_text(whole)} | _season_beside(changeover, whole),
        )
    )


def whole_season(season: Season) -> dict[str, Any]:
    """Return a season's document with its machine and customer in it, as its file has them."""
    machine = season.machine
    typed: dict[str, Any] = dict(season.document)
    head = {
        "format_version": typed.pop("format_version", FORMAT_VERSION),
        "title": typed.pop("title", season.title),
        **_units(typed, season.units),
        "customer": {"name": machine.customer.name},
        "machine": machine.document,
    }
    return {**head, **{key: value for key, value in typed.items() if key not in head}}


def whole_test(record: WetRun | Changeover, document: Mapping[str, Any], version: int) -> dict[str, Any]:
    """Return the document of a wet run or changeover with the machine it stands on: a season's, or its own.

    Parameters
    ----------
    record : WetRun or Changeover
        The record.
    document : mapping
        What was typed, without ``season`` and ``[machine]``.
    version : int
        Its format.

    Returns
    -------
    dict
        Whole.
    """
    typed = {key: value for key, value in document.items() if key not in {"season", "machine"}}
    head: dict[str, Any] = {
        "format_version": typed.pop("format_version", version),
        "title": typed.pop("title", record.title),
        **_units(typed, record.units),
    }
    if record.season is not None:
        return {**head, "season": season_name(record.received), **typed}
    return {**head, "machine": machine_for_tests(record.machine.document), **typed}


def machine_for_tests(machine: Mapping[str, Any]) -> dict[str, Any]:
    """Return a machine's document without what only a season file may hold, such as how it is filled."""
    known = {entry.alias or name for name, entry in MachineEntry.model_fields.items()}
    return {key: value for key, value in machine.items() if key in known}


def season_name(received: str) -> str:
    """Return what a file that was handed in calls its season; ``season.toml`` where that is no name for here."""
    try:
        named = tomllib.loads(received).get("season") if received else None
    except (ValueError, RecursionError):
        named = None
    usable = isinstance(named, str) and named.strip() == named and not wrong_with(named)
    return str(named) if usable else SEASON_FILE


def toml_text(document: Mapping[str, Any]) -> str:
    """Return a document as TOML; days stay days, keys keep their order, and what is None is left out."""
    return tomli_w.dumps(_without_none(document))


def _units(typed: dict[str, Any], units: str) -> dict[str, str]:
    """The units a document asks for; those of the record where it says nothing and they are not the usual ones."""
    if "units" in typed:
        return {"units": typed.pop("units")}
    return {} if units == "us" else {"units": units}


def _without_none(value: Any) -> Any:  # noqa: ANN401 - whatever a document holds
    if isinstance(value, Mapping):
        return {str(key): _without_none(each) for key, each in value.items() if each is not None}
    return [_without_none(each) for each in value if each is not None] if isinstance(value, list | tuple) else value


def _season_places(document: Mapping[str, Any]) -> Iterator[Place]:
    yield ("plan", "catalogue")
    passes = typed_at(document, ("pass",))
    for at in range(len(passes) if isinstance(passes, list) else 0):
        yield ("pass", at, "log_map")
        logs = typed_at(document, ("pass", at, "logs"))
        yield from (("pass", at, "logs", each) for each in range(len(logs) if isinstance(logs, list) else 0))


def _check_names(file: str, document: dict[str, Any], places: tuple[Place, ...]) -> None:
    problems = tuple(problems_of_names(file, document, places))
    if problems:
        raise InputProblems(problems)


def _apart(found: LaidOut) -> LaidOut:
    problems = tuple(problems_together(found.main, (*found.texts, *found.logs)))
    if problems:
        raise InputProblems(problems)
    return found


def _catalogue(branch_id: int, name: str) -> dict[str, str]:
    """The branch's tip file of a name; nothing if there is none."""
    if not name:
        return {}
    kept = Catalogue.objects.filter(branch_id=branch_id, name=name, replaced_at=None).first()
    return {} if kept is None else {name: kept.text}


def _season_beside(record: WetRun | Changeover, whole: Mapping[str, Any]) -> dict[str, str]:
    if record.season is None:
        return {}
    beside = season_laid_out(record.season)
    return {whole["season"] if name == SEASON_FILE else name: text for name, text in beside.texts.items()}
