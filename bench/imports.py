"""What starting costs: processor time of help texts, and whether numba is imported where it must not be."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

SRC = Path(__file__).parents[1] / "src"
MOST_HELP_S = 0.3
LOG = "time (s),distance (m),width (m)\n" + "".join(f"{i},5,24\n" for i in range(200))
SMALL_LOG = """
import sys
from pathlib import Path
from wetrun.fieldlog.ledger import ledger_of
from wetrun.fieldlog.readers.formats import traces_in
ledger_of(traces_in(Path(sys.argv[1]))[0])
print("numba" in sys.modules)
"""
HELP = """
import sys
from wetrun.cli import main
sys.argv = ["wetrun", *sys.argv[1:]]
try:
    main()
except SystemExit:
    pass
print("numba" in sys.modules, file=sys.stderr)
"""


def import_figures() -> list[tuple[str, str, str]]:
    """Return rows of the table: what, figure, verdict."""
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "small.csv"
        log.write_text(LOG, encoding="utf-8")
        small = _run(SMALL_LOG, str(log)).stdout.strip()
    return [
        ("numba imported for a small log", small, "meets" if small == "False" else "misses"),
        *_help_figures("--help"),
        *_help_figures("plan", "--help"),
    ]


def _help_figures(*arguments: str) -> list[tuple[str, str, str]]:
    """Return rows about one help text."""
    asked = " ".join(("wetrun", *arguments))
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = _run(HELP, *arguments)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode or "Usage" not in done.stdout:
        return [(asked, "prints no help", "misses")]
    loaded = done.stderr.strip().splitlines()[-1]
    used_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    in_time = "meets" if used_s < MOST_HELP_S else "misses"
    return [
        (f"numba imported for {asked}", loaded, "meets" if loaded == "False" else "misses"),
        (f"processor time of {asked}", f"{used_s:.2f} s (target under {MOST_HELP_S:g})", in_time),
    ]


def _run(code: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(SRC)}
    command = [sys.executable, "-c", code, *arguments]
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
