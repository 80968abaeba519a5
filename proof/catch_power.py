"""How often the catch test finds what is wrong with a boom, and how often it cries wolf.

Run as ``python -m proof.catch_power``. Booms are drawn from a seed and judged by the functions that judge a real
catch. Writes the tables of ``docs/proof/catch.md`` and ends with 1 if something owed was not met.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, fields
from math import exp
from pathlib import Path

import numpy as np
from scipy.stats import binomtest, nct, norm, t

from proof.catch_booms import PATTERNS, SECTIONS, SHARED, SIZE, TIPS, DrawnBooms, Pattern, drawn_booms
from wetrun.proving.catch import set_finding, set_level
from wetrun.proving.catch_boom import BoomFault, boom_findings
from wetrun.proving.catch_odd import FAMILY_ALARM_FRAC, BoolArray, OddTips, odd_tips
from wetrun.proving.catch_pattern import BoomPattern, BoomShape, boom_pattern
from wetrun.proving.catch_rules import baseline, beyond_rule, rule_of
from wetrun.proving.catch_sizes import sizes_like
from wetrun.proving.uncertainty import Budget, Component, Verdict
from wetrun.spray.bounds import FloatArray

BOOMS = 10_000
SPREADS = (0.005, 0.01, 0.015, 0.02, 0.03)
READINGS = (0.0025, 0.005, 0.01, 0.02)
USUAL = (0.015, 0.005)
AT_ONCE = 500
PAGE = Path(__file__).parents[1] / "docs" / "proof" / "catch.md"
MARK = "<!-- written by python -m proof.catch_power from here on -->\n"
SHAPE = BoomShape(np.linspace(-1.0, 1.0, TIPS), SECTIONS)


@dataclass(frozen=True)
class Judging:
    """What the catch test says of drawn booms."""

    pattern: BoomPattern
    odds: OddTips


def judged_booms(drawn: DrawnBooms, reading: float) -> Judging:
    """Judge booms as a real catch is judged, a few at a time so that they stay in the processor's cache."""
    parts = [_judged(drawn.values[n : n + AT_ONCE], reading) for n in range(0, len(drawn.values), AT_ONCE)]
    pattern = {f.name: np.concatenate([getattr(p.pattern, f.name) for p in parts]) for f in fields(BoomPattern)}
    odds = {f.name: np.concatenate([getattr(p.odds, f.name) for p in parts]) for f in fields(OddTips)}
    return Judging(BoomPattern(**pattern), OddTips(**odds))


def _judged(values: FloatArray, reading: float) -> Judging:
    pattern = boom_pattern(values, SHAPE, reading_scatter=reading)
    odds = odd_tips(values - pattern.shape, reading_scatter=reading, fitted=pattern.terms)
    return Judging(pattern, odds)


@dataclass(frozen=True)
class Rate:
    """How often something happened, with Wilson's 95 % bounds."""

    hits: int
    of: int

    @property
    def share(self) -> float:
        """Hits over trials."""
        return self.hits / self.of

    @property
    def bounds(self) -> tuple[float, float]:
        """Wilson bounds."""
        found = binomtest(self.hits, self.of).proportion_ci(0.95, method="wilson")
        return float(found.low), float(found.high)

    def __str__(self) -> str:
        low, high = self.bounds
        return f"{100 * self.share:6.2f} [{100 * low:.2f}, {100 * high:.2f}]"


@dataclass(frozen=True)
class Tally:
    """One pattern at one spread and reading uncertainty."""

    found: Rate | None
    false_alarm: Rate
    wrong_shape: Rate


def tally(pattern: Pattern, spread: float, reading: float, booms: int = BOOMS) -> Tally:
    """Draw booms, judge them, count."""
    drawn = drawn_booms(pattern, spread, reading, booms)
    said = judged_booms(drawn, reading)
    false = (said.odds.odd & ~drawn.faulty).any(axis=1)
    steps, falls = said.pattern.steps != 0.0, (said.pattern.falls != 0.0).any(axis=1)
    found = _found(drawn, said, steps, falls)
    wrong = (steps & ~drawn.stepped).any(axis=1) | (falls & (drawn.fall == 0.0))
    return Tally(found, Rate(int(false.sum()), booms), Rate(int(wrong.sum()), booms))


def _found(drawn: DrawnBooms, said: Judging, steps: BoolArray, falls: BoolArray) -> Rate | None:
    if drawn.faulty.any():
        return Rate(int((said.odds.odd & drawn.faulty).sum()), int(drawn.faulty.sum()))
    if drawn.stepped.any():
        return Rate(int((steps & drawn.stepped).sum()), int(drawn.stepped.sum()))
    if drawn.fall:
        return Rate(int(falls.sum()), falls.size)
    if drawn.level:
        over = [_set_is_over(said, n) for n in range(len(drawn.values))]
        return Rate(sum(over), len(over))
    return None


