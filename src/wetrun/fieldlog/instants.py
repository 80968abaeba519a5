"""Rows of one clock reading joined into one instant, and the boom sections found on the way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import LogRefused
from wetrun.fieldlog.rows import RawRows
from wetrun.fieldlog.trace import FloatArray, IntArray, SectionFacts
from wetrun.units import (
    CUBIC_METRE_PER_SQUARE_METRE,
    METRE,
    METRE_PER_SECOND,
    RADIAN,
    RATIO,
    SECOND,
    SQUARE_METRE,
    M,
    Ratio,
    S,
)

NoteRepair = Callable[[str, int, str], None]
MOST_SECTIONS: Final = 62
LEAST_SWING_RATIO: Final[Ratio] = 1e-3  # below it sections differ by the rounding of the file


@dataclass(frozen=True, slots=True)
class Instants:
    """Columns [instants] in the order of recording and time; see `wetrun.fieldlog.trace.Trace` for their meaning."""

    time_s: Annotated[FloatArray, SECOND]
    recording: IntArray
    distance_m: Annotated[FloatArray, METRE]
    width_m: Annotated[FloatArray, METRE]
    area_m2: Annotated[FloatArray, SQUARE_METRE]
    target_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]
    applied_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]
    heading_rad: Annotated[FloatArray, RADIAN]
    shown_speed_mps: Annotated[FloatArray, METRE_PER_SECOND]
    east_m: Annotated[FloatArray, METRE]
    north_m: Annotated[FloatArray, METRE]
    sections_on: IntArray
    sections: tuple[SectionFacts, ...]
    swing_ratio: Annotated[npt.NDArray[np.float32], RATIO] | None = None


@dataclass(frozen=True, slots=True)
class Settled:
    """What was settled on the head of a long log, so that every piece of it is cleaned alike.

    ``sections`` and their ``numbers`` among the log's section names; ``usual_s`` is the usual step of the clock,
    ``start_s`` the reading the trace counts from.
    """

    start_s: S
    usual_s: S
    trusts_positions: bool
    distance_logged: bool
    speed_shown: bool
    full_width_m: M
    sections: tuple[SectionFacts, ...]
    numbers: IntArray


def instants_of(
    rows: RawRows, kept: IntArray, recording: IntArray, note: NoteRepair, *, settled: Settled | None = None
) -> Instants:
    """Return the instants of the kept rows, which come sorted by recording, time and section.

    A value that differs between the sections of an instant becomes their mean by width, so flow and area are kept.
    Rows of one section that share a clock reading (a clock of whole seconds) are joined: their distances add up.
    """
    kept, recording = _without_repeats(rows, kept, recording, note)
    time_s, section = rows.time_s[kept], rows.section[kept]
    fresh = np.concatenate([[True], (np.diff(recording) != 0) | (np.diff(time_s) != 0)])
    starts = np.flatnonzero(fresh)
    instant = np.cumsum(fresh) - 1
    shared = _rows_of_one_section(instant, section)
    note("shared reading", int((shared > 1).sum()), "rows of one section at one clock reading were joined")
    share = rows.width_m[kept] / shared
    width_m = np.add.reduceat(share, starts)
    mean = _MeanByWidth(kept, starts, rows.width_m[kept])
    area_m2 = np.add.reduceat(rows.width_m[kept] * rows.distance_m[kept], starts)
    distance_m = np.where(np.maximum.reduceat(shared, starts) > 1, area_m2 / width_m, mean.of(rows.distance_m))
    used, sections, on = _sections(rows, section, instant, width_m=rows.width_m[kept], settled=settled)
    way_m = rows.distance_m[kept] * shared
    row, known = _position_rows(sections, used, section, (starts, instant))
    target, applied = mean.of(rows.target_m3pm2), mean.of(rows.applied_m3pm2)
    note("no target", int((target <= 0).sum()), "targets of zero or less were taken as no target")
    note("negative rate", int((applied < 0).sum()), "applied rates under zero were left out")
    return Instants(
        time_s=time_s[starts],
        recording=recording[starts],
        distance_m=distance_m,
        width_m=width_m,
        area_m2=area_m2,
        target_m3pm2=np.where(target <= 0, np.nan, target),
        applied_m3pm2=np.where(applied < 0, np.nan, applied),
        heading_rad=rows.heading_rad[kept][starts],
        shown_speed_mps=rows.shown_speed_mps[kept][starts],
        east_m=np.where(known, rows.east_m[kept][row], np.nan),
        north_m=np.where(known, rows.north_m[kept][row], np.nan),
        sections_on=on,
        sections=sections,
        swing_ratio=_swing_ratio(way_m, distance_m[instant], (_bits(used, section), instant), sections),
    )


@dataclass(frozen=True, slots=True)
class _MeanByWidth:
    """Per-instant value of a row column: the common value where all rows agree, else the mean by width."""

    kept: IntArray
    starts: IntArray
    width_m: FloatArray

    def of(self, column: FloatArray) -> FloatArray:
        values = column[self.kept]
        first = values[self.starts]
        alike = np.minimum.reduceat(values, self.starts) == np.maximum.reduceat(values, self.starts)
        total = np.add.reduceat(values * self.width_m, self.starts)
        mean: FloatArray = np.where(alike, first, total / np.add.reduceat(self.width_m, self.starts))
        return mean


def _without_repeats(rows: RawRows, kept: IntArray, recording: IntArray, note: NoteRepair) -> tuple[IntArray, IntArray]:
    """Return the rows without those that say the same as the row before them, word for word."""
    columns = (rows.time_s, rows.section, rows.distance_m, rows.width_m, rows.applied_m3pm2, rows.east_m, rows.north_m)
    same = np.diff(recording) == 0
    for column in columns:
        values = column[kept]
        both_nan = np.isnan(values[1:]) & np.isnan(values[:-1])
        same &= (values[1:] == values[:-1]) | both_nan
    repeated = np.concatenate([[False], same])
    note("duplicate row", int(repeated.sum()), "rows that repeat the row before word for word were left out")
    return kept[~repeated], recording[~repeated]


def _rows_of_one_section(instant: IntArray, section: IntArray) -> IntArray:
    """Return how many rows share this row's instant and section; rows are sorted by both."""
    fresh = np.concatenate([[True], (np.diff(instant) != 0) | (np.diff(section) != 0)])
    counts = np.diff(np.append(np.flatnonzero(fresh), section.size))
    return np.repeat(counts, counts).astype(np.int64)


