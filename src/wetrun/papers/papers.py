"""Writes a season's hand-outs: the tip plan, a cab card per pass, and the speed lanes as pictures."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from pathlib import Path
from typing import Any

from wetrun.papers.card_data import card_data
from wetrun.papers.extras import Extras
from wetrun.papers.folder import write_all
from wetrun.papers.lane import lane_svg
from wetrun.papers.marks import picture_id
from wetrun.papers.plan_data import lanes_of, plan_data
from wetrun.papers.reader import Reader
from wetrun.papers.typst_paper import render
from wetrun.planning.report import PlanReport
from wetrun.planning.season_result import PassPlan, SeasonPlan
from wetrun.quantity import System


class Paper(StrEnum):
    """Sizes of paper."""

    LETTER = "letter"
    A4 = "a4"


_TYPST_NAMES = {Paper.LETTER: "us-letter", Paper.A4: "a4"}


def write_papers(
    report: PlanReport, out_dir: Path, *, system: System, paper: Paper | str, extras: Extras | None = None
) -> tuple[Path, ...]:
    """Write every hand-out of a season and return where they are.

    Parameters
    ----------
    report : PlanReport
        The plan and what is said of it.
    out_dir : Path
        Folder, made if it is missing; the hand-outs of an older plan in it are replaced or taken away.
    system : System
        The reader's units on paper; the pictures are written in both systems.
    paper : Paper or str
        Size of the pages: "letter" or "a4".
    extras : Extras or None
        Texts as typed, log notes, the shop's name.

    Returns
    -------
    tuple of Path
        ``tip-plan.pdf``, ``cab-card-<pass>.pdf`` for every pass with a set, ``lanes-<pass>-<units>.svg``.

    Raises
    ------
    CannotWrite
        If a file cannot be written; the folder is then as it was.
    """
    size, extras, plan = Paper(paper), extras or Extras(), report.plan
    reader = Reader(system)
    documents = {"tip-plan.pdf": plan_pdf(report, reader, size, extras)}
    names = pass_names(one.planned.ident for one in plan.proposed.passes)
    for name, one in zip(names, plan.proposed.passes, strict=True):
        card = card_data(one, report, reader, extras)
        if card is not None:
            documents[f"cab-card-{name}.pdf"] = card_pdf(card, size)
        documents |= _lanes(plan, one, name)
    return write_all(out_dir, documents)


def plan_pdf(report: PlanReport, reader: Reader, paper: Paper, extras: Extras) -> bytes:
    """Return the tip plan as PDF."""
    return plan_pdf_of(plan_data(report, reader, extras), paper)


def plan_pdf_of(data: Mapping[str, Any], paper: Paper) -> bytes:
    """Return the tip plan as PDF, from data of `wetrun.papers.plan_data`; equal data give equal bytes."""
    return render("tip_plan", {**data, "paper": _TYPST_NAMES[paper]})


def card_pdf(card: Mapping[str, Any], paper: Paper) -> bytes:
    """Return one cab card as PDF, from data of `wetrun.papers.card_data`; equal data give equal bytes."""
    return render("cab_card", {**card, "paper": _TYPST_NAMES[paper]})


def _lanes(plan: SeasonPlan, one: PassPlan, name: str) -> dict[str, bytes]:
    pictures = {system: lanes_of(plan, one, Reader(system)) for system in System}
    return {
        f"lanes-{name}-{system.value}.svg": lane_svg(picture).encode()
        for system, picture in pictures.items()
        if picture.lanes
    }


def pass_names(idents: Iterable[str]) -> tuple[str, ...]:
    """Return a plain file name for each pass, numbered where two would be alike.

    Example
    -------
    >>> pass_names(["UAN top-dress", "UAN top dress", "???"])
    ('uan-top-dress', 'uan-top-dress-2', 'pass')
    """
    taken: list[str] = []
    for ident in idents:
        plain = picture_id(ident)[:60]
        number = 1
        while (name := plain if number == 1 else f"{plain}-{number}") in taken:
            number += 1
        taken.append(name)
    return tuple(taken)