def _set_is_over(said: Judging, n: int) -> bool:
    level = float(said.pattern.level[n] + said.odds.centre[n])
    ordinary = int((~said.odds.odd[n]).sum())
    found = set_level((level, float(said.odds.scatter[n]), ordinary), SHARED, rule_of("new-10"))
    return any(finding.fault is BoomFault.SET_OVER for finding in set_finding(found))


def said_of_boom(drawn: DrawnBooms, said: Judging, n: int) -> str:
    """What the catch test calls one boom as a whole."""
    named = set()
    whole = said.pattern
    parts = (whole.level, whole.falls, whole.steps, whole.shape, whole.scatter)
    level, falls, steps, shape, scatter = (part[n : n + 1] for part in parts)
    one = BoomPattern(level, falls, steps, shape, scatter)
    for finding in boom_findings(one, pressures_read=False):
        named.add("section" if finding.section else "fall")
    odd = np.flatnonzero(said.odds.odd[n])
    residuals = drawn.values[n] - said.pattern.shape[n] - said.odds.centre[n]
    sizes = [sizes_like(exp(float(residuals[tip])), float(said.odds.scatter[n]), SIZE) for tip in odd]
    named |= {"size" if size else "tip" for size in sizes}
    if _set_is_over(said, n):
        named.add("set")
    return next(iter(named)) if len(named) == 1 else "several" if named else "nothing"


SAID = ("nothing", "tip", "size", "section", "fall", "set", "several")


def confusion(pattern: Pattern, booms: int = BOOMS) -> Counter[str]:
    """What is said of the booms of one pattern at the usual spread and reading uncertainty."""
    drawn = drawn_booms(pattern, *USUAL, booms)
    said = judged_booms(drawn, USUAL[1])
    return Counter(said_of_boom(drawn, said, n) for n in range(booms))


def rule_verdicts(pattern: Pattern, key: str, booms: int = BOOMS) -> tuple[Counter[Verdict], Counter[Verdict]]:
    """Verdicts by a rule on the faulty tips and on one ordinary tip of each boom, at the usual noise."""
    drawn = drawn_booms(pattern, *USUAL, booms)
    odd = judged_booms(drawn, USUAL[1]).odds.odd
    own = Budget((Component("catch", USUAL[1]),))
    faulty: Counter[Verdict] = Counter()
    ordinary: Counter[Verdict] = Counter()
    for values, is_odd, is_faulty in zip(np.exp(drawn.values), odd, drawn.faulty, strict=True):
        kept = values[~is_odd]
        doubts = np.full(kept.size, USUAL[1])
        base = baseline(rule_of(key), kept, doubts, definition="simulated", shared=SHARED)
        faulty.update(beyond_rule(float(value), own, base).verdict for value in values[is_faulty])
        ordinary[beyond_rule(float(values[~is_faulty][0]), own, base).verdict] += 1
    return faulty, ordinary


OFF = 0.10


def ceiling(off: float, reading: float, *, logs: bool, known: bool) -> float:
    """Return how often a test that knew of one odd tip at most could find one that is off on top of its own spread.

    Each tip is held against mean and scatter of all others, by the normal law or by Student's t; all tips and both ways
    are treated alike, and all of the false alarms allowed are spent on it. In flow a tip that gives more scatters more
    by as much.
    """
    scatter, others = float(np.hypot(USUAL[0], reading)), TIPS - 1
    each = (1.0 - (1.0 - FAMILY_ALARM_FRAC) ** (1.0 / TIPS)) / 2.0
    shift, own = (abs(np.log1p(off)), 1.0) if logs else (abs(off), 1.0 + off)
    if known:
        return float(norm.sf((norm.isf(each) - shift / scatter) / own))
    spread = np.sqrt(1.0 + 1.0 / others)
    wide = np.sqrt(own**2 + 1.0 / others) / spread
    limit = t.isf(each, others - 1)
    return float(nct.sf(limit / wide, others - 1, shift / scatter / spread / wide))


def found_by_way(reading: float, booms: int = BOOMS) -> tuple[Rate, Rate]:
    """How often the catch test finds a tip that is off on top of its own spread: up, and down."""
    pattern = next(p for p in PATTERNS if p.key == "single-on-top")
    drawn = drawn_booms(pattern, USUAL[0], reading, booms)
    found = np.any(judged_booms(drawn, reading).odds.odd & drawn.faulty, axis=1).astype(np.bool_)
    # At this spread a tip 10 % off never crosses over to the other side of its boom.
    up = np.where(drawn.faulty, drawn.values, 0.0).sum(axis=1) > np.median(drawn.values, axis=1)
    ups, downs = (Rate(int(found[way].sum()), int(way.sum())) for way in (up, ~up))
    return ups, downs


