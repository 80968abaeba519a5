"""Records as the command line's own files, and such files as records: whatever goes in comes out as it was."""

from __future__ import annotations

import tomllib
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from typing import IO, Any, Final

from wetrun.documents.changeover_entry import CHANGEOVER_VERSION
from wetrun.documents.wetrun_entry import WETRUN_VERSION
from wetrun.papers.papers import pass_names
from wetrun.shop.answers import changeovers, wet_runs
from wetrun.shop.answers.bench import stored_file
from wetrun.shop.answers.laid_out import (
    CHANGEOVER_FILE,
    SEASON_FILE,
    WET_RUN_FILE,
    LaidOut,
    season_laid_out,
    toml_text,
    whole_season,
    whole_test,
)
from wetrun.shop.answers.received import SeasonProposal, keep_season, season_from
from wetrun.shop.answers.received_runs import FileProposal, changeover_from, keep_test, wet_run_from
from wetrun.shop.records.models import Changeover, Season, WetRun

__all__ = [
    "FileProposal",
    "SeasonProposal",
    "changeover_from",
    "changeover_text",
    "keep_season",
    "keep_test",
    "season_from",
    "season_text",
    "wet_run_from",
    "wet_run_text",
    "write_zip",
]

_LONG_AGO: Final = (1980, 1, 1, 0, 0, 0)
"""Every file of a zip bears this time, so that the same records give the same bytes."""


def season_text(season: Season) -> str:
    """Return a season as its file: the one that was handed in, comments and all, where it still says the same."""
    return _as_received(season.received, whole_season(season))


def wet_run_text(wet_run: WetRun) -> str:
    """Return a wet run as its file, readings laid in; a proven one as it was proven."""
    if wet_run.files_then is not None:
        return str(wet_run.files_then[WET_RUN_FILE])
    return _as_received(wet_run.received, whole_test(wet_run, wet_runs.document_of(wet_run), WETRUN_VERSION))


def changeover_text(changeover: Changeover) -> str:
    """Return a changeover as its file, with what was written down; a signed one as it was signed."""
    if changeover.files_then is not None:
        return str(changeover.files_then[CHANGEOVER_FILE])
    document = changeovers.document_of(changeover)
    return _as_received(changeover.received, whole_test(changeover, document, CHANGEOVER_VERSION))


def write_zip(season: Season, opened: IO[bytes], *, logs: bool = False) -> None:
    """Write a season with everything that belongs to it, so that the command line can work on it as it is.

    Parameters
    ----------
    season : Season
        With machine and customer.
    opened : binary file
        Where to; it can be sought in.
    logs : bool
        Whether its field logs go in too: they may be large.

    Raises
    ------
    InputProblems
        If a name in a document leads out of the folder.
    """
    laid_out = season_laid_out(season, logs=True)
    with zipfile.ZipFile(opened, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in _texts(season, laid_out):
            packed.writestr(_entry(name), text.encode())
        for name, log in laid_out.logs.items() if logs else ():
            with stored_file(log).open("rb") as source, packed.open(_entry(name), "w", force_zip64=True) as target:
                while block := source.read(1 << 20):
                    target.write(block)


def _texts(season: Season, laid_out: LaidOut) -> Iterator[tuple[str, str]]:
    """Season, tip file and maps; then every wet run and changeover, closed ones with what they were judged from."""
    yield from {**laid_out.texts, SEASON_FILE: _zipped_season(season, laid_out)}.items()
    runs = list(season.wet_runs.order_by("on", "pk"))
    yield from _tests(runs, WET_RUN_FILE, [wet_run_text(one) for one in runs])
    cleanings = list(season.changeovers.order_by("on", "pk"))
    yield from _tests(cleanings, CHANGEOVER_FILE, [changeover_text(one) for one in cleanings])


def _zipped_season(season: Season, laid_out: LaidOut) -> str:
    """The file as it was handed in, unless logs were handed in for passes that do not name them."""
    text = season_text(season)
    return text if tomllib.loads(text) == tomllib.loads(laid_out.texts[SEASON_FILE]) else laid_out.texts[SEASON_FILE]


def _tests(records: Sequence[WetRun | Changeover], file: str, texts: list[str]) -> Iterator[tuple[str, str]]:
    stem = file.removesuffix(".toml")
    for name, record, text in zip(pass_names(one.title for one in records), records, texts, strict=True):
        folder: Mapping[str, str] | None = record.files_then
        if folder is None:
            yield f"{stem}-{name}.toml", _with_season_beside(text)
        else:
            yield from ((f"{stem}-{name}/{each}", kept) for each, kept in folder.items())


def _with_season_beside(text: str) -> str:
    """A test whose season is called ``season.toml``, as it is in a zip."""
    document = tomllib.loads(text)
    if document.get("season", SEASON_FILE) == SEASON_FILE:
        return text
    return toml_text(document | {"season": SEASON_FILE})


def _as_received(received: str, document: dict[str, Any]) -> str:
    written = toml_text(document)
    try:
        same = bool(received) and tomllib.loads(received) == tomllib.loads(written)
    except (ValueError, RecursionError):
        same = False
    return received if same else written


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, _LONG_AGO)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    return entry
