"""How long the first reading of a file takes: ``python -m bench.first_reading HOW FILE SMALL`` in a process of its own.

Everything is imported, compiled and warmed up on a small file before; the file itself is in the system's cache. What a
reader has to get from the system for its columns counts, as it does for whoever reads a log once.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[1]
READERS = ("ledger", "pyarrow", "pyarrow, mapped", "polars")


def first_readings(path: Path, small: Path, turns: int) -> dict[str, list[tuple[float, float]]]:
    """Return wall and processor time [s] of first readings of a file by each reader, taking turns."""
    environment = os.environ | {"PYTHONPATH": os.pathsep.join((str(ROOT), str(ROOT / "src")))}
    found: dict[str, list[tuple[float, float]]] = {how: [] for how in READERS}
    for _ in range(turns):
        for how in READERS:
            words = [sys.executable, "-m", "bench.first_reading", how, str(path), str(small)]
            done = subprocess.run(words, cwd=ROOT, env=environment, capture_output=True, text=True, check=True)
            took, worked = json.loads(done.stdout)
            found[how].append((took, worked))
    return found


def reading_by(how: str) -> Callable[[Path], object]:
    """Return a reading of the ledger's columns, or the ledger itself."""
    from wetrun.fieldlog.running import NEEDED

    if how == "ledger":
        from wetrun.fieldlog.readers.working_ledger import ledger_of_file

        return lambda path: ledger_of_file(path, compiled=True)
    if how == "polars":
        import polars as pl

        return lambda path: pl.read_parquet(path, columns=list(NEEDED))
    import pyarrow.parquet as pq

    return lambda path: pq.read_table(path, columns=list(NEEDED), memory_map=how.endswith("mapped"))


def main() -> None:
    """Read a small file, then the file, and print how long that took."""
    how, path, small = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3])
    work = reading_by(how)
    work(small)
    start, worked = time.perf_counter(), time.process_time()
    work(path)
    print(json.dumps([time.perf_counter() - start, time.process_time() - worked]))


if __name__ == "__main__":
    main()
