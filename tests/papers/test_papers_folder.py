"""A folder of hand-outs: all of a new plan or all of the old one, no stale card, and nobody else's file touched."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from wetrun.errors import CannotWrite
from wetrun.papers.folder import write_all

NEW = {"tip-plan.pdf": b"new plan", "cab-card-b.pdf": b"new b", "cab-card-c.pdf": b"new c"}


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@pytest.fixture
def older(tmp_path):
    write_all(tmp_path, {"tip-plan.pdf": b"old plan", "cab-card-a.pdf": b"old a", "cab-card-b.pdf": b"old b"})
    return tmp_path


def test_a_new_plan_takes_the_place_of_the_old_one_and_its_stale_cards(older):
    lanes = {"lanes-a-us.svg": b"old", "lanes-a-si.svg": b"old"}
    for name, content in lanes.items():
        (older / name).write_bytes(content)
    assert [path.name for path in write_all(older, NEW)] == list(NEW)
    assert contents(older) == NEW


FOREIGN = (
    "cab-card-notes.txt",
    "cab-card-Uncle's.pdf",
    "cab-card-a.pdf.bak",
    "my-cab-card-a.pdf",
    "lanes-a.svg",
    "lanes-a-uk.svg",
    "tip-plan-signed.pdf",
    "season.toml",
    ".hidden",
)


def test_what_is_not_ours_is_never_touched(older):
    for name in FOREIGN:
        (older / name).write_bytes(name.encode())
    (older / "cab-card-photos.pdf").mkdir()
    write_all(older, NEW)
    assert contents(older) == NEW | {name: name.encode() for name in FOREIGN}
    assert (older / "cab-card-photos.pdf").is_dir()


def test_a_folder_in_the_way_of_one_paper_stops_all_of_them(older):
    before = contents(older)
    (older / "cab-card-c.pdf").mkdir()
    with pytest.raises(CannotWrite, match=r"cab-card-c\.pdf cannot be written: something that is no file") as refused:
        write_all(older, {"a-first.pdf": b"new", **NEW, "z-last.pdf": b"new"})
    assert "--out" in refused.value.remedy
    assert contents(older) == before


@pytest.mark.parametrize("fails_at", range(1, 8))
def test_a_failure_half_way_puts_everything_back(older, monkeypatch, fails_at):
    before, real, calls = contents(older), Path.replace, []

    def failing(self, target):
        calls.append(self)
        if len(calls) == fails_at:
            raise OSError(28, "No space left on device", str(self), None, str(target))
        return real(self, target)

    monkeypatch.setattr(Path, "replace", failing)
    # Three parts to place, two older files of the same names and one stale card to set aside: six moves in all.
    if fails_at > 6:
        write_all(older, NEW)
        assert contents(older) == NEW
        return
    with pytest.raises(CannotWrite, match="no space left on device"):
        write_all(older, NEW)
    assert contents(older) == before


def test_an_interruption_puts_everything_back_too(older, monkeypatch):
    before, real = contents(older), Path.replace

    def interrupted(self, target):
        if Path(target).name == "cab-card-c.pdf":
            raise KeyboardInterrupt
        return real(self, target)

    monkeypatch.setattr(Path, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_all(older, NEW)
    assert contents(older) == before


def test_folders_made_for_papers_that_cannot_be_written_go_again(tmp_path, monkeypatch):
    def full(self, mode="r", *args, **kwargs):
        raise OSError(28, "No space left on device", str(self))

    monkeypatch.setattr(Path, "open", full)
    with pytest.raises(CannotWrite):
        write_all(tmp_path / "new" / "deeper", NEW)
    assert not (tmp_path / "new").exists()


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write everywhere")
def test_a_protected_paper_stops_all_of_them(older):
    (older / "cab-card-b.pdf").chmod(0o444)
    before = contents(older)
    with pytest.raises(CannotWrite, match="protected against writing"):
        write_all(older, NEW)
    assert contents(older) == before
