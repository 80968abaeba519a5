"""Loads in season, written down one by one beside the tank, and what they say of the meter's number."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.translation import gettext as _

from wetrun.errors import InputProblems
from wetrun.quantity import Typed
from wetrun.shop.accounts.access import asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.roles import Act
from wetrun.shop.answers.filled_loads import (
    FILE,
    book_from,
    book_text,
    book_told,
    loads_of,
    problem_fields,
    read_book,
)
from wetrun.shop.pages.file_forms import FileForm
from wetrun.shop.pages.fill_forms import BookForm, LoadForm, initial_of_book, initial_of_load
from wetrun.shop.pages.form_tools import changed_words
from wetrun.shop.pages.season_files import text_answer
from wetrun.shop.pages.uploads import takes_files
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import FillBook, FilledLoad, Machine
from wetrun.shop.records.models.base import Changed


@asks(Act.LOOK, machine=Machine)
def fill_books(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Show the books of loads of a machine."""
    found = FillBook.objects.filter(machine=machine).defer("received")
    return render(request, "fills/list.html", {"machine": machine, "books": found})


@asks(Act.LOOK, book=FillBook)
def fill_book(request: DeskRequest, book: FillBook) -> HttpResponse:
    """Show a season's loads and what they say."""
    loads = loads_of(book)
    told = book_told(book, loads, request.desk.reader)
    rows = told.data["rows"] if told.data is not None else []
    context = {"book": book, "loads": list(enumerate(loads, start=1)), "told": told, "rows": rows}
    return render(request, "fills/book.html", context)


@asks(Act.ENTER, posts=True, machine=Machine)
def fill_book_new(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Begin a book of loads."""
    book = FillBook(machine=machine, title=_("Loads %(year)s") % {"year": request.desk.today.year})
    book.units = request.desk.system.value
    return _answer(request, book)


@asks(Act.ENTER, posts=True, book=FillBook)
def fill_book_edit(request: DeskRequest, book: FillBook) -> HttpResponse:
    """Change the number or the tools of a book."""
    return _answer(request, book)


def _answer(request: DeskRequest, book: FillBook) -> HttpResponse:
    before = book.document or {}
    form = BookForm(request.POST or None, system=request.desk.system, initial=initial_of_book(book.title, before))
    if request.method == "POST" and form.is_valid():
        book.document, book.title = form.document(before), form.cleaned_data["title"]
        try:
            what = _("changed") if book.pk else _("begun")
            kept(book, request.desk, what, before=before or None, after=book.document)
        except Changed as changed:
            form.add_error(None, changed_words(changed.now))
        else:
            return redirect("fill-book", book=book.pk)
    return render(request, "fills/head.html", {"form": form, "book": book, "machine": book.machine})


@asks(Act.ENTER, posts=True, book=FillBook)
def load_new(request: DeskRequest, book: FillBook) -> HttpResponse:
    """Write a load down."""
    last = next(iter(reversed(loads_of(book))), None)
    like = {} if last is None else {key: last.document[key] for key in ("pass", "rate") if key in last.document}
    return _load(request, FilledLoad(machine=book.machine, book=book), initial_of_load(like))


@asks(Act.ENTER, posts=True, load=FilledLoad)
def load_correct(request: DeskRequest, load: FilledLoad) -> HttpResponse:
    """Put another entry in the place of a load, or take it back; the old one stays in the trail."""
    if hasattr(load, "corrected_by"):
        messages.error(request, _("This load was corrected already. Correct the one that stands."))
        return redirect("fill-book", book=load.book_id)
    return _load(
        request, FilledLoad(machine=load.machine, book=load.book, corrects=load), initial_of_load(load.document)
    )


def _load(request: DeskRequest, load: FilledLoad, initial: dict[str, Any]) -> HttpResponse:
    form = LoadForm(request.POST or None, desk=request.desk, initial=initial)
    if request.method == "POST" and form.is_valid() and _keeps(request, load, form):
        return redirect("fill-book", book=load.book_id)
    return render(request, "fills/load.html", {"form": form, "book": load.book, "corrected": load.corrects})


def _keeps(request: DeskRequest, load: FilledLoad, form: LoadForm) -> bool:
    """Keep a load once, however often it was sent; False if its book cannot be read with it."""
    given = form.cleaned_data
    area = given.get("area")
    load.on, load.document = given["on"], form.document()
    load.area_m2 = area.si_value if isinstance(area, Typed) else None
    load.entry, load.void = given.get("entry") or load.entry, load.corrects_id is not None and "void" in request.POST
    with transaction.atomic():
        FillBook.objects.select_for_update().get(pk=load.book_id)
        if FilledLoad.objects.filter(entry=load.entry).exists():
            return True
        if load.corrects_id and FilledLoad.objects.filter(corrects=load.corrects_id).exists():
            form.add_error(None, _("Somebody corrected this load meanwhile. Look at what stands there now."))
            return False
        if not load.void and not _is_right(load, form):
            return False
        what = _("taken back") if load.void else _("written down") if load.corrects_id is None else _("corrected")
        kept(load, request.desk, what, after=load.document)
    messages.success(request, _("Kept."))
    return True


def _is_right(load: FilledLoad, form: LoadForm) -> bool:
    standing = loads_of(load.book)
    documents = [each.document for each in standing]
    place = next((n for n, each in enumerate(standing) if each.pk == load.corrects_id), len(standing))
    documents[place : place + 1] = [load.document]
    try:
        read_book(load.book, documents)
    except InputProblems as wrong:
        for field, problem in problem_fields(wrong, place + 1):
            form.add_error(field if field in form.fields else None, f"{problem.limit}. {problem.remedy}")
        return False
    return True


@asks(Act.LOOK, book=FillBook)
def fill_book_export(_request: DeskRequest, book: FillBook) -> HttpResponse:
    """Hand out a book as its file."""
    return text_answer(book_text(book), FILE)


@asks(Act.ENTER, posts=True, machine=Machine)
@takes_files("MOST_TEXT_BYTES")
def fill_book_import(request: DeskRequest, machine: Machine) -> HttpResponse:
    """Take in a fills file as a new book."""
    form = FileForm(request.POST or None, request.FILES or None, usual=FILE)
    if request.method == "POST" and form.is_valid():
        try:
            book = book_from(form.cleaned_data["text"], request.desk, machine)
        except InputProblems as wrong:
            form.add_error(None, [str(one) for one in wrong.problems])
            form.show_again(form.data.get("text") or form.cleaned_data.get("text", ""), FILE)
        else:
            messages.success(request, _("“%(name)s” is kept.") % {"name": book})
            return redirect("fill-book", book=book.pk)
    return render(request, "fills/import.html", {"form": form, "machine": machine})


addresses = [
    path("machines/<int:machine>/fills/", fill_books, name="fill-books"),
    path("machines/<int:machine>/fills/new/", fill_book_new, name="fill-book-new"),
    path("machines/<int:machine>/fills/import/", fill_book_import, name="fill-book-import"),
    path("fills/<int:book>/", fill_book, name="fill-book"),
    path("fills/<int:book>/edit/", fill_book_edit, name="fill-book-edit"),
    path("fills/<int:book>/loads/new/", load_new, name="load-new"),
    path("fills/<int:book>/fills.toml", fill_book_export, name="fill-book-export"),
    path("filled-loads/<int:load>/correct/", load_correct, name="load-correct"),
]
