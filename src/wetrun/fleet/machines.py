"""Which machines there are, and which logs are whose.

A machine is a season file. Its logs are those the file names, pass by pass, and those in the folder that bears the
file's name: in a sub-folder that bears a pass's name they stand for that pass, elsewhere for every pass that has none
of its own. Spaces, dashes and capitals do not matter.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from wetrun.documents.season_file import SeasonFile, read_season
from wetrun.documents.text_file import text_of_file
from wetrun.documents.toml_text import parsed_toml
from wetrun.errors import InputProblems, Problem, WetrunError
from wetrun.fleet.log_sets import COLUMN_MAP, LogSet, log_set_of, log_sets_in

SEASON: Final = "*.toml"


@dataclass(frozen=True, slots=True)
class FleetLog:
    """A log, and the map of its columns if there is one."""

    log_set: LogSet
    column_map: Path | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """One season file with its logs.

    Attributes
    ----------
    name : str
        The file's name without its ending.
    season_file : SeasonFile
        The season.
    logs : mapping of str to tuple of FleetLog
        By name of pass; passes without a log are left out.
    """

    name: str
    season_file: SeasonFile
    logs: Mapping[str, tuple[FleetLog, ...]]


@dataclass(frozen=True, slots=True)
class WrongSeason:
    """A season file that cannot be used, and everything wrong in it."""

    file: str
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fleet:
    """Everything that was found.

    Attributes
    ----------
    machines : tuple of Machine
        Sorted by name.
    wrong : tuple of WrongSeason
        Season files that cannot be used.
    unmatched : tuple of Path
        Logs in no machine's folder, as paths.
    """

    machines: tuple[Machine, ...]
    wrong: tuple[WrongSeason, ...]
    unmatched: tuple[Path, ...]


def fleet_in(seasons: Sequence[Path], logs_dir: Path) -> Fleet:
    """Return the machines of season files with their logs.

    Parameters
    ----------
    seasons : sequence of Path
        Season files, and folders in which every season file counts.
    logs_dir : Path
        Folder of logs.

    Returns
    -------
    Fleet
        Mistakes and what belongs to nobody are told, never fatal.

    Raises
    ------
    InputProblems
        If a path given is not there, or there is no season file at all.
    """
    _check_there(seasons, logs_dir)
    files = tuple(sorted({file for given in seasons for file in _season_files(given)}))
    if not files:
        shown = ", ".join(str(one) for one in seasons)
        remedy = "Name season files, or a folder that holds some; `wetrun new season.toml` writes an example."
        raise InputProblems([Problem("SEASONS", "", shown, "there is no season file", remedy)])
    read = {file: _season(file) for file in _told_apart(files)}
    twice = [WrongSeason(file.name, (_same_name(file, files),)) for file in files if file not in read]
    wrong = [found for found in read.values() if isinstance(found, WrongSeason)]
    by_name = {plain(file.stem): found for file, found in read.items()}
    folders, unmatched = _machine_folders(logs_dir, by_name.keys() | {plain(file.stem) for file in files})
    machines = tuple(
        Machine(name=found.path.stem, season_file=found, logs=_logs_of(found, folders.get(name, ()), logs_dir))
        for name, found in by_name.items()
        if isinstance(found, SeasonFile)
    )
    return Fleet(machines=machines, wrong=tuple(wrong + twice), unmatched=unmatched)


def plain(name: str) -> str:
    """Return a name without what does not matter in it: spaces, dashes, capitals.

    Example
    -------
    >>> plain("North Farm - no. 7") == plain("north_farm_No7")
    True
    """
    return "".join(letter for letter in name.casefold() if letter.isalnum()) or name


def _check_there(seasons: Iterable[Path], logs_dir: Path) -> None:
    problems = [
        Problem("SEASONS", "", str(given), "there is no such file or folder", "Check the name.")
        for given in seasons
        if not given.exists()
    ]
    if not logs_dir.is_dir():
        remedy = "Make it, with one folder for each machine, named as its season file."
        problems.append(Problem("LOGS_DIR", "", str(logs_dir), "there is no such folder", remedy))
    if problems:
        raise InputProblems(problems)


def _season_files(given: Path) -> Iterator[Path]:
    """A file as it is; of a folder, every file that plans passes, or that nobody can read as TOML."""
    if given.is_file():
        yield given
        return
    for file in sorted(given.rglob(SEASON)):
        try:
            if isinstance(parsed_toml(file, text_of_file(file)).get("pass"), list):
                yield file
        except WetrunError:
            yield file


def _told_apart(files: Sequence[Path]) -> list[Path]:
    names = [plain(file.stem) for file in files]
    return [file for file, name in zip(files, names, strict=True) if names.count(name) == 1]


def _same_name(file: Path, files: Sequence[Path]) -> str:
    others = [str(other) for other in files if other != file and plain(other.stem) == plain(file.stem)]
    limit = f"it is called as {', '.join(others)}, so nobody can say whose logs are whose"
    return str(Problem(file.name, "", "", limit, "Rename one of them, and its folder of logs."))


def _season(file: Path) -> SeasonFile | WrongSeason:
    try:
        return read_season(file, logs_needed=False)
    except InputProblems as wrong:
        return WrongSeason(file.name, tuple(str(problem) for problem in wrong.problems))
    except WetrunError as wrong:
        return WrongSeason(file.name, (str(wrong),))


def _machine_folders(logs_dir: Path, names: Iterable[str]) -> tuple[dict[str, list[Path]], tuple[Path, ...]]:
    """The folders of each name, the outermost ones, and every log outside of them."""
    known = set(names)
    folders: dict[str, list[Path]] = {}
    for place, inside, _ in os.walk(logs_dir):
        mine = [name for name in sorted(inside) if plain(name) in known]
        for name in mine:
            folders.setdefault(plain(name), []).append(Path(place) / name)
        inside[:] = sorted(set(inside) - set(mine))
    owned = {folder for found in folders.values() for folder in found}
    outside = [one.path for one in log_sets_in(logs_dir) if owned.isdisjoint((one.path, *one.path.parents))]
    return folders, tuple(outside)


def _logs_of(season_file: SeasonFile, folders: Iterable[Path], logs_dir: Path) -> dict[str, tuple[FleetLog, ...]]:
    idents = [planned.ident for planned in season_file.season.passes]
    found: dict[str, list[FleetLog]] = {}
    for ident, paths in season_file.log_paths.items():
        found[ident] = [FleetLog(log_set_of(path), season_file.log_maps.get(ident)) for path in paths]
    shared: list[LogSet] = []
    for folder in folders:
        for one in log_sets_in(folder):
            named = _pass_of(one.path, folder, idents)
            if named is None:
                shared.append(one)
            else:
                found.setdefault(named, []).append(_mapped(one, named, season_file, logs_dir))
    for ident in idents:
        if shared and ident not in found:
            found[ident] = [_mapped(one, ident, season_file, logs_dir) for one in shared]
    return {ident: _each_once(found[ident]) for ident in idents if ident in found}


def _pass_of(path: Path, folder: Path, idents: Iterable[str]) -> str | None:
    """The pass whose name the first folder below the machine's bears; a file's own name says nothing."""
    below = path.relative_to(folder).parts[:-1]
    return next((ident for ident in idents if below and plain(ident) == plain(below[0])), None)


def _mapped(one: LogSet, ident: str, season_file: SeasonFile, logs_dir: Path) -> FleetLog:
    """The nearest map of columns, from the log's own folder up to that of all logs; else the season file's."""
    for place in one.path.parents:
        if (place / COLUMN_MAP).is_file():
            return FleetLog(one, place / COLUMN_MAP)
        if place == logs_dir:
            break
    return FleetLog(one, season_file.log_maps.get(ident))


def _each_once(logs: Iterable[FleetLog]) -> tuple[FleetLog, ...]:
    return tuple({log.log_set.path.resolve(): log for log in logs}.values())
