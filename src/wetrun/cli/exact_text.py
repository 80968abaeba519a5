"""Where the map of an exact replay was written, as sentences."""

from __future__ import annotations

from collections.abc import Iterator

from wetrun.cli.exact_answer import WrittenMap
from wetrun.fieldlog.trace import CM2_PER_M2
from wetrun.papers.exact_words import share_words
from wetrun.papers.reader import Reader
from wetrun.units import Cm2


def map_lines(written: WrittenMap, replayed_cm2: Cm2, reader: Reader) -> Iterator[str]:
    """Yield where a map was written, and how much of the replayed area [cm2] is not on it; nothing where none was."""
    if written.refused is not None:
        return
    yield f"Wrote {written.path}, at the rate of the pass"
    if written.left_out_cm2:
        yield (
            f"Not on the map: {reader.area(written.left_out_cm2 / CM2_PER_M2)}, "
            f"{share_words(written.left_out_cm2, replayed_cm2)} of the area, whose place or heading the log does not "
            "tell. The figures above count it."
        )
