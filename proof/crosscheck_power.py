"""Power of the cross-check by simulation, beside the power it expects of itself: ``python -m proof.crosscheck_power``.

Every run makes the machine, its faults and its instruments anew, reads them, and asks the cross-check. The machine is
run along its own curves, not along the tangents that the cross-check uses. Seeded: the same call gives the same
table.
"""

from __future__ import annotations

import argparse
import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import exp
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from proof import crosscheck_cases as cases
from proof.crosscheck_page import page_of
from wetrun.proving.budget import Budget, Component
from wetrun.proving.crosscheck import CrossCheck, crosschecked
from wetrun.proving.faults import Fault, FaultKind
from wetrun.proving.identity import Screen
from wetrun.proving.instruments import Truth, shown
from wetrun.proving.outcome import Power
from wetrun.proving.power import Plan, expected_power
from wetrun.proving.redundant import Kind, Reading

PAGE = Path(__file__).parents[1] / "docs" / "proof" / "crosscheck.md"
SEED = 20_300
AGREE = 0.02
OWED = 0.95


@dataclass(frozen=True)
class Cell:
    """One fault, one set, one level: what was seen and what was expected."""

    reading_set: str
    level: str
    case: cases.Case
    runs: int
    seen: Counter[str]
    expected: Power

    def share(self, outcome: str) -> float:
        """Share of the runs with an outcome."""
        return self.seen[outcome] / self.runs

    @property
    def widest(self) -> float:
        """Greatest difference between simulation and expectation."""
        pairs = [(self.share(name), float(getattr(self.expected, f"{name}_frac"))) for name in OUTCOMES]
        return max(abs(seen - expected) for seen, expected in pairs)


OUTCOMES = ("detected", "first", "tied", "wrong")


class Bench:
    """A machine in the yard: draws what really is, what is read, and what is known of the errors."""

    def __init__(self, plan: Plan, level: str, rng: np.random.Generator) -> None:
        self.plan, self.level, self.rng = plan, level, rng
        keys = [
            (cause, -1 if cases.NOISE[cause].shared else n)
            for n, reading in enumerate(plan.readings)
            for cause in cases.CAUSES[reading.kind]
        ]
        self.keys = list(dict.fromkeys([*keys, ("width tape", -1)]))
        n = cases.LEVELS.index(level)
        self.sigma = np.array([cases.NOISE[cause].percent[n] / 100.0 for cause, _ in self.keys])
        self.repeats = np.array([cases.NOISE[cause].repeats[n] for cause, _ in self.keys])

    def drawn(self) -> dict[tuple[str, int], tuple[float, float]]:
        """Return the error of each cause's mean of repeats, and the standard uncertainty that is known of it.

        The mean and the day's variance of normal errors are independent, so each is drawn from its own law.
        """
        error = self.sigma * self.rng.standard_normal(len(self.sigma)) / np.sqrt(self.repeats)
        told = self.sigma**2 * self.rng.chisquare(cases.BELIEF, len(self.sigma))
        day = self.sigma**2 * self.rng.chisquare(np.maximum(self.repeats - 1, 1)) * (self.repeats > 1)
        known = np.sqrt((told + day) / (cases.BELIEF + self.repeats - 1) / self.repeats)
        return dict(zip(self.keys, zip(error.tolist(), known.tolist(), strict=True), strict=True))

    def run(self, case: cases.Case) -> tuple[tuple[Reading, ...], Screen | None]:
        """Return the readings of one wet run, and the monitor's screen."""
        by_key = self.drawn()
        drawn = [
            [(cause, *by_key[cause, -1 if cases.NOISE[cause].shared else n]) for cause in cases.CAUSES[reading.kind]]
            for n, reading in enumerate(self.plan.readings)
        ]
        errors = [sum(error for _, error, _ in causes) for causes in drawn]
        truth = self._truth(errors)
        logs = shown(self.plan.rig, self.plan.readings, truth, case.faults)
        readings = tuple(
            self._read(reading, causes, log + error)
            for reading, causes, log, error in zip(self.plan.readings, drawn, logs, errors, strict=True)
        )
        return readings, self._screen(readings, case, by_key["width tape", -1])

    def _truth(self, errors: Sequence[float]) -> Truth:
        """What the tips and the hoses really are: a chart and a figure are off by what they do not know."""
        off = {reading.place: error for reading, error in zip(self.plan.readings, errors, strict=True)}
        sections = range(1, len(cases.SECTIONS) + 1)
        ratios = tuple(exp(-off[Kind.CHART, 0, section, ""]) for section in sections)
        return replace(self.plan.truth, section_ratios=ratios, hose_ratio=exp(-off[Kind.HOSE, 0, 0, ""]))

    def _read(self, reading: Reading, causes: Sequence[tuple[str, float, float]], log: float) -> Reading:
        value = 1.0 if reading.kind in {Kind.CHART, Kind.HOSE} else exp(log)
        parts = tuple(
            Component(
                cause,
                known * value,
                freedom=cases.freedom(cause, self.level),
                cause=cause if cases.NOISE[cause].shared else "",
            )
            for cause, _, known in causes
        )
        return replace(reading, value=value, budget=Budget(parts))

    def _screen(
        self, readings: tuple[Reading, ...], case: cases.Case, tape_drawn: tuple[float, float]
    ) -> Screen | None:
        if self.plan.screen is None:
            return None
        off, known = tape_drawn
        screen = cases.screen_of(readings, self.level, width_off=case.width_off, tape_off=off)
        tape = Component("width tape", known * screen.width_m, freedom=cases.freedom("width tape", self.level))
        return replace(screen, tape=Budget((tape,)))


