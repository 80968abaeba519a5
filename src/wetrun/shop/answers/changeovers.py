"""A changeover's record: what was asked, what was written down in the yard, and the answer to it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final
from zoneinfo import ZoneInfo

from django.db import transaction

from wetrun import __version__
from wetrun.changeover.answer import ChangeoverAnswer, YardAnswer, changeover_answer, yard_answer
from wetrun.changeover.methods import METHODS
from wetrun.changeover.question import ChangeoverQuestion
from wetrun.documents.changeover_file import read_changeover
from wetrun.errors import InputProblems, WetrunError
from wetrun.papers.changeover_data import METHOD as SHEET_METHOD
from wetrun.papers.changeover_data import changeover_data
from wetrun.papers.changeover_yard import step_rows, yard_data
from wetrun.papers.reader import Reader
from wetrun.quantity import System
from wetrun.shop.answers.bench import bench
from wetrun.shop.answers.content import hash_of
from wetrun.shop.answers.laid_out import LaidOut, changeover_laid_out
from wetrun.shop.answers.plain import plain
from wetrun.shop.answers.problems import problem_rows
from wetrun.shop.answers.tally import Progress, silent
from wetrun.shop.records.models import Changeover, ChangeoverNote

ALL_METHODS: Final = (*METHODS.values(), SHEET_METHOD)
ANSWER: Final = ("problems", "reached", "sentence", "digest", "method", "in_us", "in_si")
"""Columns an answer fills."""


def document_of(changeover: Changeover) -> dict[str, Any]:
    """Return a changeover's document with what was written down of it as its [record].

    Parameters
    ----------
    changeover : Changeover
        The record.

    Returns
    -------
    dict
        One entry a step; what was written later stands over what was written before.
    """
    zone = ZoneInfo(changeover.branch.time_zone)
    notes = list(changeover.notes.all()) if changeover.pk else []
    for note in notes:
        note.at = note.at.astimezone(zone)
    typed_record = changeover.document.get("record")
    if typed_record is not None and not isinstance(typed_record, dict):
        return dict(changeover.document)  # whatever it is, the loader says what belongs there
    record = {key: value for key, value in (typed_record or {}).items() if key != "step"}
    steps = _entries((typed_record or {}).get("step"), notes)
    if changeover.signed_at is not None:
        record |= {"signed_by": changeover.signed_by, "signed_at": changeover.signed_at.astimezone(zone)}
    if steps:
        record["step"] = steps
    typed = {key: value for key, value in changeover.document.items() if key != "record"}
    return typed | ({"record": record} if record or "record" in changeover.document else {})


def laid_out_of(changeover: Changeover) -> LaidOut:
    """Return the files of a changeover, with what was written down of it."""
    return changeover_laid_out(changeover, document_of(changeover))


def is_answered(changeover: Changeover) -> bool:
    """Return whether a changeover's answer is that of its question as it is now; what was written down changes none."""
    try:
        return bool(changeover.digest) and changeover.digest == digest_of(changeover)
    except InputProblems:
        return False


def changeover_of(changeover: Changeover, progress: Progress = silent) -> None:
    """Fill a changeover's answer; or what keeps it from being answered. Nothing is saved; it takes its time.

    Parameters
    ----------
    changeover : Changeover
        An open one.
    progress : callable
        Is told the share that is done and what is being done.
    """
    try:
        digest = digest_of(changeover)
        answer = changeover_answer(_question(changeover), progress=_Told(progress))
    except WetrunError as fault:
        _cannot(changeover, fault)
        return
    _fill(changeover, answer)
    changeover.digest = digest


def with_record(changeover: Changeover) -> Changeover:
    """Return a changeover whose yard list shows what was written down by now; at once, and not saved.

    Parameters
    ----------
    changeover : Changeover
        Answered.

    Returns
    -------
    Changeover
        The same; one without an answer is left as it is.

    Raises
    ------
    WetrunError
        If what was written down cannot be read.
    """
    if changeover.in_us is None or changeover.in_si is None or "plan_m3" not in changeover.in_us:
        return changeover
    known = changeover.in_us["plan_m3"]
    yard = yard_answer(_question(changeover), tuple(known["rinses_m3"]), known["left_frac"])
    changeover.in_us = changeover.in_us | _yard(yard, System.US)
    changeover.in_si = changeover.in_si | _yard(yard, System.SI)
    return changeover


