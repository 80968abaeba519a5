"""A long time log is read in memory that does not grow with it: held to by the operating system, not by a clock."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
# 720 MB of records are read by a process that may take 256 MiB more than it had before the first of them.
READ = """
import resource, sys
from bench.made_time_log import Repeated, driven, header_text, log_bytes
from wetrun.fieldlog.readers import timelog_kernels
from wetrun.fieldlog.readers.timelog_columns import positions_of, speeds_of
from wetrun.fieldlog.readers.timelog_header import header_in
from wetrun.fieldlog.readers.timelog_pieces import tables_in

header = header_in(header_text("ABD", ['A="018D" C="DET-1"', *(['A="0002" C="DET-1"'] * 8)]).encode(), file="made")
few = log_bytes(driven(4000, values=9), "ABD")
times, room, piece = 720_000_000 // len(few), 256 << 20, int(sys.argv[1])
taken = int(open("/proc/self/statm").read().split()[0]) * resource.getpagesize()
resource.setrlimit(resource.RLIMIT_AS, (taken + room, taken + room))
records = 0
for table in tables_in(lambda: Repeated(few, times), header, file="made", piece_records=piece):
    positions_of(table), speeds_of(table)
    records += table.records.count
print(records == 4000 * times)
"""


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="how much is taken is told by Linux only")
@pytest.mark.parametrize(("piece_records", "says"), [(1 << 17, "True"), (1 << 24, "")])
def test_a_long_log_is_read_in_little_memory_and_only_in_pieces(piece_records, says):
    environment = {**os.environ, "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"}
    command = [sys.executable, "-c", READ, str(piece_records)]
    done = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    assert done.stdout.strip() == says, done.stderr
    assert ("MemoryError" in done.stderr) == (not says)
