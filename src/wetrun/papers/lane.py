"""The speed lane, our signature picture: per tip set a lane over ground speed, the field's own tally underneath.

Letters and hatching carry the meaning, colour only repeats it; every picture comes with its table (`lane_rows`).
Plain SVG from string templates: the same bytes stand alone, on a page, and in a paper.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Final

from wetrun.papers.lane_data import Lane, Mark, Picture, Zone, ZoneKind
from wetrun.papers.marks import (
    BAR,
    FAINT,
    INK,
    SOFT,
    TINTS,
    WIDE_FRAC,
    box,
    cut,
    hatches,
    line,
    opened,
    picture_id,
    swatch,
    written,
)
from wetrun.papers.segments import Segment
from wetrun.percent import per_cent

WIDTH: Final = 640.0
LEFT: Final = 16.0
RIGHT: Final = 624.0
HEAD: Final = 15.0
FLAGS: Final = 15.0
BAND: Final = 34.0
FOOT: Final = 14.0
GAP: Final = 9.0
BOLD_FRAC: Final = 0.68
LANE: Final = HEAD + FLAGS + BAND + FOOT + GAP
TALLY: Final = 54.0
AXIS: Final = 30.0
_SIGNS: Final = {ZoneKind.SLOW: "slow", ZoneKind.FAST: "fast", ZoneKind.UNUSABLE: "unusable"}


def lane_svg(picture: Picture) -> str:
    """Return the picture as SVG.

    Parameters
    ----------
    picture : Picture
        What it shows.

    Returns
    -------
    str
        One ``<svg>`` element with title and description; every text escaped.
    """
    prefix = f"lane-{picture_id(picture.ident)}"
    scale = _Scale(picture.top)
    tally_top = LANE * len(picture.lanes) + 8
    ground = tally_top + TALLY
    parts = [
        hatches(prefix),
        box((0, 0), (WIDTH, ground + AXIS), 'fill="#ffffff"'),
        *_grid(picture, scale, ground),
        *(part for number, lane in enumerate(picture.lanes) for part in _lane(lane, LANE * number, scale, prefix)),
        *_tally(picture, scale, tally_top, ground),
        *_axis(picture, scale, ground),
    ]
    return f"{_opened(picture, prefix, ground + AXIS)}{''.join(parts)}</svg>"


class _Scale:
    """Places of speeds on the paper."""

    def __init__(self, top: float) -> None:
        self.top = top

    def __call__(self, speed: float) -> float:
        return LEFT + (RIGHT - LEFT) * min(max(speed, 0.0), self.top) / self.top


def _opened(picture: Picture, prefix: str, high: float) -> str:
    told = "; ".join(f"{lane.name}: {', '.join(lane.captions)}" for lane in picture.lanes)
    told += f". Speeds of the field {picture.tally_words}."
    return opened(prefix, (WIDTH, high), picture.title, told)


def _grid(picture: Picture, scale: _Scale, ground: float) -> Iterator[str]:
    for speed in _ticks(picture):
        yield line((scale(speed), 4), (scale(speed), ground), f'stroke="{FAINT}" stroke-width="0.6"')


def _ticks(picture: Picture) -> Iterable[float]:
    return [picture.step * number for number in range(round(picture.top / picture.step) + 1)]


def _lane(lane: Lane, top: float, scale: _Scale, prefix: str) -> Iterator[str]:
    sign, wide = swatch(lane.size, LEFT, top + HEAD - 3)
    name = lane.name if lane.chosen else f"{lane.name} (also in the plan)"
    yield sign
    signs = " · ".join(mark.short for mark in lane.marks)
    room = RIGHT - LEFT - wide - 16 - WIDE_FRAC * 9 * len(signs)
    yield _plate(LEFT + wide + 5, top + 2, cut(name, room, 9.5), height=9.5, bold=lane.chosen)
    if signs:
        yield _plate(RIGHT, top + 2, signs, height=9, anchor="end")
    band = top + HEAD + FLAGS
    for zone in lane.zones:
        yield from _zone(zone, band, scale, prefix)
    for segment in lane.segments:
        yield from class_stretch(segment, band, scale)
    if lane.segments:
        start, end = scale(lane.segments[0].start), scale(lane.segments[-1].end)
        yield box((start, band), (end - start, BAND), f'fill="none" stroke="{INK}" stroke-width="1.6"')
    yield from _flags(lane.marks, band, scale)
    yield from _captions(lane.captions, band + BAND + 11)


def _zone(zone: Zone, band: float, scale: _Scale, prefix: str) -> Iterator[str]:
    x, wide = scale(zone.start), scale(zone.end) - scale(zone.start)
    if zone.kind is ZoneKind.NEAR:
        yield box((x, band + BAND / 3), (wide, BAND / 3), f'fill="#ffffff" stroke="{INK}" stroke-width="0.8"')
        return
    if zone.kind is ZoneKind.UNDECIDED:
        yield box((x, band), (wide, BAND), f'fill="url(#{prefix}-undecided)" stroke="{INK}" stroke-width="0.8"')
        yield _centred("?", x + wide / 2, band + BAND / 2, wide=wide, height=11)
        return
    yield box((x, band), (wide, BAND), f'fill="url(#{prefix}-{_SIGNS[zone.kind]})" stroke="{SOFT}" stroke-width="0.6"')
    if wide > WIDE_FRAC * 9 * len(zone.kind) + 8:
        yield _centred(zone.kind, x + wide / 2, band + BAND / 2, wide=wide, height=9)


def class_stretch(segment: Segment, top: float, scale: Callable[[float], float]) -> Iterator[str]:
    """Draw one stretch of one class: a band for each class of a span, the letters on a plate over it.

    Parameters
    ----------
    segment : Segment
        The stretch.
    top : float
        Upper edge; it is `BAND` high.
    scale : callable
        Gives the place of its ends on the paper.

    Yields
    ------
    str
        SVG elements.
    """
    x, wide = scale(segment.start), scale(segment.end) - scale(segment.start)
    fills = [TINTS[found] for found in segment.classes] or ["#ffffff"]
    for number, fill in enumerate(fills):
        high = BAND / len(fills)
        yield box((x, top + number * high), (wide, high), f'fill="{fill}"')
    yield line((x, top), (x, top + BAND), f'stroke="{INK}" stroke-width="0.8"')
    yield _centred(segment.letters, x + wide / 2, top + BAND / 2, wide=wide, height=11)


def _centred(text: str, x: float, y: float, *, wide: float, height: float) -> str:
    """Letters on a white plate, turned upright where the stretch is too narrow for them."""
    length = WIDE_FRAC * height * len(text) + 6
    turned = length > wide
    height = min(height, (BAND - 4) / (BOLD_FRAC * len(text))) if turned else height
    length = min(length, BAND)
    plate = box((x - length / 2, y - height * 0.62), (length, height * 1.24), 'rx="2" fill="#ffffff"')
    style = 'text-anchor="middle" font-weight="700"'
    letters = f"{plate}{written(text, x, y + height * 0.36, height=round(height, 1), style=style)}"
    return f'<g transform="rotate(-90 {x:.1f} {y:.1f})">{letters}</g>' if turned else letters


def _flags(marks: Iterable[Mark], band: float, scale: _Scale) -> Iterator[str]:
    """Signs above the lane, moved apart where they would hide each other."""
    taken = -1000.0
    for mark in sorted(marks, key=lambda found: found.at):
        at = scale(mark.at)
        flag = max(at, taken + 13)
        taken = flag
        style = f'stroke="{INK}" stroke-width="1.2" stroke-dasharray="3 2"'
        yield line((at, band - 2), (at, band + BAND), style)
        yield line((flag, band - 5), (at, band - 2), f'stroke="{INK}" stroke-width="0.8"')
        yield box((flag - 5.5, band - 15), (11, 11), f'fill="#ffffff" stroke="{INK}" stroke-width="1"')
        yield written(mark.sign, flag, band - 6.2, height=9, style='text-anchor="middle" font-weight="700"')


def _captions(captions: tuple[str, ...], y: float) -> Iterator[str]:
    half = (RIGHT - LEFT) / 2 - 6
    yield _plate(LEFT, y - 10, cut(captions[0], half if len(captions) > 1 else 2 * half, 9), height=9)
    for caption in captions[1:]:
        yield _plate(RIGHT, y - 10, cut(caption, half, 9), height=9, anchor="end")


def _plate(x: float, y: float, text: str, *, height: float, bold: bool = False, anchor: str = "start") -> str:
    """Text on a white ground, so that grid lines do not run through it."""
    weight = "700" if bold else "400"
    wide = WIDE_FRAC * height * len(text)
    ground = box((x - (wide if anchor == "end" else 0.0), y + 9 - height), (wide, height + 3), 'fill="#ffffff"')
    return ground + written(text, x, y + 10, height=height, style=f'text-anchor="{anchor}" font-weight="{weight}"')


def _tally(picture: Picture, scale: _Scale, top: float, ground: float) -> Iterator[str]:
    tallest = max((bar.share for bar in picture.bars), default=1.0)
    for bar in picture.bars:
        high = (TALLY - 14) * bar.share / tallest
        wide = scale(bar.end) - scale(bar.start)
        style = f'fill="{BAR}" stroke="#ffffff" stroke-width="0.8"'
        yield box((scale(bar.start), ground - high), (wide, high), style)
    most = f"The field's own speeds, {picture.tally_words}; tallest bar {per_cent(tallest)} of the area"
    yield _plate(LEFT, top - 7, cut(most, RIGHT - LEFT, 9), height=9)


def _axis(picture: Picture, scale: _Scale, ground: float) -> Iterator[str]:
    yield line((LEFT, ground), (RIGHT, ground), f'stroke="{INK}" stroke-width="1"')
    for speed in _ticks(picture):
        yield line((scale(speed), ground), (scale(speed), ground + 4), f'stroke="{INK}" stroke-width="1"')
        yield written(f"{speed:g}", scale(speed), ground + 14, height=9, style='text-anchor="middle"')
    words = f"ground speed, {picture.unit}"
    yield written(words, (LEFT + RIGHT) / 2, ground + 26, height=9, style='text-anchor="middle"')
