"""Reads damaged logs of every format by the thousand: ``python -m fuzz [--cases N] [--formats WORD …] [--seed N]``.

Nothing but a reader's own refusal may come out; a case that raises anything else, takes too long or too much memory,
or kills its process is kept in ``out/fuzz`` and named with its seed, so that ``--case NUMBER`` makes it again.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "src"))

from tests.fieldlog.log_samples import SAMPLES

from fuzz.cases import Case
from fuzz.crew import Crew, Tally, once_more

CASES = 20_000
WORKERS = 2
KEPT = Path("out/fuzz")
EVERY_S = 10.0


def main() -> int:
    """Run what was asked for and return 1 if a case failed."""
    parser = argparse.ArgumentParser(prog="python -m fuzz", description="Reads damaged logs of every format.")
    parser.add_argument("--cases", type=int, default=CASES, help="cases for each format")
    parser.add_argument("--formats", nargs="+", default=[""], metavar="WORD", help="only formats whose name holds it")
    parser.add_argument("--seed", type=int, default=time.time_ns() % 1_000_000_007, help="seed of the run")
    parser.add_argument("--workers", type=int, default=WORKERS, help="processes at once")
    parser.add_argument("--case", type=int, help="only this case of the first format, in this process")
    asked = parser.parse_args()
    chosen = [name for name in SAMPLES if any(word.lower() in name.lower() for word in asked.formats)]
    print(f"seed {asked.seed}, {asked.cases:,} cases for each of: {', '.join(chosen)}", flush=True)
    if asked.case is not None:
        print(once_more(Case(chosen[0], asked.case, asked.seed), KEPT / "case"))
        return 0
    with tempfile.TemporaryDirectory(prefix="wetrun-fuzz-") as scratch:
        tallies = [_read(Crew(name, asked.seed, asked.workers, KEPT, Path(scratch)), asked.cases) for name in chosen]
    return 1 if any(tally.failed for tally in tallies) else 0


def _read(crew: Crew, cases: int) -> Tally:
    start = told = time.monotonic()

    def tell(tally: Tally) -> None:
        nonlocal told
        now = time.monotonic()
        if now - told >= EVERY_S:
            told = now
            rate = tally.done / (now - start)
            left_s = (cases - tally.done) / rate
            print(f"  {tally.done:,} of {cases:,}, {rate:.0f}/s, {left_s / 60:.1f} min left", flush=True)

    tally = crew.read(cases, tell)
    took_s = time.monotonic() - start
    kinds = "; ".join(f"{kind}: {count:,}" for kind, count in tally.kinds.most_common())
    print(f"{crew.format}: {tally.done:,} cases in {took_s:.0f} s, {len(tally.failed)} failed ({kinds})", flush=True)
    for number, ending in sorted(tally.failed.items()):
        print(
            f"  case {number}, seed {crew.seed}: {ending}; kept in {crew.kept / f'{crew.format} {number}'}", flush=True
        )
    return tally


if __name__ == "__main__":
    sys.exit(main())