def ceiling_lines() -> Iterator[str]:
    """The best that could be done for a tip off on top of its own spread, beside what is done."""
    yield "| u % | way | spread known, logs | estimated, logs | estimated, flow | this test |"
    yield "|---|---|---|---|---|---|"
    for reading in READINGS[:2]:
        for off, seen in zip((OFF, -OFF), found_by_way(reading), strict=True):
            best = [ceiling(off, reading, logs=True, known=True)]
            best += [ceiling(off, reading, logs=logs, known=False) for logs in (True, False)]
            shares = " | ".join(f"{100 * share:.2f}" for share in best)
            yield f"| {100 * reading:g} | {'up' if off > 0.0 else 'down'} | {shares} | {seen} |"


Cells = dict[tuple[str, float, float], Tally]


def grid() -> Cells:
    """Tally every pattern at every spread and reading uncertainty."""
    noises = [(spread, reading) for spread in SPREADS for reading in READINGS]
    return {(p.key, spread, reading): tally(p, spread, reading) for p in PATTERNS for spread, reading in noises}


def grid_lines(cells: Cells) -> Iterator[str]:
    """Tables of the grid, pattern by pattern."""
    yield f"{BOOMS:,} booms of {TIPS} tips per cell; per cent with Wilson 95 % bounds."
    for pattern in PATTERNS:
        yield f"\n### {pattern.words}\n\n| spread % | u % | found | any other tip called unlike | wrong step or fall |"
        yield "|---|---|---|---|---|"
        for (key, spread, reading), cell in cells.items():
            if key == pattern.key:
                found = "–" if cell.found is None else str(cell.found)
                yield f"| {100 * spread:g} | {100 * reading:g} | {found} | {cell.false_alarm} | {cell.wrong_shape} |"


def confusion_lines() -> Iterator[str]:
    """What is said of booms, and the verdicts by two rules, at the usual noise."""
    yield f"\n### Said of a boom, per cent of {BOOMS:,}, at spread 1.5 % and u 0.5 %\n"
    yield f"| drawn | {' | '.join(SAID)} |\n|{'---|' * (len(SAID) + 1)}"
    for pattern in PATTERNS:
        said = confusion(pattern)
        yield f"| {pattern.words} | {' | '.join(f'{100 * said[name] / BOOMS:.2f}' for name in SAID)} |"
    yield "\n### Beyond the rule at spread 1.5 % and u 0.5 %: pass / undecided / fail, per cent\n"
    yield "| drawn | rule | faulty tips | an ordinary tip |\n|---|---|---|---|"
    for pattern in PATTERNS:
        for key in ("boom-5", "new-10"):
            faulty, ordinary = rule_verdicts(pattern, key)
            yield f"| {pattern.words} | {key} | {_verdicts(faulty)} | {_verdicts(ordinary)} |"


def _verdicts(seen: Counter[Verdict]) -> str:
    total = sum(seen.values())
    order = (Verdict.PASS, Verdict.UNDECIDED, Verdict.FAIL)
    return " / ".join(f"{100 * seen[verdict] / total:.2f}" for verdict in order) if total else "–"


@dataclass(frozen=True)
class Owed:
    """Something owed, whether it was met, and what was seen."""

    what: str
    met: bool
    seen: str


def owed(cells: Cells) -> list[Owed]:
    """What the simulation must show."""
    rows = []
    for key, least in (("single", 0.99), ("size", 0.999)):
        for reading in (r for r in READINGS if r <= 0.005):
            found = cells[key, 0.015, reading].found
            what = f"{key}: found >= {least:.1%} at spread 1.5 %, u {reading:.2%}"
            rows.append(Owed(what, found is not None and found.share >= least, str(found)))
    clean = [cell.false_alarm for (key, _, _), cell in cells.items() if key == "clean"]
    worst = max(clean, key=lambda rate: rate.share)
    pooled = Rate(sum(rate.hits for rate in clean), sum(rate.of for rate in clean))
    rows.append(Owed("false alarm of a clean boom <= 1 %, all cells together", pooled.share <= 0.01, str(pooled)))
    rows.append(
        Owed("false alarm of a clean boom <= 1 %, worst cell, lower bound", worst.bounds[0] <= 0.01, str(worst))
    )
    return rows


def main() -> int:
    """Write every table into the page and print it; return 1 if something owed was missed."""
    cells = grid()
    rows = owed(cells)
    table = [f"| {row.what} | {'yes' if row.met else 'NO'} | {row.seen} |" for row in rows]
    lines = ["", "## Owed", "", "| what | met | seen |", "|---|---|---|", *table, ""]
    lines += [
        "## One tip 10 % off on top of its own spread: the best that could be done, per cent",
        "",
        *ceiling_lines(),
    ]
    lines += ["", "## Tables", ""]
    lines += [*grid_lines(cells), *confusion_lines(), ""]
    head = PAGE.read_text(encoding="utf-8").split(MARK)[0]
    PAGE.write_text(head + MARK + "\n".join(lines), encoding="utf-8")
    print("\n".join(lines))
    return 0 if all(row.met for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
