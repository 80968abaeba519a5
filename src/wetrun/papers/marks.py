"""The drawing tools of our pictures: escaping, hatches, tints, swatches, and text cut to fit."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final
from xml.sax.saxutils import escape

from wetrun.spray.droplets import DropletClass

FONT: Final = "Lato, Carlito, sans-serif"
INK: Final = "#1d1d1b"
SOFT: Final = "#6b6b66"
FAINT: Final = "#d5d5cf"
BAR: Final = "#8a8a83"
WIDE_FRAC: Final = 0.55
"""Mean width of a letter over its height; a little too wide, so that text set by it never runs over."""

# The colours ASABE S572 / ISO 25358 give the classes (wetrun.spray.pattern names them), thinned so that black letters
# stand out on them.
TINTS: Final[Mapping[DropletClass, str]] = {
    DropletClass.XF: "#b9a0d6",
    DropletClass.VF: "#ea8f88",
    DropletClass.F: "#f4b678",
    DropletClass.M: "#f5e68a",
    DropletClass.C: "#9fc3ea",
    DropletClass.VC: "#a3d3a0",
    DropletClass.XC: "#ffffff",
    DropletClass.UC: "#4a4a4a",
}
# ISO 10625 colours (from memory, see the source); never shown without the size number.
SIZE_COLOURS: Final[Mapping[str, str]] = {
    "01": "#f28c28",
    "015": "#2e9e4f",
    "02": "#f4d820",
    "025": "#b07cc6",
    "03": "#2f6fc0",
    "035": "#9c4a3c",
    "04": "#d3352b",
    "05": "#7b4a26",
    "06": "#8c8c8c",
    "08": "#ffffff",
    "10": "#8cc8ec",
    "15": "#a6d96a",
    "20": "#222222",
}
_NO_XML: Final = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def safe(text: str) -> str:
    """Return text for XML content: markup escaped, characters XML cannot hold replaced.

    Example
    -------
    >>> safe("5 < 6 & so on")
    '5 &lt; 6 &amp; so on'
    """
    return escape(_NO_XML.sub("\ufffd", text))


def cut(text: str, width: float, height: float) -> str:
    """Return text that fits a width at a letter height, cut with an ellipsis if it must be.

    Example
    -------
    >>> cut("a rather long name", 40.0, 8.0)
    'a rather…'
    """
    most = max(int(width / (WIDE_FRAC * height)), 1)
    return text if len(text) <= most else f"{text[:most].rstrip()}…"


def written(text: str, x: float, y: float, *, height: float = 9.0, style: str = "") -> str:
    """Return a line of text; ``style`` holds further attributes as they stand."""
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{height:g}" {style}>{safe(text)}</text>'


def box(corner: tuple[float, float], size: tuple[float, float], style: str) -> str:
    """Return a rectangle from its upper left corner and its size."""
    (x, y), (wide, high) = corner, size
    return f'<rect x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="{high:.1f}" {style}/>'


def line(start: tuple[float, float], end: tuple[float, float], style: str) -> str:
    """Return a straight line."""
    (x1, y1), (x2, y2) = start, end
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" {style}/>'


def swatch(size: str, x: float, y: float) -> tuple[str, float]:
    """Return a small size swatch with the size number beside it, and how wide both are.

    A size that is not ISO 10625's has no colour: the number stands alone.
    """
    number = cut(size, 40.0, 9.0)
    wide = WIDE_FRAC * 9.5 * len(number)
    if size not in SIZE_COLOURS:
        return written(number, x, y, height=9.5, style='font-weight="700"'), wide
    chip = box((x, y - 8), (9, 9), f'fill="{SIZE_COLOURS[size]}" stroke="{INK}" stroke-width="0.7"')
    return chip + written(number, x + 13, y, height=9.5, style='font-weight="700"'), wide + 13


def hatches(prefix: str) -> str:
    """Return the hatch patterns of a picture; ids carry a prefix so that many pictures share one page."""
    return (
        "<defs>"
        + _pattern(f"{prefix}-slow", f'<path d="M0 0L6 6M-1 5L1 7M5 -1L7 1" stroke="{SOFT}" stroke-width="1"/>')
        + _pattern(f"{prefix}-fast", f'<path d="M0 6L6 0M-1 1L1 -1M5 7L7 5" stroke="{SOFT}" stroke-width="1"/>')
        + _pattern(f"{prefix}-unusable", f'<path d="M0 0L6 6M0 6L6 0" stroke="{SOFT}" stroke-width="0.8"/>')
        + _pattern(f"{prefix}-undecided", f'<circle cx="3" cy="3" r="1.1" fill="{INK}"/>')
        + "</defs>"
    )


def opened(prefix: str, size: tuple[float, float], title: str, told: str) -> str:
    """Return the beginning of a picture, to be ended by ``</svg>``.

    Parameters
    ----------
    prefix : str
        Before its ids, so that many pictures share one page.
    size : tuple of float
        Width and height, in the picture's own units.
    title, told : str
        What it is, and what it shows for who cannot see it.

    Returns
    -------
    str
        The tag with title and description.
    """
    wide, high = size
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:g} {high:g}" width="{wide:g}" height="{high:g}" '
        f'role="img" aria-labelledby="{prefix}-title {prefix}-desc" font-family="{FONT}" fill="{INK}">'
        f'<title id="{prefix}-title">{safe(title)}</title><desc id="{prefix}-desc">{safe(told)}</desc>'
    )


def picture_id(text: str) -> str:
    """Return a plain id made of a text: letters, digits and hyphens.

    Example
    -------
    >>> picture_id("UAN top-dress <1>")
    'uan-top-dress-1'
    """
    return re.sub(r"[^a-z0-9]+", "-", text.casefold()).strip("-") or "pass"


def _pattern(ident: str, inside: str) -> str:
    ground = '<rect width="6" height="6" fill="#ffffff"/>'
    return f'<pattern id="{ident}" width="6" height="6" patternUnits="userSpaceOnUse">{ground}{inside}</pattern>'
