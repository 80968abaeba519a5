"""Cost and memory of a ledger from 1e5 to 1e8 instants: ``python -m bench.ledger_growth`` writes docs/bench/ledger.*.

Each length is measured in a process of its own, so that its peak memory is its own; what is compiled once is not
counted in the times. The picture is drawn from the table by a template, without a plotting library.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from math import log10
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "src"))

LENGTHS = (100_000, 1_000_000, 10_000_000, 100_000_000)
TURNS = 3
TARGET = ROOT / "docs" / "bench"
WIDTH, HEIGHT, MARGIN = 640, 400, 60
BYTES_AS_NUMBERS = 14 * 8
IN_COMMANDS = """\
This is the ledger alone, as `ledger_of_file` makes it. `wetrun plan` and `wetrun fleet` also tally rates and turns, in
one thread: two made files of 5 million instants, one whose values repeat and one whose values never do, took 1.9 to
2.9 s (1.7 to 2.7 million instants a second, five runs on 2 busy cores), and 7.5 s where the loop was compiled first.
Without turns it was 1.0 to 1.3 s; one ledger for each piece, put together afterwards, took 2.1 to 3.2 s for the
ledger alone.
"""


def main() -> None:
    """Measure every length and write the table and the picture."""
    if len(sys.argv) > 1:
        print(json.dumps(_measured(Path(sys.argv[1]))))
        return
    rows = []
    with tempfile.TemporaryDirectory(prefix="wetrun-bench-") as folder:
        for length in LENGTHS:
            rows.append(_in_own_process(Path(folder) / "made.parquet", length))
            print(rows[-1], flush=True)
    TARGET.mkdir(parents=True, exist_ok=True)
    (TARGET / "ledger.md").write_text(_table(rows), encoding="utf-8")
    (TARGET / "ledger.svg").write_text(_picture(rows), encoding="utf-8")


def _in_own_process(path: Path, length: int) -> dict[str, Any]:
    from bench.ledger_files import write_made

    start = time.perf_counter()
    write_made(path, length, repeats=False)
    written_s = time.perf_counter() - start
    environment = os.environ | {"PYTHONPATH": os.pathsep.join((str(ROOT), str(ROOT / "src")))}
    told = subprocess.run(
        [sys.executable, "-m", "bench.ledger_growth", str(path)],
        cwd=ROOT, env=environment, capture_output=True, text=True, check=True,
    )  # fmt: skip
    load = os.getloadavg()[0]
    return {
        "instants": length,
        "bytes": path.stat().st_size,
        "written_s": written_s,
        "load": load,
        **json.loads(told.stdout),
    }


def _measured(path: Path) -> dict[str, Any]:
    """Return the times of a few ledgers of a file [s], processor times [s], and the peak memory of this process."""
    from wetrun.fieldlog.readers.working_ledger import ledger_of_file

    ledger = ledger_of_file(path, compiled=True)
    took, worked = [], []
    for _ in range(TURNS):
        start, worked_before = time.perf_counter(), time.process_time()
        ledger = ledger_of_file(path, compiled=True)
        took.append(time.perf_counter() - start)
        worked.append(time.process_time() - worked_before)
    return {"took_s": took, "worked_s": worked, "peak_bytes": _peak_bytes(), "counted": ledger.instants}


def _peak_bytes() -> int:
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return 1024 * int(next(line.split()[1] for line in status.splitlines() if line.startswith("VmHWM")))


def _table(rows: list[dict[str, Any]]) -> str:
    lines = [
        "# The ledger of a working file, from 1e5 to 1e8 instants",
        "",
        f"Measured by `python -m bench.ledger_growth` on {os.cpu_count()} busy cores: the load at each row is shown.",
        "Made logs whose values never repeat, the worst case for size and decoding.",
        f"Best and worst of {TURNS} runs; peak memory is that of the whole process, loaded libraries included.",
        "Compiling the loop takes some seconds once in a process and is not in the times; a single log of up to two",
        "million instants is not worth it and goes through NumPy, at some 0.4 µs of processor time an instant.",
        "",
        "| instants | as numbers, GB | file, GB | best, s | worst, s | CPU, ns/instant | peak memory, MB | load |",
        "|---:|---:|---:|---:|---:|---:|---:|---:|",
    ]
    for row in rows:
        cells = (
            f"{row['instants']:,}", f"{row['instants'] * BYTES_AS_NUMBERS / 1e9:.2f}", f"{row['bytes'] / 1e9:.3f}",
            f"{min(row['took_s']):.3f}", f"{max(row['took_s']):.3f}",
            f"{min(row['worked_s']) / row['instants'] * 1e9:.1f}", f"{row['peak_bytes'] / 1e6:.0f}",
            f"{row['load']:.1f}",
        )  # fmt: skip
        lines.append(f"| {' | '.join(cells)} |")
    return "\n".join([*lines, "", "![Time over length, both scales logarithmic](ledger.svg)", "", IN_COMMANDS])


def _picture(rows: list[dict[str, Any]]) -> str:
    """Return the best times over the length, both scales logarithmic, beside the line of equal cost per instant."""
    best = [(row["instants"], min(row["took_s"])) for row in rows]
    lows = log10(LENGTHS[0]), min(log10(seconds) for _, seconds in best) - 0.2
    highs = log10(LENGTHS[-1]), max(log10(seconds) for _, seconds in best) + 0.2

    def place(instants: float, seconds: float) -> tuple[float, float]:
        across = (log10(instants) - lows[0]) / (highs[0] - lows[0])
        up = (log10(seconds) - lows[1]) / (highs[1] - lows[1])
        return MARGIN + across * (WIDTH - 2 * MARGIN), HEIGHT - MARGIN - up * (HEIGHT - 2 * MARGIN)

    per_instant = best[-1][1] / best[-1][0]
    points = [place(*one) for one in best]
    line = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    ends = [place(LENGTHS[0], max(LENGTHS[0] * per_instant, 10 ** lows[1])), place(LENGTHS[-1], best[-1][1])]
    first = 10 ** lows[1] / per_instant
    if first > LENGTHS[0]:
        ends[0] = place(first, 10 ** lows[1])
    dots = "".join(
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="#1f6f8b">'
        f"<title>{instants:,} instants: {seconds:.3f} s</title></circle>"
        f'<text x="{x:.1f}" y="{y - 10:.1f}" text-anchor="middle">{seconds:.3g} s</text>'
        for (instants, seconds), (x, y) in zip(best, points, strict=True)
    )
    marks = "".join(
        f'<text x="{place(length, 1)[0]:.1f}" y="{HEIGHT - MARGIN + 20}" text-anchor="middle">'
        f"1e{log10(length):.0f}</text>"
        for length in LENGTHS
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" font-family="sans-serif" '
        f'font-size="13"><title>Time of a ledger over the length of the log</title>'
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>'
        f'<path d="M{MARGIN} {MARGIN}V{HEIGHT - MARGIN}H{WIDTH - MARGIN}" fill="none" stroke="#444444"/>'
        f'<line x1="{ends[0][0]:.1f}" y1="{ends[0][1]:.1f}" x2="{ends[1][0]:.1f}" y2="{ends[1][1]:.1f}" '
        f'stroke="#999999" stroke-dasharray="5 4"/>'
        f'<polyline points="{line}" fill="none" stroke="#1f6f8b" stroke-width="2"/>{dots}{marks}'
        f'<text x="{WIDTH / 2}" y="{HEIGHT - 12}" text-anchor="middle">instants of the log</text>'
        f'<text x="{MARGIN}" y="{MARGIN - 20}">best time; dashed: the longest log\'s cost per instant</text></svg>\n'
    )


if __name__ == "__main__":
    main()
