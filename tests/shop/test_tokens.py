"""Every colour of the shop can be read on what it stands on, in both themes, as WCAG 2.2 AA asks."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

import pytest

STATIC: Final = Path(__file__).parents[2] / "src" / "wetrun" / "shop" / "static"
TOKENS: Final = (STATIC / "tokens.css").read_text(encoding="utf-8")
SHEET: Final = (STATIC / "shop.css").read_text(encoding="utf-8")
# What WCAG asks of text (1.4.3) and of shapes that carry meaning (1.4.11); a quiet line only has to be there.
LEAST: Final = {"text": 4.5, "shape": 3.0, "quiet": 1.2}


def colours_of(selector: str) -> dict[str, str]:
    """The colours set under a selector, of all its blocks together."""
    blocks = re.findall(rf"^\s*{re.escape(selector)} \{{(.*?)\}}", TOKENS, re.DOTALL | re.MULTILINE)
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", "".join(blocks)))


LIGHT: Final = colours_of(":root")
DARK: Final = colours_of(':root:not([data-theme="light"])')
PAIRS: Final = [
    (kind, *pair.split(" on "))
    for kind, pairs in re.findall(r"^   (text|shape|quiet): (.*)$", TOKENS, re.MULTILINE)
    for pair in pairs.strip().split(", ")
]


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, as WCAG 2.2 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize(
    ("one", "other", "printed"),
    [("#000000", "#ffffff", 21.0), ("#777777", "#ffffff", 4.48), ("#0000ff", "#ffffff", 8.59)],
)
def test_the_contrast_is_the_one_that_is_published(one: str, other: str, printed: float) -> None:
    assert contrast(one, other) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize(("kind", "front", "back"), PAIRS, ids=" ".join)
def test_what_stands_on_what_can_be_told_apart(theme: str, kind: str, front: str, back: str) -> None:
    colours = LIGHT if theme == "light" else DARK
    found = contrast(colours[front], colours[back])
    assert found >= LEAST[kind], f"{front} {colours[front]} on {back} {colours[back]}: {found:.2f}"


def test_no_colour_is_left_out_of_the_pairs() -> None:
    assert {name for _, *pair in PAIRS for name in pair} == set(LIGHT)


def test_dark_is_the_same_whether_the_device_or_the_person_asks() -> None:
    assert colours_of(':root[data-theme="dark"]') == DARK
    assert set(DARK) == set(LIGHT)


def test_print_is_dark_ink_on_white() -> None:
    inks = colours_of(":root:root[data-theme]")
    assert set(inks) == {name for name in LIGHT if not name.startswith("card")}
    assert {inks["paper"], inks["sheet"], inks["wash"]} == {"#ffffff"}
    assert contrast(inks["soft"], inks["paper"]) > LEAST["text"]


def test_the_sheet_has_no_colour_of_its_own_and_every_name_it_uses_is_there() -> None:
    assert not re.findall(r"#[0-9a-fA-F]{3,8}\b|\brgb|\bhsl|\boklch", re.sub(r"/\*.*?\*/", "", SHEET, flags=re.DOTALL))
    named = set(re.findall(r"var\(--([\w-]+)\)", SHEET))
    there = set(re.findall(r"^\s*--([\w-]+):", TOKENS, re.MULTILINE))
    assert named <= there, named - there
    assert there <= named, f"never used: {there - named}"
