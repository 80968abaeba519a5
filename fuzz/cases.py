"""One case: a small valid log, damaged, read through the one door, and everything done with what comes out."""

from __future__ import annotations

import gzip
import json
import random
import shutil
import zipfile
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

import numpy as np
from tests.fieldlog.log_samples import SAMPLES

from fuzz.damage import damaged
from wetrun.cli.log_text import set_as_data
from wetrun.errors import InputProblems, LogRefused
from wetrun.fieldlog.cleaning import FASTEST_MPS
from wetrun.fieldlog.ledger import ledger_of, merged
from wetrun.fieldlog.readers.formats import read_logs
from wetrun.fieldlog.readers.found import FoundLog, FoundLogs, PassedOver
from wetrun.fieldlog.readers.limits import Limits
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.trace import usable
from wetrun.papers.log_words import set_lines
from wetrun.papers.reader import Reader
from wetrun.quantity import System

SAMPLES_PER_FORMAT: Final = 24
TIGHT: Final = Limits(most_file_bytes=64 << 20, most_unpacked_bytes=128 << 20, most_records=2_000_000, most_files=200)
BOOM: Final = 'format_version = 1\n[boom]\nfull_width = { value = 36, unit = "m" }'
READER: Final = Reader(System.US)

LISTED_AT_THE_END: Final = b"PAR1"

Files = Mapping[str, bytes]


@dataclass(frozen=True, slots=True)
class Case:
    """Which case it is: the format, the number within it, and the seed of the run; the same three make it again."""

    format: str
    number: int
    seed: int

    @property
    def chance(self) -> random.Random:
        """The case's own source of chance."""
        return random.Random(f"{self.seed}/{self.format}/{self.number}")


class BrokenPromise(AssertionError):  # noqa: N818 - said of a reader
    """A reader gave back what cannot be."""


def outcomes_of(case: Case, folder: Path) -> Counter[str]:
    """Write the files of a case into an empty folder, read them, and return what came out, by kind.

    Raises
    ------
    BrokenPromise
        When a reader gives back what cannot be; anything else that is raised is a failure too.
    """
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    chance = case.chance
    path = written(damaged_files(case.format, case.seed, chance), folder, chance)
    mapping = mapping_from(BOOM, file="boom.toml") if chance.random() < 0.5 else None
    try:
        return Counter(_told(one) for one in read_logs(path, ReadRequest(mapping, TIGHT)))
    except LogRefused as refused:
        return Counter([_refused(refused)])
    except InputProblems:
        return Counter(["wrong mapping"])


def damaged_files(format_: str, seed: int, chance: random.Random) -> dict[str, bytes]:
    """Return a sample's files by name, one of them damaged, or now and then all."""
    files = dict(sample(format_, seed, chance.randrange(SAMPLES_PER_FORMAT)))
    of = chance.choice(list(SAMPLES))
    donor = chance.choice(list(sample(of, seed, chance.randrange(SAMPLES_PER_FORMAT)).values()))
    names = list(files) if chance.random() < 0.1 else [chance.choice(list(files))]
    for name in names:
        files[name] = _damaged_inside(files[name], donor, chance)
    if len(files) > 1 and chance.random() < 0.05:
        del files[chance.choice(list(files))]
    return files


def _damaged_inside(content: bytes, donor: bytes, chance: random.Random) -> bytes:
    """Return damaged content; a list of contents at its end is mostly left whole, for without it nothing is read."""
    if not content.endswith(LISTED_AT_THE_END) or chance.random() < 0.3:
        return damaged(content, donor, chance)
    tail = int.from_bytes(content[-8:-4], "little") + 8
    inside = bytearray(content[:-tail])
    if chance.random() < 0.5:
        return damaged(bytes(inside), donor, chance)[: len(inside)].ljust(len(inside), b"\0") + content[-tail:]
    for _ in range(chance.choice([1, 1, 3, 20])):
        inside[chance.randrange(len(inside))] ^= 1 << chance.randrange(8)
    return bytes(inside) + content[-tail:]


