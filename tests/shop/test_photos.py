"""Photos of a walk round: told by content, bounded before they are unpacked, upright, without the place, for few."""

from __future__ import annotations

import io
import json
import os
import zipfile
import zlib
from contextlib import suppress
from datetime import timedelta
from html import unescape
from pathlib import Path

import pytest
from django.test import Client
from django.utils import timezone
from PIL import Image
from pytest_django import Settings
from tests.shop_cases import make_user
from tests.shop_jobs import make_worker
from tests.shop_photos import CAMERA, photo_bytes, png_bomb, png_chunk, sent_photo

from wetrun.machine.walk_round import WALK
from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Role
from wetrun.shop.answers import photos
from wetrun.shop.answers.photo_pixels import LONGEST_SIDE, MOST_PIXELS, NoPhoto, clean_photo
from wetrun.shop.backups.making import files_of
from wetrun.shop.handing.models import Photo
from wetrun.shop.records.models import Handover, Machine

LOOK = "leaks"


@pytest.fixture(autouse=True)
def uploads(settings: Settings, tmp_path: Path) -> Path:
    settings.UPLOADS = tmp_path / "uploads"
    return tmp_path / "uploads"


@pytest.fixture
def handover(machine: Machine) -> Handover:
    checks = [{"key": look.key, "found": "right", "remark": ""} for look in WALK]
    return Handover.objects.create(branch=machine.branch, machine=machine, operator="B. Cole", checks=checks)


def send(client: Client, handover: Handover, data: bytes | None = None, look: str = LOOK, **more: str):
    return client.post(f"/handovers/{handover.pk}/photos/", {"look": look, "photo": sent_photo(data, **more)})


def work() -> None:
    make_worker(timezone.now).run(0, once=True)


def files_in(folder: Path) -> list[Path]:
    return sorted(file for file in folder.rglob("*") if file.is_file())


def clean(tmp_path: Path, data: bytes) -> Image.Image:
    file = tmp_path / "came"
    file.write_bytes(data)
    return Image.open(io.BytesIO(clean_photo(file).jpeg))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_nothing_but_pixels_is_kept(tmp_path: Path, kind: str) -> None:
    data = photo_bytes(kind)
    with Image.open(io.BytesIO(data)) as came:
        assert came.getexif().get_ifd(0x8825), "the photo that comes in knows where it was taken"
    image = clean(tmp_path, data)
    assert (image.format, image.mode, image.size) == ("JPEG", "RGB", (320, 200))
    assert dict(image.getexif()) == {}
    assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert CAMERA.encode() in data
    assert CAMERA.encode() not in clean_photo(tmp_path / "came").jpeg


def test_a_comment_and_a_profile_stay_behind_too(tmp_path: Path) -> None:
    data = photo_bytes(comment=b"taken at Mill road", icc_profile=b"profile of some screen")
    assert b"Mill road" in data
    (tmp_path / "came").write_bytes(data)
    jpeg = clean_photo(tmp_path / "came").jpeg
    assert not any(words in jpeg for words in (b"Mill road", b"profile of", CAMERA.encode(), b"Exif"))


# What has to be where after it was turned upright: EXIF 2.32, table of Orientation; red is the sensor's left.
@pytest.mark.parametrize(
    ("turned", "size", "red", "blue"),
    [
        (1, (320, 200), (20, 100), (300, 100)),
        (3, (320, 200), (300, 100), (20, 100)),
        (6, (200, 320), (100, 20), (100, 300)),
        (8, (200, 320), (100, 300), (100, 20)),
    ],
)
def test_a_photo_stands_upright(
    tmp_path: Path, turned: int, size: tuple[int, int], red: tuple[int, int], blue: tuple[int, int]
) -> None:
    image = clean(tmp_path, photo_bytes(turned=turned))
    assert image.size == size
    (r, _, b), (other_r, _, other_b) = image.getpixel(red), image.getpixel(blue)  # type: ignore[misc]
    assert (r > 150, b < 50) == (other_b > 150, other_r < 50) == (True, True)


