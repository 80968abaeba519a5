"""Files that come in: counted and hashed on the way, named by us, out of the server's sight, gone unless kept."""

from __future__ import annotations

import errno
import hashlib
import os
import time
from pathlib import Path
from typing import Any

import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.test import Client
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django.urls import path
from pytest_django import Settings
from tests.shop_cases import make_user

from wetrun.shop.accounts.access import anybody, asks
from wetrun.shop.accounts.desk import DeskRequest
from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Act, Role
from wetrun.shop.pages import receiving, uploads
from wetrun.shop.pages.uploads import INCOMING, TextFileField, Upload, ending_of, new_place, shown_name, takes_files
from wetrun.shop.urls import handler400, handler403, handler404, handler500
from wetrun.shop.urls import urlpatterns as shop

__all__ = ["handler400", "handler403", "handler404", "handler500"]
pytestmark = pytest.mark.urls(__name__)
LIMIT = 200_000
TEXT_LIMIT = 1_000


@asks(Act.ENTER, posts=True)
@takes_files("MOST_LOG_BYTES")
def take(request: DeskRequest) -> HttpResponse:
    """Tell of each file what is known of it; keep those that shall be kept."""
    files = [file for file in request.FILES.getlist("file") if isinstance(file, Upload)]
    lies = [{"mode": oct(file.path.stat().st_mode & 0o777), "place": str(file.path)} for file in files]
    said = [{"name": file.name, "size": file.size, "sha256": file.sha256, "read": len(file.read())} for file in files]
    kept = [file.keep("logs") for file in files] if request.POST.get("keep") else []
    return JsonResponse({"files": said, "lies": lies, "kept": kept, "words": request.POST.get("words", "")})


class TextForm(forms.Form):
    file = TextFileField(label="file", required=True)


@asks(Act.ENTER, posts=True)
@takes_files("MOST_TEXT_BYTES")
def text(request: DeskRequest) -> HttpResponse:
    form = TextForm(request.POST, request.FILES)
    if not form.is_valid():
        return HttpResponse("\n".join(map(str, form.errors["file"])), status=422)
    handed = form.cleaned_data["file"]
    return JsonResponse({"name": handed.name, "text": handed.text, "sha256": handed.sha256})


@asks(Act.ENTER, posts=True)
def none(request: DeskRequest) -> HttpResponse:
    return JsonResponse({"files": len(request.FILES), "words": request.POST.get("words", "")})


@anybody
@takes_files("MOST_TEXT_BYTES")
def open_to_all(request: HttpRequest) -> HttpResponse:
    return JsonResponse({"files": len(request.FILES)})


urlpatterns = [
    *shop,
    path("take/", take, name="take"),
    path("text/", text, name="text"),
    path("none/", none, name="none"),
    path("open/", open_to_all, name="open"),
]


@pytest.fixture(autouse=True)
def folder(settings: Settings, tmp_path: Path) -> Path:
    settings.UPLOADS = tmp_path / "uploads"
    settings.MOST_LOG_BYTES = LIMIT
    settings.MOST_TEXT_BYTES = TEXT_LIMIT
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 50_000
    return tmp_path / "uploads"


@pytest.fixture
def hand(branch: Branch) -> Client:
    client = Client()
    client.force_login(make_user(branch, Role.TECHNICIAN))
    return client


def file(data: bytes = b"lat,lon\n", name: str = "north 40.csv", kind: str = "text/csv") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, kind)


def everything_in(folder: Path) -> list[Path]:
    return [found for found in folder.rglob("*") if found.is_file()]