@lru_cache(maxsize=512)
def sample(format_: str, seed: int, nth: int) -> dict[str, bytes]:
    """Return the files of the nth sample of a format by name."""
    with TemporaryDirectory() as place:
        files = SAMPLES[format_](Path(place), random.Random(f"{seed}/{format_}/sample {nth}"))
        return {file.relative_to(place).as_posix(): file.read_bytes() for file in files}


def written(files: Files, folder: Path, chance: random.Random) -> Path:
    """Write files as a customer might send them – loose, as gzip, as a zip – and return the path to name."""
    way = chance.random()
    if way < 0.08:
        return _zipped(files, folder, chance)
    for name, content in files.items():
        place = folder / (f"{name}.gz" if way > 0.94 else name)
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(_gzipped(content, chance) if way > 0.94 else content)
    inside = sorted(file for file in folder.rglob("*") if file.is_file())
    return inside[0] if len(inside) == 1 and chance.random() < 0.7 else folder


def _gzipped(content: bytes, chance: random.Random) -> bytes:
    packed = gzip.compress(content, mtime=0)
    return damaged(packed, content, chance) if chance.random() < 0.5 else packed


def _zipped(files: Files, folder: Path, chance: random.Random) -> Path:
    path = folder / "sent.zip"
    with zipfile.ZipFile(path, "w", chance.choice([zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED])) as archive:
        for name, content in files.items():
            archive.writestr(zipfile.ZipInfo(name), content)
    if chance.random() < 0.6:
        path.write_bytes(damaged(path.read_bytes(), b"".join(files.values()), chance))
    return path


def _told(found: FoundLogs | LogRefused | PassedOver) -> str:
    """Do with what came out all that a specialist does, and return its kind."""
    if isinstance(found, LogRefused):
        return _refused(found)
    if isinstance(found, PassedOver):
        return "passed over"
    for line in set_lines(found, READER):
        line.encode()
    json.dumps(set_as_data(found, READER))
    for log in found.logs:
        _check(
            log.facts.records <= TIGHT.most_records and log.facts.no_fix <= log.facts.records,
            "more records than can be",
        )
        _check(log.facts.span_s >= 0 and (log.trace is None) == (log.lacks is not None), "a trace and a reason")
        _check_speeds(log)
    traces = [log.trace for log in found.logs if log.trace is not None]
    if traces:
        ledger = merged([ledger_of(trace) for trace in traces])
        _check(int(ledger.speed.area_cm2.sum()) >= 0, "an area under zero")
        swept_m2 = sum(float(trace.area_m2[usable(trace)].sum()) for trace in traces)
        _check(abs(ledger.total_cm2 / 1e4 - swept_m2) <= 1e-4 * ledger.instants, "areas that do not add up")
    return "read" if traces else "without a trace"


def _check_speeds(log: FoundLog) -> None:
    """Speeds are told in order and are none under zero; what is driven again is no faster than any sprayer."""
    for speed in log.facts.speeds:
        levels = speed.percentiles_mps
        _check(bool((np.isfinite(levels) & (levels >= 0)).all()), "a speed that is none")
        _check(bool((np.diff(levels) >= 0).all()), "speeds out of order")
    if log.trace is not None:
        driven = log.trace.speed_mps[usable(log.trace)]
        _check(bool((driven <= FASTEST_MPS).all()), "a speed no sprayer drives")
        _check(bool((log.trace.interval_s[np.isfinite(log.trace.interval_s)] > 0).all()), "a clock that goes back")


def _refused(refused: LogRefused) -> str:
    _check(bool(refused.file and refused.reason and refused.remedy), "a refusal that does not say why and what to do")
    _check("\n" not in refused.reason, "a refusal of more than one line")
    return "refused"


def _check(holds: bool, otherwise: str) -> None:  # noqa: FBT001 - a statement, not an option
    if not holds:
        raise BrokenPromise(otherwise)
