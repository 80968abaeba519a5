"""The ledger cache: what comes out is what went in, damage is known, a copy costs nothing, a new method asks again."""

from __future__ import annotations

import os
import re
import shutil
import threading
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.fleet_cases import AnyOrder, Unwatched, work_in, write_fleet, write_log

import wetrun
from wetrun.errors import CannotWrite
from wetrun.fieldlog import ledger
from wetrun.fieldlog.ledger import ledger_as_arrays
from wetrun.fieldlog.readers.formats import traces_in
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.working_writer import write_trace
from wetrun.fieldlog.tallied import TurnQuestion, tallied
from wetrun.fieldlog.tally import stored_entries
from wetrun.fleet import keys
from wetrun.fleet.cache import LedgerCache, default_folder
from wetrun.fleet.engine import InOrder
from wetrun.fleet.entries import FORMAT_VERSION, Entry, entry_as_bytes, entry_from_bytes
from wetrun.fleet.keys import log_key, source_digest
from wetrun.fleet.tally_task import LogOutcome, LogTask, mapping_words, outcome_of
from wetrun.fleet.tallying import Keeping, outcomes_of

ONE = TurnQuestion((-12.0, 0.0, 12.0), 1.2)
OTHER = TurnQuestion((-12.0, 0.0, 12.0), float("inf"))
KEY = "ab" * 20


def entry(folder: Path, *questions: TurnQuestion, name: str = "a.csv", seed: int = 1) -> Entry:
    return Entry(name, (tallied(traces_in(write_log(folder / name, seed))[0], questions),), ("part two: no width.",))


def bits(found: Entry) -> str:
    arrays = [
        value.tobytes() if hasattr(value, "tobytes") else repr(value)
        for log in found.logs
        for value in (*ledger_as_arrays(log.ledger).values(), *stored_entries(log.rate))
    ]
    said = [(log.drive, log.facts, log.full_width_m, log.turns) for log in found.logs]
    return repr((found.name, found.aside, arrays, said))


def task(path: Path, cache: Path, *questions: TurnQuestion, column_map: Path | None = None) -> LogTask:
    return LogTask(path=path, parts=(path,), column_map=column_map, questions=questions, cache=cache)


def test_an_entry_comes_back_bit_by_bit(tmp_path: Path) -> None:
    before = entry(tmp_path, ONE, OTHER)
    assert bits(entry_from_bytes(entry_as_bytes(before))) == bits(before)
    assert entry_as_bytes(before) == entry_as_bytes(entry_from_bytes(entry_as_bytes(before)))


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return entry_as_bytes(entry(tmp_path_factory.mktemp("stored"), ONE))


@given(at=st.floats(0, 1, exclude_max=True), bit=st.integers(0, 7))
@settings(max_examples=200)
def test_no_flipped_bit_goes_unseen(stored: bytes, at: float, bit: int) -> None:
    place = int(at * len(stored))
    with pytest.raises(ValueError, match="damaged"):
        entry_from_bytes(stored[:place] + bytes([stored[place] ^ 1 << bit]) + stored[place + 1 :])


@given(st.floats(0, 1, exclude_max=True))
@settings(max_examples=50)
def test_no_cut_goes_unseen(stored: bytes, share: float) -> None:
    with pytest.raises(ValueError, match="damaged"):
        entry_from_bytes(stored[: int(share * len(stored))])


def test_an_entry_of_a_later_version_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("wetrun.fleet.entries.FORMAT_VERSION", FORMAT_VERSION + 1)
    later = entry_as_bytes(entry(tmp_path))
    monkeypatch.undo()
    with pytest.raises(ValueError, match=f"format_version {FORMAT_VERSION + 1}"):
        entry_from_bytes(later)


def test_what_is_damaged_is_dropped_and_made_anew_and_said(tmp_path: Path) -> None:
    path, cache = write_log(tmp_path / "a.csv", 1), LedgerCache(tmp_path / "cache")
    first = outcome_of(task(path, cache.folder))
    assert outcome_of(task(path, cache.folder)) == LogOutcome(key=first.key, state=first.state, known=True)
    whole = bits(cache.found(first.key)[0] or pytest.fail("nothing was kept"))
    kept = next(cache.folder.glob("*/*"))
    kept.write_bytes(kept.read_bytes()[:-1])
    again = outcome_of(task(path, cache.folder))
    assert not again.known
    assert "could not be used (it is damaged) and was made anew" in again.note
    assert bits(cache.found(first.key)[0] or pytest.fail("nothing was kept")) == whole