def test_a_file_is_on_the_disk_with_its_hash_for_its_owner_alone_and_gone_unless_kept(
    hand: Client, folder: Path
) -> None:
    data = os.urandom(150_000)
    answer = hand.post("/take/", {"file": file(data), "words": "a log"}).json()
    digest = hashlib.sha256(data).hexdigest()
    assert answer["files"] == [{"name": "north 40.csv", "size": 150_000, "sha256": digest, "read": 150_000}]
    assert answer["words"] == "a log"
    (lies,) = answer["lies"]
    assert Path(lies["place"]).parent == folder / INCOMING
    assert lies["mode"] == "0o600"
    assert (folder / INCOMING).stat().st_mode & 0o777 == 0o700
    assert everything_in(folder) == []


def test_what_is_kept_lies_whole_under_a_name_of_ours(hand: Client, folder: Path) -> None:
    data = os.urandom(100_000)
    answer = hand.post("/take/", {"file": [file(data), file(b"x", "second.DBF")], "keep": "1"}).json()
    first, second = answer["kept"]
    assert (folder / first).read_bytes() == data
    assert (folder / second).read_bytes() == b"x"
    room, shelf, name = first.split("/")
    assert (room, shelf, Path(name).suffix, Path(second).suffix) == ("logs", name[:2], ".csv", ".dbf")
    assert "north" not in first
    assert len(everything_in(folder)) == 2


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("../../../etc/passwd", "passwd"),
        ("..\\..\\windows\\system.ini", "system.ini"),
        ("/absolute/log.csv", "log.csv"),
        ("log.csv/", None),
        ("..", None),
        ("a\x00b.csv", "ab.csv"),
        ("log.csv\r\nX-Evil: 1", None),
        ("name.php%00.csv", "name.php%00.csv"),
        ("x." + "y" * 300, None),
        ("Größe 40 ha.csv", "Größe 40 ha.csv"),
        ("&#47;etc&#47;passwd", "passwd"),
    ],
)
def test_no_name_leads_out_of_the_folder(hand: Client, folder: Path, given: str, shown: str | None) -> None:
    body = (
        f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="keep"\r\n\r\n1\r\n--{BOUNDARY}\r\n'
        f'Content-Disposition: form-data; name="file"; filename="{given}"\r\n\r\ndata\r\n--{BOUNDARY}--\r\n'
    ).encode()
    answer = hand.generic("POST", "/take/", body, MULTIPART_CONTENT)
    assert answer.status_code == 200
    told = answer.json()
    if shown is not None:
        assert [each["name"] for each in told["files"]] == [shown]
    for stored in told["kept"]:
        assert (folder / stored).resolve().is_relative_to(folder.resolve())
        assert not set(stored) & set("\\%&;\0 ")
    assert len(everything_in(folder)) == len(told["kept"])


def test_exactly_as_much_as_is_allowed_is_taken(hand: Client) -> None:
    assert hand.post("/take/", {"file": file(b"x" * LIMIT)}).json()["files"][0]["size"] == LIMIT


def test_one_byte_too_many_is_refused_while_it_comes_in_and_nothing_is_left(hand: Client, folder: Path) -> None:
    answer = hand.post("/take/", {"file": [file(b"first"), file(b"x" * (LIMIT + 1))], "keep": "1"})
    assert answer.status_code == 413
    page = answer.content.decode()
    assert "larger than this page takes: 195.3\xa0KB at most" in page
    assert "Nothing of it was kept" in page
    assert everything_in(folder) == []


