"""Sets a paper with typst: user text goes in as data, our own fonts, no clock; the same data give the same bytes."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any, Final

LONGEST_RUN: Final = 24
"""Letters without a space after which a line may be broken all the same, so that nothing runs off the paper."""
BREAK: Final = "\u200b"
_RUN: Final = re.compile(rf"\S{{{LONGEST_RUN + 1},}}")
_UNPRINTABLE: Final = re.compile("[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff\ufffe\uffff]")


def render(template: str, data: Mapping[str, Any], fonts: Path | None = None) -> bytes:
    """Return a paper as PDF.

    Parameters
    ----------
    template : str
        Name of a template in this package, without its ending.
    data : mapping
        What it prints: strings, numbers, lists and dicts. No string of it is ever read as markup or code.
    fonts : Path or None
        Folder of fonts; None takes the ones that come with Wetrun. The system's are never looked at.

    Returns
    -------
    bytes
        The PDF; equal data give equal bytes.
    """
    import typst  # noqa: PLC0415 - a large library that only papers need

    plain = json.dumps(printable(data), ensure_ascii=False, sort_keys=True)
    with as_file(files("wetrun.papers")) as room:
        pdf: bytes = typst.compile(
            str(room / "templates" / f"{template}.typ"),
            root=str(room / "templates"),
            font_paths=[str(fonts or room / "fonts")],
            ignore_system_fonts=True,
            format="pdf",
            sys_inputs={"data": plain},
            timestamp=0,
        )
    return pdf


def printable(data: Any) -> Any:  # noqa: ANN401 - JSON has no better type
    """Return the same data with strings that can be set: no control characters, long runs of letters breakable.

    Pictures (keys that end in ``_svg``) are left as they are; they escape their own text.

    Example
    -------
    >>> printable({"name": "a" + chr(0), "n": 1})["name"] == "a" + chr(0xFFFD)
    True
    """
    if isinstance(data, str):
        clean = _UNPRINTABLE.sub("\ufffd", data)
        return _RUN.sub(lambda run: BREAK.join(_pieces(run.group())), clean)
    if isinstance(data, Mapping):
        return {key: value if str(key).endswith("_svg") else printable(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [printable(part) for part in data]
    return data


def _pieces(run: str) -> list[str]:
    return [run[start : start + LONGEST_RUN] for start in range(0, len(run), LONGEST_RUN)]