def outcome_of(found: CrossCheck, case: cases.Case) -> str:
    """Return what became of the faults: first, tied, wrong or nothing."""
    if not found.alarm:
        return "nothing"
    wanted = [fault for fault, _ in case.faults] + ([Fault(FaultKind.WIDTH)] if case.width_off else [])
    homes = {next((n for n, g in enumerate(found.scene.groups) if fault in g.faults), fault.words) for fault in wanted}
    top = [{sized.fault for sized in explanation.faults} for explanation in found.named[: len(homes)]]
    if wanted and len(top) == len(homes) and all(names & set(wanted) for names in top):
        loose = any(len(names) > 1 for names in top) or len(homes) < len(wanted) or _pair_is_one_of_many(found, case)
        return "tied" if loose else "first"
    pairs = ([{s.fault for s in e.faults} for e in pair] for pair in found.or_pairs)
    one_of = len(homes) == 2 and any(all(names & set(wanted) for names in pair) for pair in pairs)
    return "tied" if one_of and not case.width_off else "wrong"


def _pair_is_one_of_many(found: CrossCheck, case: cases.Case) -> bool:
    return bool(found.or_pairs) and len(case.faults) == 2


def simulated(reading_set: str, level: str, case: cases.Case, runs: int) -> Counter[str]:
    """Return how many runs end in each outcome."""
    place = [cases.SETS.index(reading_set), cases.LEVELS.index(level), *case.words.encode()]
    bench = Bench(cases.plan_of(reading_set, level), level, np.random.default_rng([SEED, *place]))
    seen: Counter[str] = Counter()
    for _ in range(runs):
        readings, screen = bench.run(case)
        found = crosschecked(cases.RIG, readings, screen=screen)
        seen["detected"] += found.alarm
        seen[outcome_of(found, case)] += 1
    return seen


def cell_of(job: tuple[str, str, cases.Case, int]) -> Cell:
    """Return one cell of the grid."""
    reading_set, level, case, runs = job
    expected = expected_power(cases.plan_of(reading_set, level), case.faults, width_off=case.width_off)
    return Cell(reading_set, level, case, runs, simulated(*job), expected)


def grid(runs: int, alarms: int) -> list[Cell]:
    """Return every cell, the false alarms first."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # before the workers load it: small matrices, one core each
    order = list(product(cases.SETS, cases.LEVELS))
    jobs = [(*place, cases.Case("nothing wrong"), alarms) for place in order]
    jobs += [(*place, case, runs) for place in order for case in cases.SINGLES + cases.PAIRS]
    with get_context("spawn").Pool() as pool:
        return pool.map(cell_of, jobs, chunksize=1)


def main() -> None:
    """Simulate, write the page, say what does not agree."""
    parser = argparse.ArgumentParser(prog="python -m proof.crosscheck_power", description=main.__doc__)
    parser.add_argument("--runs", type=int, default=8000, help="runs per cell")
    parser.add_argument("--alarms", type=int, default=20_000, help="runs per set without any fault")
    asked = parser.parse_args()
    cells = grid(asked.runs, asked.alarms)
    PAGE.write_text(page_of(cells), encoding="utf-8")
    print(PAGE.read_text(encoding="utf-8"))
    off = [cell for cell in cells if cell.widest > AGREE]
    short = [c for c in cells if c.case.words != "nothing wrong" and c.expected.first_frac >= OWED > c.share("first")]
    if off or short:
        raise SystemExit(f"{len(off)} cells off by more than two points, {len(short)} owed and short")


if __name__ == "__main__":
    main()