def test_what_is_announced_as_too_large_never_touches_the_disk(hand: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(receiving, "new_place", _no_place)
    assert hand.post("/take/", {"file": file(b"x" * (LIMIT + 60_000))}).status_code == 413


def _no_place() -> Path:
    pytest.fail("a file was begun on the disk")


def test_much_too_much_is_not_even_read_to_its_end(hand: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(receiving, "READ_ON_BYTES", 100_000)
    sent = _Counted(LIMIT * 10)
    answer = send(hand, sent, sent.size)
    assert answer.status_code == 413
    assert sent.given <= 200_000


def send(client: Client, body: object, size: int) -> Any:
    """What comes back for a body that is read as it comes in."""
    more: dict[str, Any] = {"wsgi.input": body, "CONTENT_LENGTH": size, "CONTENT_TYPE": MULTIPART_CONTENT}
    return client.generic("POST", "/take/", **more)


class _Counted:
    """A body that counts how much of it was read."""

    def __init__(self, size: int) -> None:
        self.size = size
        self.given = 0

    def readline(self, size: int = -1) -> bytes:
        return self.read(size)

    def read(self, size: int = -1) -> bytes:
        size = min(size if size >= 0 else self.size, self.size - self.given)
        self.given += size
        return b"x" * size


@pytest.mark.parametrize("role", [Role.VIEWER, None])
def test_from_who_may_not_send_it_nothing_reaches_the_disk(
    branch: Branch, role: Role | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(receiving, "new_place", _no_place)
    client = Client()
    if role is not None:
        client.force_login(make_user(branch, role))
    assert client.post("/take/", {"file": file()}).status_code == (302 if role is None else 403)
    assert client.post("/take/", {"file": file(b"x" * (LIMIT - 1))}).status_code == 413


def test_a_form_that_is_not_ours_is_refused_and_its_file_is_gone(branch: Branch, folder: Path) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(make_user(branch, Role.TECHNICIAN))
    assert client.post("/take/", {"file": file(), "keep": "1"}).status_code == 403
    assert everything_in(folder) == []


def test_a_page_that_takes_no_files_passes_them_over(hand: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(receiving, "new_place", _no_place)
    assert hand.post("/none/", {"file": file(), "words": "stay"}).json() == {"files": 0, "words": "stay"}
    assert hand.post("/none/", {"file": file(b"x" * 60_000)}).status_code == 413


def test_whatever_is_sent_has_a_limit_in_any_form(hand: Client) -> None:
    assert hand.post("/none/", b"x" * 50_001, content_type="application/json").status_code == 413
    assert hand.post("/none/", {"words": "x" * 50_001}).status_code == 413
    answer = hand.post("/take/", {"words": "x" * 50_001, "file": file()})
    assert answer.status_code == 413
    assert "48.8\xa0KB at most" in answer.content.decode()


def test_where_anybody_may_send_the_limit_counts_too(client: Client, folder: Path) -> None:
    assert client.post("/open/", {"file": file()}).json() == {"files": 1}
    assert client.post("/open/", {"file": file(b"x" * (TEXT_LIMIT + 1))}).status_code == 413
    assert everything_in(folder) == []


@pytest.mark.parametrize("cut", [60, 400, 1])
def test_a_file_that_breaks_off_is_not_taken_and_leaves_nothing(hand: Client, folder: Path, cut: int) -> None:
    whole = encode_multipart(BOUNDARY, {"keep": "1", "file": file(b"x" * 1000)})
    answer = hand.generic("POST", "/take/", whole[:-cut], MULTIPART_CONTENT)
    told = answer.json() if answer.status_code == 200 else {"kept": []}
    assert len(everything_in(folder)) == len(told["kept"])
    for stored in told["kept"]:
        assert (folder / stored).read_bytes() == b"x" * 1000


def test_a_connection_that_breaks_off_is_said_and_leaves_nothing(hand: Client, folder: Path) -> None:
    whole = encode_multipart(BOUNDARY, {"file": file(b"x" * 150_000)})
    answer = send(hand, _Broken(whole), len(whole))
    assert answer.status_code == 400
    assert "broke off" in answer.content.decode()
    assert everything_in(folder) == []


class _Broken:
    """A body whose sender is gone after the first 70,000 bytes."""

    def __init__(self, whole: bytes) -> None:
        self.left = whole[:70_000]

    def readline(self, size: int = -1) -> bytes:
        return self.read(size)

    def read(self, size: int = -1) -> bytes:
        if not self.left:
            raise OSError(errno.ECONNRESET, "gone")
        piece, self.left = self.left[:size], self.left[size:]
        return piece


def test_a_body_that_is_no_form_is_refused_in_words(hand: Client) -> None:
    answer = hand.generic("POST", "/take/", b"not a form at all", "multipart/form-data; boundary=")
    assert answer.status_code == 400
    assert "Traceback" not in answer.content.decode()


def test_more_files_than_anybody_sends_are_refused(hand: Client, folder: Path) -> None:
    assert hand.post("/take/", {"file": [file(b"x", f"{n}.csv") for n in range(101)]}).status_code == 400
    assert everything_in(folder) == []


def test_a_full_disk_is_said_and_nothing_is_left(hand: Client, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Full:
        def __init__(self, opened: Any) -> None:
            self.opened = opened

        def write(self, _: bytes) -> int:
            raise OSError(errno.ENOSPC, "No space left on device")

        def __getattr__(self, name: str) -> Any:
            return getattr(self.opened, name)

    real = os.fdopen
    monkeypatch.setattr(os, "fdopen", lambda *args: Full(real(*args)))
    answer = hand.post("/take/", {"file": file(), "keep": "1"})
    assert answer.status_code == 507
    assert "No space left on device" in answer.content.decode()
    assert everything_in(folder) == []


def test_what_a_dead_process_left_is_cleared_away_after_a_day(folder: Path) -> None:
    place = new_place()
    place.write_bytes(b"half")
    yesterday = time.time() - uploads.LEFT_BEHIND_S - 60
    assert new_place() != place
    assert place.exists()
    os.utime(place, (yesterday, yesterday))
    new_place()
    assert not place.exists()


def test_a_small_document_is_read_as_text_whatever_the_browser_calls_it(hand: Client) -> None:
    said = hand.post("/text/", {"file": file("Größe".encode(), "season.toml", "image/png")}).json()
    assert (said["name"], said["text"]) == ("season.toml", "Größe")
    assert said["sha256"] == hashlib.sha256("Größe".encode()).hexdigest()
    assert hand.post("/text/", {"file": file(b"\xef\xbb\xbfa")}).json()["text"] == "a"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"\x89PNG\r\n\x1a\n\0\0", "season.toml: the file is binary: byte 9 is zero"),
        (b"good\nbad \xff byte", "line 2 holds a byte that is not UTF-8"),
        ("über".encode("utf-16"), "the file is in UTF-16"),
        (b"  \n", "season.toml: the file is empty"),
        (b"", "The submitted file is empty"),
    ],
)
def test_what_is_no_text_is_refused_in_words_whatever_the_browser_calls_it(
    hand: Client, folder: Path, data: bytes, said: str
) -> None:
    answer = hand.post("/text/", {"file": file(data, "season.toml", "text/plain")})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert everything_in(folder) == []


def test_a_document_larger_than_any_is_never_read_into_memory(hand: Client) -> None:
    assert hand.post("/text/", {"file": file(b"x" * (TEXT_LIMIT + 1))}).status_code == 413


def test_uploads_lie_outside_everything_the_server_shows() -> None:
    from wetrun.shop import settings as shop_settings

    shown = [Path(shop_settings.STATIC_ROOT), shop_settings.HERE / "static"]
    for folder in shown:
        assert not shop_settings.UPLOADS.is_relative_to(folder)
        assert not folder.is_relative_to(shop_settings.UPLOADS)
    assert not getattr(shop_settings, "MEDIA_URL", "")
    assert shop_settings.FILE_UPLOAD_HANDLERS == ["wetrun.shop.pages.receiving.UploadToDisk"]


@pytest.mark.parametrize(
    ("name", "shown", "ending"),
    [
        ("x.CSV", "x.CSV", ".csv"),
        ("a/b\\c.zip", "c.zip", ".zip"),
        ("", "file", ""),
        ("x.c s v", "x.c s v", ""),
        ("...", "file", ""),
    ],
)
def test_of_a_name_only_a_plain_ending_is_ever_used(name: str, shown: str, ending: str) -> None:
    assert shown_name(name) == shown
    assert ending_of(name) == ending
