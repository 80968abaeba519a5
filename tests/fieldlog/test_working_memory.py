"""A long working file is written, read in pieces and tallied in little memory, each in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
INSTANTS = 1_900_000
AS_NUMBERS = INSTANTS * 14 * 8
TOLD = """
from pathlib import Path
from bench.ledger_files import FACTS, made_piece
from wetrun.fieldlog.ledger import ledger_of
from wetrun.fieldlog.readers.parquet_trace import pieces_in, working_file
from wetrun.fieldlog.readers.working_ledger import ledger_of_file
from wetrun.fieldlog.readers.working_writer import TraceWriter, write_trace

def peak():
    lines = Path("/proc/self/status").read_text().splitlines()
    return 1024 * int(next(line.split()[1] for line in lines if line.startswith("VmHWM")))

path = Path({path!r})
few = path.with_name("few.parquet")
piece = made_piece(0, 50_000, repeats=False)
write_trace(few, [piece])
ledger_of_file(few), ledger_of(piece), list(pieces_in(working_file(few)))
before = peak()
{work}
print(peak() - before)
"""
WORKS = {
    "written": f"with TraceWriter(path) as writer:\n    for _ in range({INSTANTS // 50_000}): writer.add(piece)",
    "tallied": f"assert ledger_of_file(path).instants == {INSTANTS}",
    "read": f"assert sum(piece.time_s.size for piece in pieces_in(working_file(path), 1 << 16)) == {INSTANTS}",
}


def grown(path: Path, work: str) -> int:
    environment = os.environ | {"PYTHONPATH": os.pathsep.join((str(ROOT), str(ROOT / "src")))}
    code = TOLD.format(path=str(path), work=WORKS[work])
    done = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True)
    return int(done.stdout)


@pytest.fixture(scope="module")
def long_file(tmp_path_factory) -> Path:
    path: Path = tmp_path_factory.mktemp("long") / "log.parquet"
    assert grown(path, "written") < AS_NUMBERS // 2 + (100 << 20)
    return path


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="peak memory is read from /proc")
@pytest.mark.parametrize("work", ["tallied", "read"])
def test_memory_does_not_grow_with_the_log(long_file, work):
    assert grown(long_file, work) < 0.7 * AS_NUMBERS
