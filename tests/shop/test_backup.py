"""Backups: taken while people write, checked to the last byte, put back whole, and never over anything unasked."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
import threading
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from tests.shop_serving import ROOT, chore, own_database, surroundings, until

from wetrun.shop.backups.archive import checked
from wetrun.shop.backups.manifest import FORMAT_VERSION, MEMBER
from wetrun.shop.folder import UNFINISHED_FILE, held

Environ = dict[str, str]
ON_SQLITE = not os.environ.get("DATABASE_URL", "").startswith("postgres")


@dataclass(frozen=True)
class Made:
    """A shop with people, records and files in it, and a backup of it."""

    data: Path
    environ: Environ
    backup: Path


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Made]:
    """Made once; each test gets a copy."""
    folder = tmp_path_factory.mktemp("made")
    data = folder / "shop"
    data.mkdir()
    with own_database() as environ:
        done(chore(data, "migrate", "-v0", "--skip-checks", environ=environ))
        subprocess.run(writer("seed"), env=surroundings(data, environ), check=True, cwd=ROOT, stdout=subprocess.DEVNULL)
        done(chore(data, "backup", str(folder / "shop.wetrun"), environ=environ))
        yield Made(data, environ, folder / "shop.wetrun")


@pytest.fixture
def around(made: Made) -> Iterator[Environ]:
    with own_database(like=made.environ) as environ:
        yield environ


@pytest.fixture
def elsewhere() -> Iterator[Environ]:
    """The environment of another shop: the one a backup is put back into."""
    with own_database() as environ:
        yield environ


@pytest.fixture
def shop(made: Made, tmp_path: Path) -> Path:
    return Path(shutil.copytree(made.data, tmp_path / "shop"))


@pytest.fixture
def backup(made: Made, tmp_path: Path) -> Path:
    return Path(shutil.copy2(made.backup, tmp_path / "shop.wetrun"))


def done(told: subprocess.CompletedProcess[str]) -> str:
    assert told.returncode == 0, told.stderr
    return told.stdout


def writer(*words: str) -> list[str]:
    return [sys.executable, "-m", "tests.shop_writers", *words]


def facts(data: Path, environ: Environ) -> dict[str, Any]:
    """What stands in a shop's database, asked for by a process of its own."""
    code = (
        "import json; from wetrun.shop.records.models import *; from wetrun.shop.accounts.models import User\n"
        "runs = {r.pk: [(str(x.entry), x.number) for x in r.readings.all()] for r in WetRun.objects.all()}\n"
        "told = set(Trail.objects.filter(kind='Customer').values_list('key', flat=True))\n"
        "made = {str(pk) for pk in Customer.objects.exclude(name='Low Fork Farm').values_list('pk', flat=True)}\n"
        "logins = sorted(User.objects.values_list('login', flat=True))\n"
        "print(json.dumps({'runs': runs, 'customers': sorted(made), 'told': sorted(told), 'logins': logins}))"
    )
    found: dict[str, Any] = json.loads(done(chore(data, "shell", "--no-imports", "-c", code, environ=environ)))
    return found