def test_the_same_bytes_are_never_tallied_twice_whatever_the_file_is_called(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache = LedgerCache(tmp_path / "cache")
    first = outcome_of(task(write_log(tmp_path / "a.csv", 1), cache.folder, ONE))
    copy = Path(shutil.copy(tmp_path / "a.csv", tmp_path / "another name.csv"))
    monkeypatch.setattr("wetrun.fleet.tally_task.reading_of", lambda *_: pytest.fail("it was read again"))
    again = outcome_of(task(copy, cache.folder, ONE))
    assert (again.key, again.known) == (first.key, True)
    kept, _ = cache.found(again.key)
    assert kept is not None
    assert kept.logs[0].facts.file == "a.csv"
    assert kept.told_as("another name.csv").logs[0].facts.file == "another name.csv"


def test_a_new_question_is_answered_beside_the_old_ones(tmp_path: Path) -> None:
    path, cache = write_log(tmp_path / "a.csv", 1), LedgerCache(tmp_path / "cache")
    key = outcome_of(task(path, cache.folder, ONE)).key
    assert not outcome_of(task(path, cache.folder, OTHER)).known
    kept, _ = cache.found(key)
    assert kept is not None
    assert kept.answers([ONE, OTHER])
    assert outcome_of(task(path, cache.folder, ONE, OTHER)).known


@pytest.mark.parametrize("change", ["byte", "map", "ledger number", "source"])
def test_the_key_changes_with_all_that_decides_the_numbers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, change: str
) -> None:
    path = write_log(tmp_path / "a.csv", 1)
    keys.method_words.cache_clear()
    before, words = log_key([path], ""), ""
    if change == "byte":
        path.write_bytes(path.read_bytes()[:-2] + b"1\n")
    elif change == "map":
        words = mapping_words(
            mapping_from('format_version = 1\n[boom]\nfull_width = { value = 9, unit = "m" }', file="")
        )
    elif change == "ledger number":
        monkeypatch.setattr(ledger, "METHOD_NUMBER", ledger.METHOD_NUMBER + 1)
    else:
        root = shutil.copytree(
            Path(wetrun.__file__).parent, tmp_path / "wetrun", ignore=shutil.ignore_patterns("*.ttf")
        )
        assert source_digest(root) == source_digest(Path(wetrun.__file__).parent)
        with (root / "fieldlog" / "cleaning.py").open("a", encoding="utf-8") as cleaning:
            cleaning.write("# another rule\n")
        monkeypatch.setattr(wetrun, "__file__", str(root / "__init__.py"))
    keys.method_words.cache_clear()
    assert log_key([path], words) != before
    monkeypatch.undo()
    keys.method_words.cache_clear()


def test_the_names_in_a_set_count_and_their_order_does_not(tmp_path: Path) -> None:
    one, two, three = (write_log(tmp_path / f"{name}.bin", seed) for name, seed in (("a", 1), ("b", 2), ("c", 2)))
    assert log_key([one, two], "") == log_key([two, one], "")
    assert log_key([one, two], "") != log_key([one, three], "")
    assert log_key([two], "") == log_key([three], "")


def test_many_may_put_the_same_log_at_once(tmp_path: Path) -> None:
    cache, made, failed = LedgerCache(tmp_path / "cache"), entry(tmp_path, ONE), list[str]()

    def put_and_look() -> None:
        for _ in range(10):
            cache.put(KEY, made)
            found, wrong = cache.found(KEY)
            if found is None or wrong or bits(found) != bits(made):
                failed.append(wrong or "gone")

    threads = [threading.Thread(target=put_and_look) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    assert [file.name for file in cache.folder.glob("*/*")] == [f"{KEY}.tallied"]


def test_half_written_leavings_go_after_a_day(tmp_path: Path) -> None:
    cache = LedgerCache(tmp_path)
    (tmp_path / "ab").mkdir()
    old, young = tmp_path / "ab" / ".x.part", tmp_path / "ab" / ".y.part"
    for part in (old, young):
        part.write_bytes(b"half")
    os.utime(old, (0, 0))
    cache.sweep()
    assert not old.exists()
    assert young.exists()


def test_a_cache_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "cache").write_text("a file, not a folder", encoding="utf-8")
    with pytest.raises(CannotWrite, match="--cache"):
        LedgerCache(tmp_path / "cache").put(KEY, entry(tmp_path))


