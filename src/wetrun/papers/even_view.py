"""How even a boom lays, as sentences and as a table: every position with what falls around it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

import numpy as np

from wetrun.papers.reader import Reader
from wetrun.papers.table_text import table_csv
from wetrun.percent import PER_CENT, off_per_cent, per_cent
from wetrun.planning.boom_even import BoomEven
from wetrun.planning.boom_turn import tip_offsets_m
from wetrun.quantity import Kind
from wetrun.sources import source
from wetrun.spray.boom_lie import HeightStretch, LaidBoom
from wetrun.spray.overlap import MODEL_MARGIN_FRAC, Evenness, StackedBoom, Standing
from wetrun.units import M

HEADINGS: Final = ("position", "section", "from the middle", "least around it", "most around it")
# boom-yaw-2003
MOVING: Final = (
    "A boom that hangs still is told here. In motion it is less even along the way: 6.9 to 10.9 % variation were "
    "measured in fields (opening part read)."
)
_STANDS: Final = {
    Standing.WITHIN: "stays within it",
    Standing.UNDECIDED: "cannot be said",
    Standing.BEYOND: "is beyond it",
}


def even_sentences(even: BoomEven, reader: Reader) -> list[str]:
    """Return how even a boom lays, in sentences."""
    question, limit = even.question, even.question.limit
    groove = "" if limit.groove_frac is None else f" and ±{per_cent(limit.groove_frac, places=0)} a groove"
    status = source(limit.source_key).status
    heights = "; ".join(stretch_words(one, reader) for one in even.stretches) or "none could be worked out"
    rule = (
        f"Rule, {limit.name}: variation up to {per_cent(limit.cv_frac, places=0)}{groove} (source {status}). Here it "
        f"{_STANDS[even.standing]}; within {MODEL_MARGIN_FRAC * PER_CENT:.0f} points of a limit, or where the width of "
        "the fan decides, only a tray tells."
    )
    return [
        f"Pattern: {question.source.words}.",
        f"At {reader.text(question.lie.height_m, Kind.HEIGHT)}: {_laid(even.laid, reader)}.",
        *([] if even.level is None else [f"Level and straight it would be: {_laid(even.level, reader)}."]),
        *_yaw(even, reader),
        rule,
        f"Over heights: {heights}.",
        f"An endless boom of equal tips at this height varies by {_span(*even.endless_frac)}.",
        MOVING,
    ]


def stretch_words(stretch: HeightStretch, reader: Reader) -> str:
    """Return one stretch of heights in words."""
    low, high = (reader.text(height, Kind.HEIGHT) for height in (stretch.from_m, stretch.to_m))
    return f"{low if low == high else f'{low} to {high}'} {_STANDS[stretch.standing]}"


def position_rows(even: BoomEven, reader: Reader) -> list[tuple[str, ...]]:
    """Return a row of text for every position: the least and the most any groove around it gets; see `HEADINGS`."""
    return [
        (
            str(one.position),
            str(one.section),
            reader.text(one.offset_m, Kind.LENGTH),
            off_per_cent(one.least, places=0),
            off_per_cent(one.most, places=0),
        )
        for one in around_positions(even)
    ]


def position_csv(even: BoomEven, reader: Reader) -> bytes:
    """Return the same as a table of numbers for a spreadsheet."""
    unit = reader.unit(Kind.LENGTH)
    header = (*HEADINGS[:2], f"{HEADINGS[2]} ({unit})", *(f"{name} (% off the mean)" for name in HEADINGS[3:]))
    rows: list[tuple[int | Decimal, ...]] = [
        (
            one.position,
            one.section,
            Decimal(f"{reader.number(one.offset_m, Kind.LENGTH):.2f}"),
            *(Decimal(f"{PER_CENT * off:.1f}") for off in (one.least, one.most)),
        )
        for one in around_positions(even)
    ]
    return table_csv(header, rows)


@dataclass(frozen=True, slots=True)
class AroundPosition:
    """A position, and the least and most that any groove nearest to it gets, over the mean, less 1."""

    position: int
    section: int
    offset_m: M
    least: float
    most: float


def around_positions(even: BoomEven) -> list[AroundPosition]:
    """Return what falls around every position, narrow and wide fans taken together."""
    boom, laid = even.question.boom, even.laid
    sections = np.repeat(np.arange(len(boom.section_tips)) + 1, boom.section_tips).tolist()
    found = []
    for place, offset_m in enumerate(tip_offsets_m(boom).tolist()):
        near = [off for stack in (laid.narrow, laid.wide) for off in _near(stack, place, boom.tips)]
        found.append(AroundPosition(place + 1, sections[place], offset_m, min(near), max(near)))
    return found


def relative_grooves(stack: StackedBoom) -> tuple[np.typing.NDArray[np.float64], np.typing.NDArray[np.float64]]:
    """Return the middles of the grooves over the boom's width from its own middle, and each over the mean, less one."""
    middles = (stack.edges_m[:-1] + stack.edges_m[1:]) / 2.0
    inside = (middles > stack.whole.from_m - 1e-9) & (middles < stack.whole.to_m + 1e-9)
    judged = stack.inner or stack.whole
    mean = float(np.mean(stack.caught_m3s[(middles > judged.from_m - 1e-9) & (middles < judged.to_m + 1e-9)]))
    centre: M = (stack.whole.from_m + stack.whole.to_m) / 2.0
    return middles[inside] - centre, stack.caught_m3s[inside] / mean - 1.0


def _near(stack: StackedBoom, place: int, positions: int) -> list[float]:
    """What the grooves nearer to one position than to any other get, over the mean, less one."""
    middles, off = relative_grooves(stack)
    width = (stack.whole.to_m - stack.whole.from_m) / positions
    nearest = np.clip(np.floor((middles + positions * width / 2.0) / width).astype(int), 0, positions - 1)
    found: list[float] = off[nearest == place].tolist()
    return found


def _laid(laid: LaidBoom, reader: Reader) -> str:
    narrow, wide = laid.both
    worst = max(laid.both, key=lambda one: max(one.most_frac, -one.least_frac))
    return (
        f"variation {_span(narrow.cv_frac, wide.cv_frac)}, emptiest groove {off_per_cent(worst.least_frac, places=0)} "
        f"{_where(worst.least_m, laid, reader)}, fullest {off_per_cent(worst.most_frac, places=0)} "
        f"{_where(worst.most_m, laid, reader)}"
    )


def _where(at_m: M, laid: LaidBoom, reader: Reader) -> str:
    whole: Evenness = laid.wide.whole
    off_m = at_m - (whole.from_m + whole.to_m) / 2.0
    return f"{reader.text(abs(off_m), Kind.LENGTH)} {'right' if off_m > 0.0 else 'left'} of the middle"


def _yaw(even: BoomEven, reader: Reader) -> list[str]:
    lie = even.question.lie
    if lie.yaw_rad == 0.0:
        return []
    width_m = even.question.boom.width_m * math.cos(lie.yaw_rad)
    on_it = off_per_cent(lie.rate_ratio - 1.0)
    return [f"Turned so it covers {reader.text(width_m, Kind.WIDTH)} only: {on_it} on that ground, nothing beside it."]


def _span(one: float, other: float) -> str:
    low, high = per_cent(min(one, other)), per_cent(max(one, other))
    return low if low == high else f"{low.removesuffix(' %')} to {high}"