@contextmanager
def writing(data: Path, environ: Environ, threads: int) -> Iterator[list[str]]:
    """People who write to a shop; what was acknowledged to them so far."""
    acknowledged: list[str] = []
    with subprocess.Popen(
        writer("write", str(threads)),
        env=surroundings(data, environ),
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None
        assert process.stdin is not None
        reader = threading.Thread(target=acknowledged.extend, args=(process.stdout,))
        reader.start()
        assert until(lambda: len(acknowledged) > 10 or process.poll() is not None)
        try:
            yield acknowledged
        finally:
            process.stdin.close()
            reader.join()
    assert process.returncode == 0


def test_a_backup_taken_while_people_write_has_everything_acknowledged_before_it_and_nothing_half(
    shop: Path, around: Environ, elsewhere: Environ, tmp_path: Path
) -> None:
    with writing(shop, around, threads=4) as acknowledged:
        assert until(lambda: len(acknowledged) > 100)
        before = list(acknowledged)
        done(chore(shop, "backup", str(tmp_path / "during.wetrun"), environ=around))
        assert until(lambda: len(acknowledged) > 2 * len(before))
    there = tmp_path / "there"
    done(chore(there, "restore", str(tmp_path / "during.wetrun"), environ=elsewhere))
    found = facts(there, elsewhere)
    readings = {entry for run in found["runs"].values() for entry, _ in run}
    kept = {line.split()[1] for line in before}
    assert len(kept) > 60
    assert kept <= readings | set(found["customers"])
    assert found["customers"] == found["told"]
    for run in found["runs"].values():
        assert [number for _, number in run] == list(range(1, len(run) + 1))
    now = facts(shop, around)
    assert len(now["customers"]) > len(found["customers"])


def test_what_is_put_back_is_what_was_there_files_and_all(
    shop: Path, backup: Path, around: Environ, elsewhere: Environ, tmp_path: Path
) -> None:
    told = done(chore(tmp_path / "there", "restore", str(backup), environ=elsewhere))
    assert "1 uploads, 1 ledgers" in told
    assert facts(tmp_path / "there", elsewhere) == facts(shop, around)
    for name in ("uploads/a1/log.csv", "ledgers/ab.tallied"):
        there = tmp_path / "there" / name
        assert there.read_bytes() == (shop / name).read_bytes()
        assert there.stat().st_mode & 0o077 == 0
    assert not list((tmp_path / "there").glob(".restore*"))
    assert "No migrations to apply" in done(chore(tmp_path / "there", "migrate", "--skip-checks", environ=elsewhere))


def test_a_file_that_is_still_coming_in_is_left_out(shop: Path, around: Environ, tmp_path: Path) -> None:
    (shop / "uploads" / "incoming").mkdir()
    (shop / "uploads" / "incoming" / "half").write_bytes(b"half")
    done(chore(shop, "backup", str(tmp_path / "b.wetrun"), environ=around))
    names = [part.name for part in checked(tmp_path / "b.wetrun").parts]
    assert "uploads/a1/log.csv" in names
    assert not [name for name in names if "incoming" in name]


def test_a_backup_is_its_owner_s_alone_and_holds_no_secret_key(shop: Path, backup: Path) -> None:
    (shop / "secret-key").write_text("s" * 60)
    assert backup.stat().st_mode & 0o777 == 0o600
    with zipfile.ZipFile(backup) as opened:
        assert not [name for name in opened.namelist() if "key" in name]
        assert {name.partition("/")[0] for name in opened.namelist()} <= {
            MEMBER, "database.sqlite3", "database.sql", "uploads", "ledgers",
        }  # fmt: skip


def test_a_file_that_is_there_is_written_over_only_if_that_is_said(shop: Path, backup: Path, around: Environ) -> None:
    before = backup.read_bytes()
    refused = chore(shop, "backup", str(backup), environ=around)
    assert refused.returncode == 6
    assert "there is a file of this name" in refused.stderr
    assert backup.read_bytes() == before
    done(chore(shop, "backup", str(backup), "--force", environ=around))
    assert [file.name for file in backup.parent.iterdir() if file.name.startswith(".")] == []


def test_a_place_that_cannot_be_written_is_told_in_a_sentence(shop: Path, around: Environ, tmp_path: Path) -> None:
    refused = chore(shop, "backup", str(tmp_path / "nowhere" / "b.wetrun"), environ=around)
    assert refused.returncode == 6
    assert "b.wetrun cannot be written: no such file or directory" in refused.stderr


def test_folders_may_be_left_out_and_stay_as_they_are_when_it_is_put_back(
    shop: Path, around: Environ, tmp_path: Path
) -> None:
    file = tmp_path / "lean.wetrun"
    told = done(chore(shop, "backup", str(file), "--without-uploads", "--without-ledgers", environ=around))
    assert "uploads left out, ledgers left out" in told
    done(chore(shop, "restore", str(file), "--force", environ=around))
    assert (shop / "uploads" / "a1" / "log.csv").exists()
    assert facts(shop, around)["logins"] == ["specialist", "technician"]


def test_a_shop_that_is_there_is_not_replaced_unasked(shop: Path, backup: Path, around: Environ) -> None:
    before = facts(shop, around)
    refused = chore(shop, "restore", str(backup), environ=around)
    assert refused.returncode == 2
    assert "a shop is kept there already" in refused.stderr
    assert facts(shop, around) == before
    shutil.rmtree(shop / "uploads")
    shutil.rmtree(shop / "ledgers")
    refused = chore(shop, "restore", str(backup), environ=around)
    assert "the database has people in it" in refused.stderr


def test_a_shop_that_is_replaced_is_moved_aside_and_not_lost(shop: Path, backup: Path, around: Environ) -> None:
    with writing(shop, around, threads=1):
        pass
    after = facts(shop, around)
    assert after["customers"]
    told = done(chore(shop, "restore", str(backup), "--force", environ=around))
    assert facts(shop, around)["customers"] == []
    (aside,) = shop.glob("replaced-*")
    assert str(aside) in told
    assert (aside / "uploads" / "a1" / "log.csv").exists()
    if ON_SQLITE:
        for file in aside.glob("shop.sqlite3*"):
            shutil.move(file, shop / file.name)
    else:
        done(chore(shop, "restore", str(aside / "database.wetrun"), "--force", environ=around))
    assert facts(shop, around) == after


def test_a_shop_that_runs_is_not_replaced(shop: Path, backup: Path, around: Environ) -> None:
    with held(shop):
        refused = chore(shop, "restore", str(backup), "--force", environ=around)
    assert refused.returncode == 8
    assert "a running shop is using this data folder" in refused.stderr


def changed(backup: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    """The same backup with something done to it."""
    with zipfile.ZipFile(backup) as opened:
        members = {name: opened.read(name) for name in opened.namelist()}
    change(members)
    with zipfile.ZipFile(backup, "w", zipfile.ZIP_DEFLATED) as target:
        for name, content in members.items():
            target.writestr(name, content)
    return backup


def in_manifest(**values: Any) -> Callable[[dict[str, bytes]], None]:
    def change(members: dict[str, bytes]) -> None:
        members[MEMBER] = json.dumps({**json.loads(members[MEMBER]), **values}).encode()

    return change


def other_database(members: dict[str, bytes]) -> None:
    manifest = json.loads(members[MEMBER])
    other = "postgresql" if manifest["database"] == "sqlite" else "sqlite"
    new = {"sqlite": "database.sqlite3", "postgresql": "database.sql"}
    for part in manifest["parts"]:
        if part["name"] == new[manifest["database"]]:
            members[new[other]] = members.pop(part["name"])
            part["name"] = new[other]
    manifest["database"] = other
    members[MEMBER] = json.dumps(manifest).encode()


def escaping(members: dict[str, bytes]) -> None:
    manifest = json.loads(members[MEMBER])
    part = next(part for part in manifest["parts"] if part["name"] == "uploads/a1/log.csv")
    part["name"] = "uploads/../../outside"
    members[part["name"]] = members.pop("uploads/a1/log.csv")
    members[MEMBER] = json.dumps(manifest).encode()


def one_byte(members: dict[str, bytes]) -> None:
    members["uploads/a1/log.csv"] = b"X" + members["uploads/a1/log.csv"][1:]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (one_byte, "uploads/a1/log.csv: its content is not what was written (SHA-256 differs)"),
        (lambda members: members.update({"uploads/a1/log.csv": b""}), "it is 0 bytes long instead of 10000"),
        (lambda members: members.pop("ledgers/ab.tallied"), "it holds other files than it names"),
        (lambda members: members.update({"uploads/more": b""}), "it holds other files than it names"),
        (lambda members: members.pop(MEMBER), "this is no backup of a shop"),
        (in_manifest(format_version=FORMAT_VERSION + 1), "format version 2; this Wetrun reads up to 1"),
        (in_manifest(format="something else"), "manifest.json format"),
        (in_manifest(parts=[]), "it does not name every part once"),
        (in_manifest(migrations=[["records", "0999_of_next_year"]]), "newer Wetrun (records 0999_of_next_year)"),
        (escaping, "is no place in a data folder"),
        (other_database, "it is of a shop on"),
    ],
)  # fmt: skip
def test_what_is_damaged_newer_or_of_another_kind_is_refused_and_nothing_is_touched(
    backup: Path, elsewhere: Environ, tmp_path: Path, change: Callable[[dict[str, bytes]], None], told: str
) -> None:
    changed(backup, change)
    refused = chore(tmp_path / "there", "restore", str(backup), environ=elsewhere)
    assert refused.returncode == 2
    assert told in refused.stderr
    assert "Traceback" not in refused.stderr
    assert [file.name for file in (tmp_path / "there").iterdir()] == ["in-use.lock"]
    assert not (tmp_path / "outside").exists()


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9])
def test_a_backup_cut_off_is_refused(backup: Path, share: float) -> None:
    whole = backup.read_bytes()
    backup.write_bytes(whole[: int(len(whole) * share)])
    refused = chore(backup.parent, "check_backup", str(backup))
    assert refused.returncode == 2
    assert "it cannot be read" in refused.stderr