def digest_of_files(texts: Mapping[str, str]) -> str:
    """Return the hash of everything a changeover was answered from, methods and version among it."""
    return hash_of([dict(texts), list(ALL_METHODS), __version__])


def keep_answer(changeover: Changeover) -> None:
    """Keep the answer of a changeover, with what was written down while it was worked out; a signed one stays as it is.

    Parameters
    ----------
    changeover : Changeover
        As `changeover_of` filled it.
    """
    with transaction.atomic():
        now = (
            Changeover.objects.select_for_update(of=("self",))
            .select_related("branch", "machine__customer")
            .get(pk=changeover.pk)
        )
        if now.signed_at is not None:
            return
        for name in ANSWER:
            setattr(now, name, getattr(changeover, name))
        if is_answered(now):
            with_record(now)
        # Nothing of what was typed is changed, so its version stays: nobody at its sheet is told of a change.
        Changeover.objects.filter(pk=now.pk).update(**{name: getattr(now, name) for name in ANSWER})


class _Told:
    """Turns words of what is worked out into a share: nobody knows beforehand how long a search takes."""

    def __init__(self, progress: Progress) -> None:
        self._progress, self._share = progress, 0.0

    def __call__(self, words: str) -> None:
        self._progress(self._share, words)
        self._share += (0.95 - self._share) / 4.0


def _question(changeover: Changeover) -> ChangeoverQuestion:
    with bench(laid_out_of(changeover)) as laid:
        return read_changeover(laid.file).question


def digest_of(changeover: Changeover) -> str:
    """Return the hash of everything an answer rests on: what was written down of its steps is none of it."""
    asked = {key: value for key, value in changeover.document.items() if key != "record"}
    return digest_of_files(changeover_laid_out(changeover, asked).texts)


def _fill(changeover: Changeover, answer: ChangeoverAnswer) -> None:
    plan = answer.plan
    known = {"rinses_m3": [rinse.water_m3 for rinse in plan.rinses], "left_frac": plan.left_frac}
    changeover.problems = []
    changeover.reached = plan.reached
    changeover.method = ", ".join(ALL_METHODS)
    shop = changeover.branch.name
    changeover.in_us, changeover.in_si = (
        plain(changeover_data(answer, Reader(system), shop) | {"plan_m3": known}) | _yard(answer, system)
        for system in System
    )
    shown = changeover.in_us if changeover.branch.units == System.US.value else changeover.in_si
    changeover.sentence = shown["sentence"]


def _yard(answer: ChangeoverAnswer | YardAnswer, system: System) -> dict[str, Any]:
    reader = Reader(system)
    return dict(plain({"yard": yard_data(answer, reader), "keys": step_rows(answer, reader)}))


def _cannot(changeover: Changeover, fault: WetrunError) -> None:
    changeover.problems = problem_rows(fault, System(changeover.branch.units))
    changeover.reached, changeover.sentence, changeover.digest, changeover.method = None, "", "", ""
    changeover.in_us, changeover.in_si = None, None


def _entries(typed: object, notes: Iterable[ChangeoverNote]) -> list[Any]:
    """Steps as typed in the file, then as written down since; what is no step at all stays for the loader to refuse."""
    rows = typed if isinstance(typed, list) else [] if typed is None else [typed]
    strange = [one for one in rows if not isinstance(one, dict)]
    by_step = {str(one.get("step")): dict(one) for one in rows if isinstance(one, dict)}
    for note in notes:
        entry = by_step.setdefault(note.step, {"step": note.step})
        entry["by"] = note.by
        if note.what == "skipped":
            by_step[note.step] = {"step": note.step, "by": note.by, "skipped_because": note.because}
            continue
        entry.pop("skipped_because", None)
        entry[note.what] = note.at
        if note.water:
            entry["water"] = note.water
    return [*strange, *by_step.values()]
