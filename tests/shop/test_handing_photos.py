"""Photos over a handover's link: the same limits as in the shop, kept from everybody but who has the walk."""

from __future__ import annotations

import io
from datetime import timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from PIL import Image
from pytest_django import Settings
from tests.shop_addresses import TOKENS, make_link
from tests.shop_jobs import make_worker
from tests.shop_photos import CAMERA, photo_bytes, png_bomb, sent_photo

from wetrun.shop.answers.handing import walk_begun
from wetrun.shop.handing.models import Offer, Photo, Walk
from wetrun.shop.links.models import Link, Purpose
from wetrun.shop.records.models import Handover, Machine


@pytest.fixture(autouse=True)
def uploads(settings: Settings, tmp_path: Path) -> Path:
    settings.UPLOADS = tmp_path / "uploads"
    return tmp_path / "uploads"


@pytest.fixture
def offer(machine: Machine) -> Offer:
    return Offer.objects.create(branch=machine.branch, machine=machine)


@pytest.fixture
def token(offer: Offer) -> str:
    return TOKENS[make_link(offer.machine, Purpose.HANDOVER, offer).pk]


@pytest.fixture
def walk(offer: Offer) -> Walk:
    return walk_begun(offer, "Bo Cole")


@pytest.fixture
def address(token: str, walk: Walk) -> str:
    return f"/take-over/{token}/{walk.key}/photos/"


def send(address: str, data: bytes | None = None, **more: str) -> Any:
    phone = Client(enforce_csrf_checks=True)
    return phone.post(address, {"look": "leaks", "photo": sent_photo(data, **more)})


def files_in(folder: Path) -> list[Path]:
    return sorted(file for file in folder.rglob("*") if file.is_file())


def test_a_photo_sent_over_the_link_is_shown_without_the_place_it_was_taken_at(
    address: str, token: str, offer: Offer, uploads: Path, viewer: Client
) -> None:
    assert send(address, photo_bytes(turned=6)).status_code == 302
    photo = Photo.objects.get()
    assert (photo.made_by, photo.look) == (None, "leaks")
    assert Client().get(f"{address}{photo.pk}.jpg").status_code == 404, "nobody sees it before it was looked at"
    make_worker(timezone.now).run(0, once=True)
    answer = Client().get(f"{address}{photo.pk}.jpg")
    assert (answer["Content-Type"], answer["Cache-Control"]) == ("image/jpeg", "no-store")
    assert CAMERA.encode() not in answer.content
    with Image.open(io.BytesIO(answer.content)) as image:
        assert (image.size, dict(image.getexif())) == ((200, 320), {})
    assert all(CAMERA.encode() not in file.read_bytes() for file in files_in(uploads))
    assert f'src="{address}{photo.pk}.jpg"' in Client().get(address).content.decode()
    other = walk_begun(offer, "Ann Dell")
    assert Client().get(f"/take-over/{token}/{other.key}/photos/{photo.pk}.jpg").status_code == 404
    assert viewer.get(f"/photos/{photo.pk}.jpg").status_code == 200


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>", "This is no photo"),
        (b"%PDF-1.7 and so on", "This is no photo"),
        (b"", "The photo is empty"),
    ],
)
def test_what_is_no_photo_is_refused_at_once(address: str, uploads: Path, data: bytes, words: str) -> None:
    assert words in unescape(send(address, data, name="photo.jpg").content.decode())
    assert not Photo.objects.exists()
    assert not files_in(uploads)


def test_a_photo_over_the_limit_is_refused(address: str, settings: Settings, uploads: Path) -> None:
    settings.MOST_PHOTO_BYTES = 1_000
    assert "1000\xa0bytes is the most" in unescape(send(address).content.decode())
    settings.MOST_SENT_PHOTO_BYTES = settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 900
    assert send(address).status_code == 413
    assert not Photo.objects.exists()
    assert not files_in(uploads)


def test_a_bomb_is_refused_by_the_worker_and_gone(address: str, uploads: Path) -> None:
    send(address, png_bomb(30_000, 30_000))
    make_worker(timezone.now).run(0, once=True)
    assert Photo.objects.get().state == "refused"
    assert "more than 50 million pixels" in Client().get(address).content.decode()
    assert not files_in(uploads)


def test_a_closed_link_has_nothing_written_to_the_disk(address: str, uploads: Path) -> None:
    Link.objects.update(until=timezone.now() - timedelta(minutes=1))
    assert send(address).status_code == 410
    assert not Photo.objects.exists()
    assert not files_in(uploads)


def test_a_photo_is_taken_away_over_the_link_until_it_is_signed(
    address: str, offer: Offer, walk: Walk, uploads: Path, django_capture_on_commit_callbacks: Any
) -> None:
    send(address)
    other = walk_begun(offer, "Ann Dell")
    key = Photo.objects.get().pk
    Client().post(address.replace(str(walk.key), str(other.key)), {"out": str(key)})
    for nonsense in ("", "x", "9" * 30):
        Client().post(address, {"out": nonsense})
    assert Photo.objects.count() == 1, "of another walk, or none"
    Handover.objects.filter(pk=walk.handover_id).update(signed_at=timezone.now())
    Client().post(address, {"out": str(key)})
    assert Photo.objects.count() == 1, "signed"
    Handover.objects.update(signed_at=None)
    with django_capture_on_commit_callbacks(execute=True):
        Client().post(address, {"out": str(key)})
    assert not Photo.objects.exists()
    assert not files_in(uploads)
