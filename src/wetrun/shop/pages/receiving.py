"""Receives what is sent to a page: never more than the page takes, from nobody it takes nothing from.

A file goes to the disk as it comes in, outside everything the server shows, and is hashed on the way.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from dataclasses import dataclass
from typing import IO, Any, Final, cast

from django.conf import settings
from django.core.exceptions import RequestDataTooBig, TooManyFilesSent
from django.core.files.uploadhandler import FileUploadHandler, SkipFile, StopUpload
from django.http import HttpRequest, HttpResponse, UnreadablePostError
from django.http.multipartparser import MultiPartParserError
from django.shortcuts import render
from django.template.defaultfilters import filesizeformat
from django.utils.translation import gettext as _

from wetrun.shop.accounts.access import Asked, Who
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.links.door import made_private
from wetrun.shop.links.door import may_send as link_may_send
from wetrun.shop.pages.uploads import Upload, new_place

READ_ON_BYTES: Final = 32 * 1024**2
"""So much too much is still read before the answer: a browser that is cut off while it sends shows no page at all."""


@dataclass(frozen=True, slots=True)
class Refused:
    """Why something sent was not taken."""

    status: int
    words: str


def most_of(request: HttpRequest) -> int:
    """Return the most bytes of one file that a page takes from whoever sends it; 0 where it takes none.

    Parameters
    ----------
    request : HttpRequest
        Its address is known, and who sends it.

    Returns
    -------
    int
        Somebody whose role never allows sending there has nothing written to the disk either.
    """
    view = request.resolver_match.func if request.resolver_match is not None else None
    asked: Asked | None = getattr(view, "asked", None)
    named = getattr(view, "files_up_to", "")
    if not named or asked is None or not _may_send(request, asked):
        return 0
    return int(getattr(settings, named))


def _may_send(request: HttpRequest, asked: Asked) -> bool:
    if asked.who is Who.ANYBODY:
        return True
    if asked.who is Who.LINK and request.resolver_match is not None:
        match = request.resolver_match
        return link_may_send(request, match.func.purpose, match.kwargs["token"])  # type: ignore[attr-defined]
    desk: Desk | None = getattr(request, "desk", None)
    if desk is None or asked.to_post is None:
        return False
    return any(desk.may(asked.to_post, branch) for branch in desk.roles)


class UploadToDisk(FileUploadHandler):
    """Writes a file to the disk while it comes in, counting and hashing."""

    def __init__(self, request: HttpRequest | None = None) -> None:
        super().__init__(request)
        self._most = most_of(request) if request is not None else 0
        self._part: Upload | None = None
        self._opened: IO[bytes] | None = None

    def new_file(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 - Django's own
        """Begin a file, or pass it over on a page that takes none."""
        super().new_file(*args, **kwargs)
        self._drop()
        if not self._most:
            raise SkipFile
        place = new_place()
        self._opened = os.fdopen(os.open(place, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600), "w+b")
        self._part = Upload(self._opened, place, name=self.file_name or "", size=0, sha256="")
        self._digest = hashlib.sha256()
        self._size = 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        """Write a piece; stop at the first byte too many, or when the disk is full."""
        del start
        self._size += len(raw_data)
        if self._size > self._most:
            self._stop(too_much(self._most))
        self._digest.update(raw_data)
        try:
            cast("IO[bytes]", self._opened).write(raw_data)
        except OSError as trouble:
            words = _(
                "The shop's disk took no more (%(why)s). Nothing of the file was kept. Tell whoever runs the shop."
            )
            self._stop(Refused(507, words % {"why": trouble.strerror}))

    def file_complete(self, file_size: int) -> Upload | None:
        """Return the whole file."""
        whole, self._part = self._part, None
        if whole is not None:
            whole.size, whole.sha256 = file_size, self._digest.hexdigest()
            whole.seek(0)
        return whole

    def upload_interrupted(self) -> None:
        """Delete what came of a file that broke off."""
        self._drop()

    def upload_complete(self) -> None:
        """Delete what came of a file that never ended."""
        self._drop()

    def _stop(self, refused: Refused) -> None:
        self._drop()
        self.request.sent_refused = refused  # type: ignore[union-attr]
        raise StopUpload(connection_reset=True)

    def _drop(self) -> None:
        part, self._part = self._part, None
        if part is not None:
            part.close()


class SendingLimits:
    """Answers whoever sends more than a page takes, before anything else looks at what was sent."""

    def __init__(self, answer: Callable[[HttpRequest], HttpResponse]) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Return the page."""
        return self.answer(request)

    def process_view(self, request: HttpRequest, *_view: object) -> HttpResponse | None:
        """Return what is wrong with what was sent, or None to go on."""
        if request.method in {"GET", "HEAD", "OPTIONS"}:
            return None
        most = most_of(request)
        beside = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
        refused = too_much(most or beside) if _announced(request) > most + beside else _received(request)
        if refused is None:
            return None
        _read_on(request)
        return refusal(request, refused)


def too_much(most: int) -> Refused:
    """Return the sentence for something too large.

    Parameters
    ----------
    most : int
        Bytes the page takes.

    Returns
    -------
    Refused
        With status 413.
    """
    words = _("What you sent is larger than this page takes: %(most)s at most. Nothing of it was kept.")
    return Refused(413, words % {"most": filesizeformat(most)})


def refused_words(refused: Refused) -> dict[str, object]:
    """Return what the page says of it."""
    titles = {413: _("Too large"), 507: _("No room")}
    return {"title": titles.get(refused.status, _("Not taken")), "words": refused.words}


def refusal(request: HttpRequest, refused: Refused) -> HttpResponse:
    """Return the page that says why something sent was not taken."""
    view = request.resolver_match.func if request.resolver_match is not None else None
    if getattr(getattr(view, "asked", None), "who", None) is not Who.LINK:
        return render(request, "refused/page.html", refused_words(refused), status=refused.status)
    return made_private(render(request, "links/refused.html", refused_words(refused), status=refused.status))


def _announced(request: HttpRequest) -> int:
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:
        return 0


def _received(request: HttpRequest) -> Refused | None:
    if request.content_type != "multipart/form-data":
        return None
    try:
        request.POST  # noqa: B018 - reading it is what receives the files
    except (RequestDataTooBig, UnreadablePostError, MultiPartParserError, TooManyFilesSent) as trouble:
        for handler in request.upload_handlers:
            handler.upload_interrupted()
        if isinstance(trouble, RequestDataTooBig):
            return too_much(settings.DATA_UPLOAD_MAX_MEMORY_SIZE)
        return Refused(400, _("What was sent broke off on its way here, and nothing of it was kept. Send it again."))
    return getattr(request, "sent_refused", None)


def _read_on(request: HttpRequest) -> None:
    left = READ_ON_BYTES
    try:
        while left > 0 and (piece := request.read(65536)):
            left -= len(piece)
    except OSError:
        return