def test_a_full_disk_ends_the_run_and_is_not_put_down_to_the_logs(tmp_path: Path) -> None:
    write_fleet(tmp_path, logs=2, machines=("north",))
    keeping = Keeping(LedgerCache(tmp_path / "cache"), None)
    (tmp_path / "cache").write_text("nothing can be put into a file", encoding="utf-8")
    with pytest.raises(CannotWrite, match="Free the place, or name another folder with --cache"):
        outcomes_of(work_in(tmp_path, tmp_path / "cache"), InOrder(), keeping, watcher=Unwatched())


def test_copies_are_looked_at_when_the_first_is_done(tmp_path: Path) -> None:
    write_fleet(tmp_path, logs=2)
    copy = shutil.copy(tmp_path / "logs" / "north" / "0.csv", tmp_path / "logs" / "south" / "copy.csv")
    work, tallied_now = work_in(tmp_path, tmp_path / "cache"), list[str]()

    def tally(task: LogTask) -> LogOutcome:
        outcome = outcome_of(task)
        tallied_now.extend([] if outcome.known else [task.path.name])
        return outcome

    assert [log.log_set.path for log in work.repeats] == [Path(copy)]
    keeping = Keeping(LedgerCache(tmp_path / "cache"), None)
    found = outcomes_of(work, AnyOrder(1), keeping, watcher=Unwatched(), tally=tally)
    assert sorted(tallied_now) == ["0.csv", "0.csv", "1.csv", "1.csv", "stop.csv"]
    assert next(outcome.known for log, outcome in found.items() if log.log_set.path == Path(copy))


def test_the_default_folder_is_the_user_s_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert default_folder() == tmp_path / "wetrun" / "ledgers"
    monkeypatch.setenv("XDG_CACHE_HOME", "not absolute")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert default_folder() == tmp_path / ".cache" / "wetrun" / "ledgers"


def test_a_log_that_grows_while_it_is_read_is_not_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from wetrun.fleet import reading, tally_task

    path, read = write_log(tmp_path / "a.csv", 1), reading.reading_of

    def slowly(*given: object) -> object:
        found = read(*given)  # type: ignore[arg-type]
        with path.open("a", encoding="utf-8") as growing:
            growing.write("more\n")
        return found

    monkeypatch.setattr(tally_task, "reading_of", slowly)
    outcome = outcome_of(task(path, tmp_path / "cache"))
    assert "a.csv: it changed while it was read" in outcome.refused
    assert not list((tmp_path / "cache").glob("*/*"))


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (PermissionError(13, "Permission denied"), r"it cannot be read \(permission denied\)"),
        (MemoryError(), "too little memory"),
        (ZeroDivisionError("division by zero"), r"Wetrun failed on it \(ZeroDivisionError: division by zero\)"),
    ],
)
def test_whatever_goes_wrong_on_a_log_comes_back_as_its_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: Exception, said: str
) -> None:
    def fails(*_: object) -> None:
        raise fault

    monkeypatch.setattr("wetrun.fleet.tally_task.reading_of", fails)
    outcome = outcome_of(task(write_log(tmp_path / "a.csv", 1), tmp_path / "cache"))
    assert outcome.key == ""
    assert re.search(f"^a.csv: .*{said}", outcome.refused)


def test_a_working_file_is_tallied_piece_by_piece_as_the_log_it_was_made_from(tmp_path: Path) -> None:
    trace = traces_in(write_log(tmp_path / "a.csv", 1))[0]
    write_trace(tmp_path / "a.parquet", [trace])
    cache, made = LedgerCache(tmp_path / "cache"), list[str]()
    for name in ("a.csv", "a.parquet"):
        found, _ = cache.found(outcome_of(task(tmp_path / name, cache.folder, ONE)).key)
        assert found is not None
        made.append(bits(replace(found, name="")))
    assert made[0] == made[1]
