"""Files people hand in: on the disk under a name of ours, with their hash, or as the text of a small document.

A page that takes files says so with `takes_files`; see `wetrun.shop.pages.receiving` for what happens to the rest.
What a browser says a file is (its type) is never looked at, and of its name only the ending is ever part of a path.
"""

from __future__ import annotations

import os
import re
import time
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, Final, TypeVar

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.template.defaultfilters import filesizeformat
from django.utils.translation import gettext as _

from wetrun.documents.text_file import text_of_file
from wetrun.errors import InputProblems, Problem

INCOMING: Final = "incoming"
OPEN_TO_OWNER: Final = 0o700
LEFT_BEHIND_S: Final = 24 * 3600.0
"""A file still in the incoming folder after so long was left by a process that died."""
LONGEST_NAME: Final = 200
_ENDING: Final = re.compile(r"\.[A-Za-z0-9]{1,10}")
V = TypeVar("V", bound=Callable[..., Any])


def takes_files(up_to: str) -> Callable[[V], V]:
    """Return a mark for a view that takes files.

    Parameters
    ----------
    up_to : str
        Name of the setting that holds the most bytes of one file: ``MOST_LOG_BYTES`` or ``MOST_TEXT_BYTES``.

    Returns
    -------
    callable
        A decorator, to stand below `asks`.
    """

    def mark(view: V) -> V:
        view.files_up_to = up_to  # type: ignore[attr-defined]
        return view

    return mark


class Upload(UploadedFile):  # type: ignore[type-arg]
    """A file that came in whole. It is gone with the request unless it is kept.

    Attributes
    ----------
    path : Path
        Where it lies now.
    sha256 : str
        Of its bytes, as they came in.
    """

    def __init__(self, opened: IO[bytes], path: Path, *, name: str, size: int, sha256: str) -> None:
        super().__init__(opened, shown_name(name), size=size)
        self.path = path
        self.sha256 = sha256
        self._is_kept = False

    def keep(self, room: str) -> str:
        """Keep it for good, on the disk before anybody is told so.

        Parameters
        ----------
        room : str
            Folder below the uploads, a word of ours: "logs".

        Returns
        -------
        str
            Its path below the uploads: made by us, with nothing of the given name but the ending.
        """
        made = uuid.uuid4().hex
        stored = f"{room}/{made[:2]}/{made}{ending_of(self.name or '')}"
        place = settings.UPLOADS / stored
        place.parent.mkdir(parents=True, exist_ok=True, mode=OPEN_TO_OWNER)
        if self.file is not None:
            self.file.flush()
            os.fsync(self.file.fileno())
        self.path.replace(place)
        _sync_folder(place.parent)
        self.path, self._is_kept = place, True
        return stored

    def close(self) -> None:
        """Let go of it; what was not kept is deleted."""
        super().close()
        if not self._is_kept:
            self.path.unlink(missing_ok=True)


def shown_name(given: str) -> str:
    r"""Return the name of a file as it may be shown and kept: without folders or what cannot be printed.

    Example
    -------
    >>> shown_name("../../etc/passwd"), shown_name("C:\\logs\\north 40.csv"), shown_name("..")
    ('passwd', 'north 40.csv', 'file')
    """
    last = re.split(r"[/\\]", given)[-1]
    clean = "".join(char for char in last if char.isprintable()).strip()
    if not clean.strip(". "):
        return "file"
    ending = Path(clean).suffix[:LONGEST_NAME]
    return clean.removesuffix(ending)[: LONGEST_NAME - len(ending)] + ending


def ending_of(name: str) -> str:
    """Return the ending of a file's name, small, if it is a plain one.

    Example
    -------
    >>> ending_of("North 40.CSV"), ending_of("x.csv;rm"), ending_of("x")
    ('.csv', '', '')
    """
    ending = Path(name).suffix
    return ending.lower() if _ENDING.fullmatch(ending) else ""


def new_place() -> Path:
    """Return where the next file comes in, and clear away what dead processes left there."""
    folder: Path = settings.UPLOADS / INCOMING
    folder.mkdir(parents=True, exist_ok=True, mode=OPEN_TO_OWNER)
    oldest = time.time() - LEFT_BEHIND_S
    for left in folder.iterdir():
        if left.stat().st_mtime < oldest:
            left.unlink(missing_ok=True)
    return folder / uuid.uuid4().hex


def _sync_folder(folder: Path) -> None:
    if os.name == "posix":
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)


@dataclass(frozen=True, slots=True)
class HandedText:
    """A small document as it was handed in."""

    name: str
    text: str
    sha256: str


def text_of(upload: UploadedFile[bytes]) -> HandedText:
    """Return the text of a small document that was handed in.

    Parameters
    ----------
    upload : UploadedFile
        As it stands in ``request.FILES``.

    Returns
    -------
    HandedText
        In UTF-8, with or without a byte order mark, of `MOST_TEXT_BYTES` at most.

    Raises
    ------
    ValidationError
        With a sentence, if it is empty, too large, no text or in another encoding.
    """
    if not isinstance(upload, Upload):
        raise ValidationError(_("The file did not come in whole. Choose it again."))
    if upload.file is not None:
        upload.file.flush()
    try:
        text = text_of_file(upload.path)
    except InputProblems as found:
        (problem,) = found.problems
        said = Problem(upload.name or "", problem.key, problem.value, problem.limit, problem.remedy)
        raise ValidationError(str(said)) from None
    return HandedText(upload.name or "", text, upload.sha256)


class TextFileField(forms.FileField):
    """Takes one small text document; cleaned it is a `HandedText`."""

    def __init__(self, *, endings: str = "", **more: Any) -> None:  # noqa: ANN401 - Django's own
        super().__init__(**more)
        if endings:
            self.widget.attrs["accept"] = endings
        self.widget.attrs["data-most-bytes"] = str(settings.MOST_TEXT_BYTES)
        self.help_text = self.help_text or _("up to %(most)s") % {"most": filesizeformat(settings.MOST_TEXT_BYTES)}

    def clean(self, data: Any, initial: Any = None) -> Any:  # noqa: ANN401 - Django's own
        """Return the document, or None if none was needed and none came."""
        upload = super().clean(data, initial)
        return text_of(upload) if isinstance(upload, UploadedFile) else None