def _sections(
    rows: RawRows, section: IntArray, instant: IntArray, *, width_m: FloatArray, settled: Settled | None
) -> tuple[IntArray, tuple[SectionFacts, ...], IntArray]:
    """Return the number and the facts of each section by bit, and the bit set of those on at each instant."""
    on = np.zeros(int(instant[-1]) + 1, dtype=np.int64)
    if not rows.section_names:
        return np.empty(0, dtype=np.int64), (), on
    known = settled.numbers if settled else np.empty(0, dtype=np.int64)
    used = np.concatenate([known, np.setdiff1d(section, known)])
    if used.size > MOST_SECTIONS:
        reason = f"there are {used.size} different sections, and no boom has over {MOST_SECTIONS}"
        raise LogRefused(rows.source.file, place="section column", reason=reason, remedy="Map the right column")
    bit = _bits(used, section)
    np.bitwise_or.at(on, instant, np.left_shift(1, bit))
    groups, counts = _groups(on, used.size), np.bincount(bit, minlength=used.size).tolist()
    facts = [replace(one, rows=counts[one.bit]) for one in settled.sections] if settled else []
    for place in range(len(facts), used.size):
        widths = width_m[bit == place]
        median, varies = float(np.median(widths)), bool(np.ptp(widths) > 0)
        group = groups[place] + (1 + max(one.group for one in facts) if settled and facts else 0)
        facts.append(SectionFacts(rows.section_names[used[place]], group, place, widths.size, median, varies))
    return used, tuple(facts), on


def _bits(used: IntArray, section: IntArray) -> IntArray:
    """Return the bit of each row's section: its place among those used, which come in any order."""
    if not used.size:
        return np.zeros_like(section)
    order = np.argsort(used)
    bit: IntArray = order[np.searchsorted(used, section, sorter=order)]
    return bit


def _swing_ratio(
    way_m: FloatArray, machine_m: FloatArray, places: tuple[IntArray, IntArray], sections: tuple[SectionFacts, ...]
) -> Annotated[npt.NDArray[np.float32], RATIO] | None:
    """Return each section's distance over its instant's [instants, bits], None where there is nothing to tell apart."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = way_m / machine_m
    known, (bit, instant) = np.isfinite(ratio), places
    if not sections or not (np.abs(ratio[known] - 1.0) > LEAST_SWING_RATIO).any():
        return None
    swing = np.full((int(instant[-1]) + 1, len(sections)), np.nan, dtype=np.float32)
    swing[instant, bit] = ratio
    return swing


def _groups(on: IntArray, sections: int) -> list[int]:
    """Return the group of each section: those ever on together, or joined by others, are one boom."""
    owner = list(range(sections))
    for together in np.unique(on).tolist():
        members = [bit for bit in range(sections) if together >> bit & 1]
        joined = {owner[bit] for bit in members}
        owner = [min(joined) if group in joined else group for group in owner]
    numbers = {group: number for number, group in enumerate(dict.fromkeys(owner))}
    return [numbers[group] for group in owner]


def middle_sections(sections: tuple[SectionFacts, ...]) -> tuple[SectionFacts, ...]:
    """Return the section in the middle of each group: the one whose position stands for the boom's."""
    groups = sorted({section.group for section in sections})
    booms = [[section for section in sections if section.group == group] for group in groups]
    return tuple(boom[len(boom) // 2] for boom in booms)


def _position_rows(
    sections: tuple[SectionFacts, ...], used: IntArray, section: IntArray, order: tuple[IntArray, IntArray]
) -> tuple[IntArray, FloatArray]:
    """Return for each instant the row whose position stands for the boom, and whether there is one."""
    starts, instant = order
    if not sections:
        return starts, np.ones(starts.size, dtype=bool)
    middle = used[[facts.bit for facts in middle_sections(sections)]]
    rows = np.flatnonzero(np.isin(section, middle))
    chosen, known = starts.copy(), np.zeros(starts.size, dtype=bool)
    chosen[instant[rows]] = rows
    known[instant[rows]] = True
    return chosen, known
