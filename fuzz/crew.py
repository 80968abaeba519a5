"""Worker processes that share the cases of a format: watched, replaced when one dies, their failures kept."""

from __future__ import annotations

import os
import queue
import shutil
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from fuzz.cases import Case, outcomes_of

ROOT: Final = Path(__file__).parents[1]
ENVIRON: Final = os.environ | {"PYTHONPATH": str(ROOT / "src")}
SILENT_S: Final = 120.0
SHARE: Final = 500
START_S: Final = 300.0


@dataclass(slots=True)
class Tally:
    """How the cases of one format ended, and those that failed with their reason."""

    format: str
    kinds: Counter[str] = field(default_factory=Counter)
    failed: dict[int, str] = field(default_factory=dict)

    @property
    def done(self) -> int:
        """Cases that have ended."""
        return self.kinds.total()


@dataclass(frozen=True, slots=True)
class Crew:
    """Who reads the cases of one format: seed of the run, how many workers, and where failing cases are kept."""

    format: str
    seed: int
    workers: int
    kept: Path
    scratch: Path

    def read(self, cases: int, tell: Callable[[Tally], None]) -> Tally:
        """Read that many cases, each exactly once, and return how they ended."""
        tally, lock = Tally(self.format), threading.Lock()
        shares: queue.SimpleQueue[tuple[int, int]] = queue.SimpleQueue()
        for first in range(0, cases, SHARE):
            shares.put((first, min(first + SHARE, cases)))

        def work(place: Path) -> None:
            while True:
                try:
                    first, last = shares.get_nowait()
                except queue.Empty:
                    return
                while first < last:
                    first = self._share(first, last, place, lambda number, ending: note(number, ending, place))

        def note(number: int, ending: str, place: Path) -> None:
            with lock:
                tally.kinds["FAILED" if ending.startswith("FAILED") else ending] += 1
                if ending.startswith("FAILED"):
                    tally.failed[number] = ending
                    self._keep(number, ending, place)
                tell(tally)

        with ThreadPoolExecutor(self.workers) as crew:
            for done in [crew.submit(work, self.scratch / str(nth)) for nth in range(self.workers)]:
                done.result()
        return tally

    def _share(self, first: int, last: int, place: Path, note: Callable[[int, str], None]) -> int:
        """Let one process read cases from first on, and return the case with which the next process begins."""
        place.mkdir(parents=True, exist_ok=True)
        (place / "why.txt").unlink(missing_ok=True)
        words = ("-m", "fuzz.worker", self.format, str(self.seed), str(first), str(last), str(place / "case"))
        with (place / "stderr.txt").open("wb") as complaints:
            worker = subprocess.Popen(
                [sys.executable, *words], cwd=ROOT, env=ENVIRON, stdout=subprocess.PIPE, stderr=complaints
            )
        under_way = None
        watch = _Watch(worker)
        for line in worker.stdout or ():
            watch.seen()
            word, number, *ending = line.decode().rstrip("\n").split(" ", 2)
            under_way = int(number) if word == "begin" else None
            if word == "end":
                note(int(number), ending[0])
                first = int(number) + 1
        code = worker.wait()
        watch.stop()
        if under_way is None and code:
            complaint = (place / "stderr.txt").read_text(encoding="utf-8", errors="replace")
            raise RuntimeError(f"a worker ended with {code} outside any case: {complaint[-2000:]}")
        if under_way is not None:
            told = "it hung" if watch.killed else f"the process died with {code}"
            shutil.copy(place / "stderr.txt", place / "why.txt")
            note(under_way, f"FAILED {told}")
            first = under_way + 1
        return first

    def _keep(self, number: int, ending: str, place: Path) -> None:
        """Keep a failing case: what it was read from, and what came out."""
        folder = self.kept / f"{self.format} {number}"
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        if (place / "case").is_dir():
            shutil.copytree(place / "case", folder / "case")
        why = (place / "why.txt").read_text(encoding="utf-8") if (place / "why.txt").exists() else ""
        (folder / "why.txt").write_text(f"{ending}\nseed {self.seed}\n\n{why}", encoding="utf-8")


class _Watch:
    """Ends a worker that has said nothing for too long."""

    def __init__(self, worker: subprocess.Popen[bytes]) -> None:
        self.worker, self.killed = worker, False
        self._last, self._over = time.monotonic() + START_S - SILENT_S, threading.Event()
        threading.Thread(target=self._guard, daemon=True).start()

    def seen(self) -> None:
        """Note that the worker is alive."""
        self._last = time.monotonic()

    def stop(self) -> None:
        """Leave off watching."""
        self._over.set()

    def _guard(self) -> None:
        while not self._over.wait(1.0):
            if time.monotonic() - self._last > SILENT_S:
                self.killed = True
                self.worker.kill()
                return


def once_more(case: Case, folder: Path) -> str:
    """Read one case in this process and return how it ended; what comes out of the reader comes out here."""
    return ", ".join(sorted(outcomes_of(case, folder))) or "nothing"
