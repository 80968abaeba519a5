"""One process that reads cases: ``python -m fuzz.worker FORMAT SEED FIRST LAST FOLDER``.

It says on standard output which case it begins and how each ended, so that whoever started it knows which one was
under way should the process die. Its own memory and the processor time of a case are limited.
"""

from __future__ import annotations

import os
import resource
import signal
import sys
import traceback
import warnings
from pathlib import Path

from fuzz.cases import Case, outcomes_of

CASE_CPU_S = 10.0
MEMORY_BYTES = 1 << 30


class TooLong(BaseException):
    """A case took more processor time than any log of its size may."""


def main() -> None:
    """Read the cases asked for, one after another."""
    format_, seed, first, last, folder = sys.argv[1:]
    warnings.simplefilter("error")
    warnings.filterwarnings("ignore", category=DeprecationWarning, module="numba")
    signal.signal(signal.SIGPROF, _too_long)
    outcomes_of(Case(format_, -1, int(seed)), Path(folder))  # what is compiled and imported now is not the case's
    limit_memory()
    for number in range(int(first), int(last)):
        _say(f"begin {number}")
        _say(f"end {number} {_ending(Case(format_, number, int(seed)), Path(folder))}")


def limit_memory() -> None:
    """Let this process take only so much more memory than it has now."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
    most = pages * os.sysconf("SC_PAGE_SIZE") + MEMORY_BYTES
    resource.setrlimit(resource.RLIMIT_AS, (most, most))


def _ending(case: Case, folder: Path) -> str:
    signal.setitimer(signal.ITIMER_PROF, CASE_CPU_S)
    try:
        kinds = outcomes_of(case, folder)
    except (Exception, TooLong) as fault:  # noqa: BLE001 - whatever comes out is what is looked for
        signal.setitimer(signal.ITIMER_PROF, 0)
        Path(folder.parent, "why.txt").write_text(traceback.format_exc(), encoding="utf-8")
        return f"FAILED {type(fault).__name__}: {fault}".replace("\n", " ")[:300]
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return ", ".join(sorted(kinds)) or "nothing"


def _too_long(_signal: int, _frame: object) -> None:
    raise TooLong(f"over {CASE_CPU_S:g} s of processor time")


def _say(line: str) -> None:
    print(line, flush=True)


if __name__ == "__main__":
    main()
