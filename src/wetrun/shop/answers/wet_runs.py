"""A wet run's record: its document with the readings laid over, judged as the command line judges it, and proven."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from wetrun import __version__
from wetrun.documents.wetrun_day import read_wetrun_day
from wetrun.documents.wetrun_entry import WetRunEntry
from wetrun.documents.wetrun_file import WetRunFile, read_wetrun
from wetrun.errors import InputProblems, Problem, WetrunError
from wetrun.papers.day_data import day_data, day_of_run
from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_changes import changed_data
from wetrun.papers.wet_run_data import wet_run_data
from wetrun.proving.methods import METHODS
from wetrun.proving.session import WetRunResult, in_words_of, wet_run_result
from wetrun.quantity import System
from wetrun.shop.answers.bench import bench
from wetrun.shop.answers.content import hash_of
from wetrun.shop.answers.laid_out import LaidOut, wet_run_laid_out
from wetrun.shop.answers.places import laid_over
from wetrun.shop.answers.plain import plain
from wetrun.shop.answers.problems import problem_rows
from wetrun.shop.answers.run_document import CAUGHT_AT, begun
from wetrun.shop.answers.run_proofs import proofs_of_run
from wetrun.shop.answers.wet_run_tests import yard_test_at
from wetrun.shop.records.models import WetRun


@dataclass(frozen=True, slots=True)
class Judged:
    """A wet run as it was judged.

    Attributes
    ----------
    file : WetRunFile
        As read.
    result : WetRunResult
        Its pressures in words of US customary units; `in_words_of` makes them others.
    laid_out : LaidOut
        The files it was read from.
    """

    file: WetRunFile
    result: WetRunResult
    laid_out: LaidOut


def document_of(wet_run: WetRun) -> dict[str, Any]:
    """Return a wet run's document with its readings laid over it; the last one at a place stands."""
    return _document(wet_run)[0]


def laid_out_of(wet_run: WetRun) -> LaidOut:
    """Return the files of a wet run.

    Parameters
    ----------
    wet_run : WetRun
        The record.

    Returns
    -------
    LaidOut
        Its own file, and its season and tip files beside it.

    Raises
    ------
    InputProblems
        If a reading was typed at a place no wet-run file has, or a name leads out of the folder.
    """
    document, strange = _document(wet_run)
    if strange:
        remedy = "Type it again at its own field."
        limit = "a wet-run file has no such place"
        raise InputProblems([Problem("wetrun.toml", place, "", limit, remedy) for place in strange])
    return wet_run_laid_out(wet_run, begun(document))


def judged(wet_run: WetRun) -> Judged:
    """Return what a wet run says.

    Parameters
    ----------
    wet_run : WetRun
        The record.

    Returns
    -------
    Judged
        As the command line would.

    Raises
    ------
    WetrunError
        Whatever keeps it from being read or judged.
    """
    laid_out = laid_out_of(wet_run)
    with bench(laid_out) as laid:
        file = read_wetrun(laid.file)
    return Judged(file, wet_run_result(file.run, pressure_words=Reader(System.US).difference), laid_out)


def judge(wet_run: WetRun) -> None:
    """Fill a wet run's verdict, sentence and data; or what keeps it from being judged. Nothing is saved.

    Parameters
    ----------
    wet_run : WetRun
        An open one.
    """
    try:
        fill(wet_run, judged(wet_run))
    except WetrunError as fault:
        _cannot(wet_run, fault)


def fill(wet_run: WetRun, found: Judged) -> None:
    """Fill a wet run's verdict, sentence and data with what it says. Nothing is saved."""
    shop = wet_run.branch.name
    wet_run.problems = []
    wet_run.verdict = found.result.verdict.value
    wet_run.digest = digest_of_files(found.laid_out.texts)
    wet_run.method = ", ".join(METHODS.values())
    wet_run.in_us, wet_run.in_si = (data_of(found.result, system, shop) for system in System)
    wet_run.proofs = proofs_of_run(document_of(wet_run), wet_run.in_us)
    shown = wet_run.in_us if wet_run.branch.units == System.US.value else wet_run.in_si
    wet_run.sentence, wet_run.agrees = shown["sentence"], shown["agrees"]


def data_of(result: WetRunResult, system: System, shop: str) -> dict[str, Any]:
    """Return a wet run's result as plain data in one unit system: the data of its paper."""
    reader = Reader(system)
    words = in_words_of(result, pressure_words=reader.difference)
    return dict(plain(wet_run_data(words, reader, shop)))


def digest_of_files(texts: Mapping[str, str]) -> str:
    """Return the hash of everything a wet run was judged from, methods and version among it."""
    return hash_of([dict(texts), list(METHODS.values()), __version__])


def is_judged(wet_run: WetRun) -> bool:
    """Return whether a wet run's answer is that of its readings as they are now."""
    try:
        return bool(wet_run.digest) and wet_run.digest == digest_of_files(laid_out_of(wet_run).texts)
    except InputProblems:
        return False


def changes_between(earlier: WetRun, later: WetRun, system: System) -> dict[str, Any]:
    """Return what changed between two wet runs of a machine.

    Parameters
    ----------
    earlier, later : WetRun
        Both can be judged.
    system : System
        The reader's unit system.

    Returns
    -------
    dict
        ``since`` (the day of the earlier one) and ``changed``, rows as the paper prints them.

    Raises
    ------
    WetrunError
        If one cannot be judged, or they are of machines with other booms.
    """
    reader = Reader(system)
    before, after = (in_words_of(judged(one).result, pressure_words=reader.difference) for one in (earlier, later))
    return dict(plain(changed_data(before, after, reader)))


def minutes_plan(wet_run: WetRun, minutes: float, jugs: int, system: System | None = None) -> dict[str, Any]:
    """Return the plan of a day in the yard.

    Parameters
    ----------
    wet_run : WetRun
        Nothing in it need be tested; of a machine with a set on hand not even the set need be named.
    minutes : float
        What there is.
    jugs : int
        Jugs that can be held under at once.
    system : System or None
        The reader's unit system; None for the branch's.

    Returns
    -------
    dict
        As `wetrun.papers.day_data.day_data`.

    Raises
    ------
    WetrunError
        Whatever is wrong with the files.
    """
    with bench(laid_out_of(wet_run)) as laid:
        file, guessed = read_wetrun_day(laid.file)
    day = day_of_run(file.run, minutes, jugs, title=file.title, guessed=guessed)
    return dict(plain(day_data(day, Reader(system or System(wet_run.branch.units)))))


def _document(wet_run: WetRun) -> tuple[dict[str, Any], tuple[str, ...]]:
    if not wet_run.is_open and wet_run.files_then is not None:
        return wet_run.document, ()
    found = wet_run.readings.order_by("number").values_list("number", "place", "typed") if wet_run.pk else ()
    typed = ((place, text) for number, place, text in found if number > _settled(wet_run, place))
    return laid_over(wet_run.document, typed, WetRunEntry)


def _settled(wet_run: WetRun, place: str) -> int:
    """Number of the last reading that is in the document already at a place; catches tip by tip never are."""
    test = None if place.startswith(CAUGHT_AT) else yard_test_at(place)
    return 0 if test is None else int(wet_run.settled.get(test.key, 0))


def _cannot(wet_run: WetRun, fault: WetrunError) -> None:
    wet_run.problems = problem_rows(fault, System(wet_run.branch.units))
    wet_run.verdict, wet_run.sentence, wet_run.digest, wet_run.method = "", "", "", ""
    wet_run.in_us, wet_run.in_si, wet_run.agrees, wet_run.proofs = None, None, None, []