def test_a_byte_that_turned_on_the_disk_is_found(backup: Path) -> None:
    assert "As it was written" in done(chore(backup.parent, "check_backup", str(backup)))
    content = bytearray(backup.read_bytes())
    content[len(content) // 2] ^= 0x40
    backup.write_bytes(content)
    refused = chore(backup.parent, "check_backup", str(backup))
    assert refused.returncode == 2
    assert refused.stderr.startswith(str(backup))


def test_checking_a_backup_asks_no_database(backup: Path) -> None:
    assert len(checked(backup).parts) == 3


@pytest.mark.skipif(not ON_SQLITE, reason="a file that is damaged is SQLite's trouble")
def test_a_damaged_database_is_not_backed_up_and_can_be_replaced(
    shop: Path, backup: Path, around: Environ, tmp_path: Path
) -> None:
    with sqlite3.connect(shop / "shop.sqlite3") as opened:
        opened.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    file = shop / "shop.sqlite3"
    content = bytearray(file.read_bytes())
    content[8192:40960] = bytes(32768)
    file.write_bytes(content)
    refused = chore(shop, "backup", str(tmp_path / "bad.wetrun"), environ=around)
    assert refused.returncode in {2, 8}
    assert "Traceback" not in refused.stderr
    assert not (tmp_path / "bad.wetrun").exists()
    done(chore(shop, "restore", str(backup), "--force", environ=around))
    assert facts(shop, around)["logins"] == ["specialist", "technician"]


def test_a_restore_that_was_broken_off_is_run_again_without_force(shop: Path, backup: Path, around: Environ) -> None:
    (shop / UNFINISHED_FILE).touch()
    if ON_SQLITE:
        (shop / "shop.sqlite3").unlink()
    done(chore(shop, "restore", str(backup), environ=around))
    assert not (shop / UNFINISHED_FILE).exists()
    assert facts(shop, around)["logins"] == ["specialist", "technician"]


@pytest.mark.skipif(ON_SQLITE, reason="PostgreSQL's own programs back up PostgreSQL")
def test_without_postgresql_s_programs_it_says_what_to_install(shop: Path, around: Environ, tmp_path: Path) -> None:
    refused = chore(shop, "backup", str(tmp_path / "b"), environ={**around, "PATH": str(tmp_path)})
    assert refused.returncode == 8
    assert "pg_dump: it is not installed here" in refused.stderr
