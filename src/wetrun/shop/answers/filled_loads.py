"""Loads in season as the shop keeps them: one book a season, load by load, and as the command line's file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.db import transaction
from django.utils.translation import gettext as _

from wetrun.documents.fills_entry import FILLS_VERSION, FillsEntry
from wetrun.documents.fills_file import FillsFile, fills_of
from wetrun.documents.refusals import Document
from wetrun.errors import InputProblems, NotDefined, Problem
from wetrun.papers.fills_data import fills_data
from wetrun.papers.reader import Reader
from wetrun.proving.load_trend import load_trend
from wetrun.quantity import System, sentence
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.laid_out import toml_text
from wetrun.shop.answers.plain import plain
from wetrun.shop.answers.storable import document_in
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import FillBook, FilledLoad, Machine

FILE: Final = "fills.toml"


@dataclass(frozen=True, slots=True)
class BookTold:
    """What a book of loads says.

    Attributes
    ----------
    data : dict or None
        As `fills_data`; None where it cannot be told.
    trouble : str
        Why it cannot.
    """

    data: dict[str, Any] | None
    trouble: str = ""


def loads_of(book: FillBook) -> list[FilledLoad]:
    """Return the loads of a book that stand, each at the place of the first entry it corrects.

    Parameters
    ----------
    book : FillBook
        Saved.

    Returns
    -------
    list of FilledLoad
        One query; those taken back are left out.
    """
    every = list(book.loads.order_by("pk").select_related("made_by"))
    first: dict[int, int] = {}
    for load in every:
        first[load.pk] = first.get(load.corrects_id or 0, load.pk)
    corrected = {load.corrects_id for load in every}
    standing = [load for load in every if load.pk not in corrected and not load.void]
    return sorted(standing, key=lambda load: first[load.pk])


def file_of(book: FillBook, loads: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Return a book as the tables of a fills file, every value as it was typed."""
    head = {"format_version": FILLS_VERSION, "title": book.title, **book.document}
    if book.units != System.US.value:
        head.setdefault("units", book.units)
    return {**head, "load": list(loads)} if loads else head


def book_text(book: FillBook) -> str:
    """Return a book as the text of its file."""
    return toml_text(file_of(book, [load.document for load in loads_of(book)]))


def read_book(book: FillBook, loads: Sequence[dict[str, Any]]) -> FillsFile:
    """Return a book read as its file.

    Raises
    ------
    InputProblems
        Everything wrong in it.
    """
    return fills_of(file_of(book, loads), FILE)


def book_told(book: FillBook, loads: Sequence[FilledLoad], reader: Reader) -> BookTold:
    """Return what a book says, in the units of a reader.

    Parameters
    ----------
    book : FillBook
        The book.
    loads : sequence of FilledLoad
        Those that stand.
    reader : Reader
        Whose units.

    Returns
    -------
    BookTold
        Its data, or in a sentence why there is none.
    """
    try:
        file = read_book(book, [load.document for load in loads])
        trend = load_trend(file.loads, file.number, file.tools)
    except InputProblems as wrong:
        return BookTold(None, " ".join(str(one) for one in wrong.problems))
    except NotDefined as none:
        return BookTold(None, sentence(none, reader.system))
    return BookTold(dict(plain(fills_data(file, trend, reader))))


def book_from(text: str, desk: Desk, machine: Machine) -> FillBook:
    """Keep a fills file that was handed in, as a new book of a machine.

    Parameters
    ----------
    text : str
        The file.
    desk : Desk
        Who hands it in.
    machine : Machine
        Whose loads they are.

    Returns
    -------
    FillBook
        Saved with its loads.

    Raises
    ------
    InputProblems
        Everything wrong in it; then nothing is kept.
    """
    raw = document_in(text, Document(FILE, {}, FillsEntry), FILLS_VERSION)
    file = fills_of(raw, FILE)
    head = {key: value for key, value in raw.items() if key != "load"}
    with transaction.atomic():
        book = FillBook(machine=machine, title=file.title, units=file.units.value, document=head, received=text)
        kept(book, desk, _("taken in from a file"))
        for document, load in zip(raw.get("load", []), file.loads, strict=True):
            own = {"branch": machine.branch, "machine": machine, "book": book, "made_by": desk.user}
            FilledLoad.objects.create(on=load.on, document=document, area_m2=load.area_m2, **own)
    return book


def problem_fields(wrong: InputProblems, place: int) -> list[tuple[str | None, Problem]]:
    """Return what is wrong with a book by the field of the load that was typed last; others under None.

    Parameters
    ----------
    wrong : InputProblems
        As `read_book` raised them.
    place : int
        Place of the load in the book, from 1.

    Returns
    -------
    list of (str or None, Problem)
        In their order.
    """
    stem = f"load[{place}]."
    return [(one.key.removeprefix(stem) if one.key.startswith(stem) else None, one) for one in wrong.problems]
