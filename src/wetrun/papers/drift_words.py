"""Drift as an order of magnitude, as rows and sentences. Every one of them ends in the label."""

from __future__ import annotations

from typing import Final

from wetrun.papers.reader import Reader, listed
from wetrun.percent import little_per_cent
from wetrun.planning.drift_outlook import DriftOutlook
from wetrun.quantity import Kind

SEDIMENT_HEADINGS: Final = ("from the last tip", "share of the rate")
DROP_HEADINGS: Final = ("drop", "falls in", "carried at most", "lasts")
NEVER_A_BUFFER: Final = (
    "This is no buffer and no permission. How far to stay away, in which wind, how high and how coarse: see label; "
    "local codes and licensed practice come first."
)
DRIFT_CAUTIONS: Final = (
    "Do not spray in calm air at evening or night: fog or dust that hangs still means an inversion.",
    "The finest drops travel far in an inversion, whatever the wind feels like.",
    "Measure wind at boom height where you spray, at the start, at each refill and at the end.",
    "A higher boom, more speed, more pressure and finer drops all drift more; lower the boom first.",
)
TRIALS: Final = (
    "Published trials (second-hand): arable crops, boom half a metre above the crop, wind 1 to 5 m/s, up to 8 km/h, "
    "tips of their day; 90 of 100 trials lay at or below."
)
SINGLE_DROPS: Final = (
    "Drops of clean water that only fall, in even wind: a worst case near the boom, where the spray's own speed "
    "carries drops over 150 µm down. What is dissolved stays when the water is gone, and drifts on."
)


def sediment_rows(outlook: DriftOutlook, reader: Reader) -> list[tuple[str, ...]]:
    """Return a row of text for every distance; see `SEDIMENT_HEADINGS`."""
    return [(reader.exact(one.distance_m, Kind.LENGTH), little_per_cent(one.share_frac)) for one in outlook.sediment]


def drop_rows(outlook: DriftOutlook, reader: Reader) -> list[tuple[str, ...]]:
    """Return a row of text for every drop; see `DROP_HEADINGS`."""
    rows: list[tuple[str, ...]] = []
    for drop in outlook.drops:
        life = "not known" if drop.life_s is None else f"{drop.life_s:.0f} s"
        rows.append(
            (
                reader.text(drop.drop_m, Kind.DROP_SIZE),
                f"{drop.fall_s:.1f} s",
                f"{reader.number(drop.carried_m, Kind.LENGTH):.2g} {reader.unit(Kind.LENGTH)}",
                f"{life}, gone before it lands" if drop.dries_first else life,
            )
        )
    return rows


def drift_sentences(outlook: DriftOutlook) -> list[str]:
    """Return what to know of the rows: how far they hold, and the cautions."""
    times = outlook.question.applications
    told = [TRIALS if times == 1 else f"{TRIALS} Shares are of all {times} applications together."]
    if outlook.unlike_trials:
        told.append(f"Unlike those trials {listed(list(outlook.unlike_trials))}: the shares do not hold for this day.")
    return [*told, SINGLE_DROPS, *DRIFT_CAUTIONS, NEVER_A_BUFFER]