def test_a_large_photo_is_made_small_enough_to_load_in_the_yard(tmp_path: Path) -> None:
    image = clean(tmp_path, photo_bytes(wide=4000, high=3000))
    assert image.size == (LONGEST_SIDE, LONGEST_SIDE * 3 // 4)


def test_what_can_be_seen_through_comes_out_white(tmp_path: Path) -> None:
    held = io.BytesIO()
    Image.new("RGBA", (40, 40), (0, 0, 0, 0)).save(held, "PNG")
    assert clean(tmp_path, held.getvalue()).getpixel((5, 5)) == (255, 255, 255)


def test_a_bomb_is_refused_before_it_is_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> None:
        pytest.fail("it was unpacked")

    monkeypatch.setattr(Image.Image, "load", never)
    monkeypatch.setattr("PIL.ImageFile.ImageFile.load", never)
    for wide, high in ((8000, MOST_PIXELS // 8000 + 1), (30_000, 30_000), (65_000, 65_000)):
        file = tmp_path / "came"
        file.write_bytes(png_bomb(wide, high))
        assert file.stat().st_size < 500_000
        with pytest.raises(NoPhoto, match="more than 50 million pixels"):
            clean_photo(file)


def test_a_text_that_unpacks_to_a_flood_is_refused(tmp_path: Path) -> None:
    flood = png_chunk(b"zTXt", b"Comment\x00\x00" + zlib.compress(b"\x00" * 50_000_000, 9))
    with pytest.raises(NoPhoto, match="broken"):
        clean(tmp_path, png_bomb(8, 8, flood))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_that_broke_off_or_was_spoiled_is_refused_in_a_sentence(tmp_path: Path, kind: str) -> None:
    whole = photo_bytes(kind)
    with pytest.raises(NoPhoto, match="broken or not whole"):
        clean(tmp_path, whole[: len(whole) // 3])
    for at in range(12, len(whole), len(whole) // 30):  # whatever byte is spoiled, nothing else is raised
        with suppress(NoPhoto):
            clean(tmp_path, whole[:at] + bytes([whole[at] ^ 0xFF]) + whole[at + 1 :])


def test_a_photo_is_looked_at_by_the_worker_and_only_then_shown(
    specialist: Client, handover: Handover, uploads: Path
) -> None:
    assert send(specialist, handover, photo_bytes(turned=6)).status_code == 302
    photo = Photo.objects.get()
    page = specialist.get(f"/handovers/{handover.pk}/photos/").content.decode()
    assert "being looked at" in page
    assert "<img" not in page
    assert specialist.get(f"/photos/{photo.pk}.jpg").status_code == 404
    work()
    photo.refresh_from_db()
    assert (photo.state, photo.wide, photo.high) == ("ready", 200, 320)
    (file,) = files_in(uploads)
    assert file == uploads / photo.stored
    assert file.stat().st_mode & 0o777 == 0o600
    assert CAMERA.encode() not in file.read_bytes(), "what came in is gone, with the place in it"
    page = specialist.get(f"/handovers/{handover.pk}/photos/").content.decode()
    assert f'src="/photos/{photo.pk}.jpg"' in page
    assert "being looked at" not in page


def test_a_photo_is_served_so_that_it_can_do_nothing(
    specialist: Client, viewer: Client, stranger: Client, handover: Handover
) -> None:
    send(specialist, handover)
    work()
    address = f"/photos/{Photo.objects.get().pk}.jpg"
    answer = viewer.get(address)
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer["Content-Security-Policy"]
    assert answer["Cache-Control"].startswith("private")
    assert answer["Content-Disposition"].startswith("inline")
    assert stranger.get(address).status_code == 404
    assert Client().get(address).status_code == 302
    for guess in ("photos", "uploads", "media"):
        assert viewer.get(f"/{guess}/{Photo.objects.get().stored}").status_code == 404


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>", "This is no photo"),
        (b"GIF89a" + b"\x00" * 60, "This is no photo"),
        (b"%PDF-1.7 and so on", "This is no photo"),
        (b"\x00\x00\x00\x20ftypheic" + b"\x00" * 60, "most compatible"),
        (b"", "The photo is empty"),
    ],
)
def test_what_is_no_photo_is_refused_at_once_whatever_it_is_called(
    specialist: Client, handover: Handover, uploads: Path, data: bytes, words: str
) -> None:
    page = unescape(send(specialist, handover, data, name="photo.jpg").content.decode())
    assert words in page
    assert not Photo.objects.exists()
    assert not files_in(uploads)


def test_what_only_begins_like_a_photo_is_refused_by_the_worker_and_its_file_is_gone(
    specialist: Client, handover: Handover, uploads: Path
) -> None:
    send(specialist, handover, png_bomb(30_000, 30_000))
    work()
    photo = Photo.objects.get()
    assert photo.state == "refused"
    assert "more than 50 million pixels" in specialist.get(f"/handovers/{handover.pk}/photos/").content.decode()
    assert not files_in(uploads)
    assert specialist.get(f"/photos/{photo.pk}.jpg").status_code == 404


def test_a_photo_too_large_is_said_beside_the_field(specialist: Client, handover: Handover, settings: Settings) -> None:
    settings.MOST_PHOTO_BYTES = 1_000
    page = unescape(send(specialist, handover).content.decode())
    assert "1000\xa0bytes is the most" in page
    settings.MOST_SENT_PHOTO_BYTES = 900
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 900
    assert send(specialist, handover).status_code == 413
    assert not Photo.objects.exists()


def test_photos_are_counted_by_point_and_by_handover_and_none_is_kept_twice(
    specialist: Client, handover: Handover, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photos, "MOST_AT_A_POINT", 2)
    monkeypatch.setattr(photos, "MOST_PHOTOS", 3)

    def said(look: str, wide: int) -> str:
        answer = send(specialist, handover, photo_bytes(wide=wide), look)
        return "" if answer.status_code == 302 else unescape(answer.content.decode())

    assert said("leaks", 50) == said("leaks", 52) == said("hoses", 50) == ""
    assert "is here already" in said("leaks", 50)
    assert "2 photos of this point are here" in said("leaks", 54)
    assert "3 photos of this handover are here" in said("tips", 56)
    assert Photo.objects.count() == 3


def test_a_photo_is_taken_away_with_its_file_until_it_is_signed(
    specialist: Client,
    viewer: Client,
    handover: Handover,
    uploads: Path,
    django_capture_on_commit_callbacks,
) -> None:
    for wide in (50, 60):
        send(specialist, handover, photo_bytes(wide=wide))
    work()
    first, second = Photo.objects.all()
    assert viewer.post(f"/photos/{first.pk}/take-away/").status_code == 403
    with django_capture_on_commit_callbacks(execute=True):
        specialist.post(f"/photos/{first.pk}/take-away/")
    assert files_in(uploads) == [uploads / second.stored]
    Handover.objects.update(signed_at=timezone.now())
    signed = "This handover is signed"
    assert signed in specialist.post(f"/photos/{second.pk}/take-away/", follow=True).content.decode()
    assert "It is signed: photos stay" in send(specialist, handover, photo_bytes(wide=70)).content.decode()
    assert Photo.objects.get() == second
    page = specialist.get(f"/handovers/{handover.pk}/").content.decode()
    assert f'src="/photos/{second.pk}.jpg"' in page


def test_what_a_dead_worker_left_is_swept_and_what_waits_is_not(
    specialist: Client, handover: Handover, uploads: Path
) -> None:
    send(specialist, handover)
    waits = uploads / Photo.objects.get().stored
    left = waits.with_name("left.jpg")
    left.write_bytes(b"with a place in it")
    long_ago = (timezone.now() - timedelta(hours=2)).timestamp()
    for file in (left, waits):
        os.utime(file, (long_ago, long_ago))
    photos.swept()
    assert (left.exists(), waits.exists()) == (False, True)
    work()
    assert [file.parent.parent.name for file in files_in(uploads)] == ["photos"]


def test_photos_are_handed_over_backed_up_and_erased_with_the_customer_s_data(
    branch: Branch,
    specialist: Client,
    handover: Handover,
    uploads: Path,
    django_capture_on_commit_callbacks,
) -> None:
    send(specialist, handover)
    work()
    photo, customer = Photo.objects.get(), handover.machine.customer
    boss = Client()
    boss.force_login(make_user(branch, Role.MANAGER, "boss"))
    with zipfile.ZipFile(io.BytesIO(boss.get(f"/customers/{customer.pk}/export/").content)) as handed:
        assert handed.read(f"photos/{photo.pk}.jpg") == (uploads / photo.stored).read_bytes()
        (row,) = json.loads(handed.read("data.json"))["kept"]["Photo"]
        assert (row["look"], row["handover"]) == (LOOK, handover.pk)
    page = unescape(boss.get(f"/customers/{customer.pk}/erase/").content.decode())
    assert "1 file" in page
    with django_capture_on_commit_callbacks(execute=True):
        boss.post(f"/customers/{customer.pk}/erase/", {"name": customer.name})
    assert not files_in(uploads)
    assert not Photo.objects.exists()
    assert Handover.objects.filter(pk=handover.pk).exists()


def test_a_backup_holds_the_photos(specialist: Client, handover: Handover, uploads: Path) -> None:
    send(specialist, handover)
    work()
    stored = Photo.objects.get().stored
    assert dict(files_of(("uploads",))) == {f"uploads/{stored}": uploads / stored}
