"""The map of a replay as a picture: ground by how far the rate is off, five steps told apart by pattern and letter.

North is up and a metre is a metre everywhere on it: over a field the earth is flat enough for that.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any, Final

from wetrun.papers.marks import INK, SOFT, box, line, opened, written
from wetrun.percent import per_cent
from wetrun.units import M2, M, Ratio

WIDTH: Final = 720.0
HEIGHT: Final = 520.0
EDGE: Final = 14.0
KEY: Final = 44.0
FOOT: Final = 26.0
NEAR_RATIO: Final = 0.05
FAR_RATIO: Final = 0.10
HAIR: Final = 1e-9
"""A rate of exactly 95 % is within 5 %, whatever floating point makes of it."""
METRES_PER_DEGREE: Final = 111_320.0
"""Of latitude, good to 0.6 %: enough to draw a field to scale, never used to measure one."""
SCALES_M: Final = (5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
_PREFIX: Final = "map"


class Step(Enum):
    """How far the rate is off, with its letter, fill and stroke."""

    FAR_UNDER = ("U", "under by more than 10 %")
    UNDER = ("u", "under by 5 to 10 %")
    HELD = ("·", "within 5 %")
    OVER = ("o", "over by 5 to 10 %")
    FAR_OVER = ("O", "over by more than 10 %")

    @property
    def letter(self) -> str:
        """Stands for it in the key."""
        return self.value[0]

    @property
    def words(self) -> str:
        """What it means."""
        return self.value[1]


_FILLS: Final[Mapping[Step, str]] = {
    Step.FAR_UNDER: f"url(#{_PREFIX}-far-under)",
    Step.UNDER: f"url(#{_PREFIX}-under)",
    Step.HELD: "#d9dedd",
    Step.OVER: f"url(#{_PREFIX}-over)",
    Step.FAR_OVER: f"url(#{_PREFIX}-far-over)",
}


@dataclass(frozen=True, slots=True)
class MapSquare:
    """One square of ground: its west and south edge and its sides in metres from the corner, and how far it is off."""

    east_m: M
    north_m: M
    wide_m: M
    high_m: M
    step: Step
    area_m2: M2


def step_of(rate_ratio: Ratio) -> Step:
    """Return the step of a rate over the rate wanted [ratio].

    Example
    -------
    >>> step_of(1.0).words, step_of(0.93).letter, step_of(1.4).letter
    ('within 5 %', 'u', 'O')
    """
    off = rate_ratio - 1.0
    if abs(off) <= NEAR_RATIO + HAIR:
        return Step.HELD
    if off < 0:
        return Step.FAR_UNDER if off < -FAR_RATIO - HAIR else Step.UNDER
    return Step.FAR_OVER if off > FAR_RATIO + HAIR else Step.OVER


def squares_of(whole: Mapping[str, Any]) -> tuple[MapSquare, ...]:
    """Return the squares of a replay's map.

    Parameters
    ----------
    whole : mapping
        GeoJSON as `wetrun.papers.field_map.geojson` writes it.

    Returns
    -------
    tuple of MapSquare
        In metres from the map's south-west corner.
    """
    west, south, _, north = whole["bbox"]
    metres_east = METRES_PER_DEGREE * math.cos(math.radians((south + north) / 2.0))
    squares = []
    for feature in whole["features"]:
        (low_x, low_y), _, (high_x, high_y), *_ = feature["geometry"]["coordinates"][0]
        told = feature["properties"]
        squares.append(
            MapSquare(
                east_m=(low_x - west) * metres_east,
                north_m=(low_y - south) * METRES_PER_DEGREE,
                wide_m=(high_x - low_x) * metres_east,
                high_m=(high_y - low_y) * METRES_PER_DEGREE,
                step=step_of(told["rate_ratio"]),
                area_m2=told["area_m2"],
            )
        )
    return tuple(squares)


def map_rows(squares: Sequence[MapSquare]) -> list[dict[str, Any]]:
    """Return the map as a table: share and area of every step, for readers who do not see it.

    Parameters
    ----------
    squares : sequence of MapSquare
        The map.

    Returns
    -------
    list of dict
        ``letter``, ``words``, ``share`` and ``area_m2`` of each step, all five.
    """
    whole = sum(one.area_m2 for one in squares)
    areas = {step: sum(one.area_m2 for one in squares if one.step is step) for step in Step}
    return [
        {
            "letter": step.letter,
            "words": step.words,
            "share": per_cent(areas[step] / whole if whole else 0.0),
            "area_m2": areas[step],
        }
        for step in Step
    ]


def map_svg(squares: Sequence[MapSquare], title: str) -> str:
    """Return the map as SVG.

    Parameters
    ----------
    squares : sequence of MapSquare
        The map; one square at least.
    title : str
        What is seen.

    Returns
    -------
    str
        One ``<svg>`` element with title and description; squares of one step are one path, thousands stay small.
    """
    east = max(one.east_m + one.wide_m for one in squares)
    north = max(one.north_m + one.high_m for one in squares)
    scale = min((WIDTH - 2 * EDGE) / east, (HEIGHT - 2 * EDGE) / north)
    high = north * scale + 2 * EDGE
    told = "; ".join(f"{row['words']}: {row['share']}" for row in map_rows(squares))
    parts = [
        _patterns(),
        box((0, 0), (WIDTH, KEY + high + FOOT), 'fill="#ffffff"'),
        *_key(),
        *(_path(step, squares, scale, KEY + high - EDGE) for step in Step),
        *_foot(scale, KEY + high),
    ]
    return f"{opened(_PREFIX, (WIDTH, round(KEY + high + FOOT)), title, told)}{''.join(parts)}</svg>"


def _path(step: Step, squares: Iterable[MapSquare], scale: float, ground: float) -> str:
    pieces = [
        f"M{EDGE + one.east_m * scale:.1f} {ground - one.north_m * scale:.1f}"
        f"h{one.wide_m * scale:.2f}v{-one.high_m * scale:.2f}h{-one.wide_m * scale:.2f}z"
        for one in squares
        if one.step is step
    ]
    return f'<path d="{"".join(pieces)}" fill="{_FILLS[step]}"/>' if pieces else ""


def _key() -> Iterator[str]:
    x = EDGE
    for step in Step:
        yield box((x, 12), (20, 14), f'fill="{_FILLS[step]}" stroke="{INK}" stroke-width="0.7"')
        yield written(f"{step.letter}  {step.words}", x + 25, 23, height=10)
        x += 45 + 5.2 * len(step.words)


def _foot(scale: float, y: float) -> Iterator[str]:
    """A bar of a round length, and which way is north."""
    length = max((one for one in SCALES_M if one * scale <= WIDTH / 3), default=SCALES_M[0])
    end = EDGE + length * scale
    yield line((EDGE, y + 8), (end, y + 8), f'stroke="{INK}" stroke-width="1.5"')
    for at in (EDGE, end):
        yield line((at, y + 4), (at, y + 12), f'stroke="{INK}" stroke-width="1.5"')
    yield written(f"{length} m", end + 6, y + 12, height=10)
    yield written("north is up", WIDTH - EDGE, y + 12, height=10, style='text-anchor="end"')


def _patterns() -> str:
    """Lines one way for too little, the other way for too much; close and dark where it is far off."""
    return (
        "<defs>"
        + _pattern("under", 6, "M0 6L6 0", f'stroke="{SOFT}" stroke-width="0.9"')
        + _pattern("far-under", 4, "M0 4L4 0", f'stroke="{INK}" stroke-width="1.3"')
        + _pattern("over", 6, "M0 0L6 6", f'stroke="{SOFT}" stroke-width="0.9"')
        + _pattern("far-over", 4, "M0 0L4 4M0 4L4 0", f'stroke="{INK}" stroke-width="1.2"')
        + "</defs>"
    )


def _pattern(name: str, side: int, path: str, stroke: str) -> str:
    return (
        f'<pattern id="{_PREFIX}-{name}" width="{side}" height="{side}" patternUnits="userSpaceOnUse">'
        f'<rect width="{side}" height="{side}" fill="#ffffff"/>'
        f'<path d="{path}" {stroke} fill="none"/></pattern>'
    )
