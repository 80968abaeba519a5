"""Pieces of one long trace told as one: counts added, sections under one numbering, what was said once said once."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Final, TypeVar

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.trace import IntArray, LeftOut, LogFacts, Origin, Repair, SectionFacts, SwingArray, Trace
from wetrun.units import M

Said = TypeVar("Said", bound=Hashable)

MOST_INSTANTS: Final = 5_000_000
"""Instants of one trace held whole. An exact replay with its map takes some 400 bytes for each, more at a second
rate: about 3 GB. Our own choice, no source."""


@dataclass(frozen=True, slots=True)
class Told:
    """What the pieces of one log, met in their order, say of all of it.

    ``swing`` says whether any of them has a swing ratio; the other fields are those of `Trace`.
    """

    facts: LogFacts
    sections: tuple[SectionFacts, ...]
    full_width_m: M
    origin: Origin | None
    swing: bool
    of_whole: bool


def told_by(piece: Trace, before: Told | None = None) -> Told:
    """Return what a log says after one more piece; ``before`` is what the pieces before it said, None for the first.

    Pieces that tell of the whole log (`Trace.told_of_whole`) all say the same, which is said once; those that tell of
    themselves add up.

    Raises
    ------
    ValueError
        When pieces that tell of the whole stand among others: they are not pieces of one log.
    """
    own = Told(
        piece.facts,
        piece.sections,
        piece.full_width_m,
        piece.origin,
        piece.swing_ratio is not None,
        piece.told_of_whole,
    )
    if before is None:
        return own
    if before.of_whole != own.of_whole:
        raise ValueError("pieces that tell of a whole log stand among pieces that tell of themselves")
    if own.of_whole:
        return before
    return Told(
        facts=_joined_facts((before.facts, own.facts)),
        sections=_joined_sections(before.sections, own.sections),
        full_width_m=max(before.full_width_m, own.full_width_m),
        origin=before.origin or own.origin,
        swing=before.swing or own.swing,
        of_whole=False,
    )


def joined_trace(pieces: Iterable[Trace], *, most_instants: int = MOST_INSTANTS) -> Trace:
    """Return the pieces of one log as one trace, for what needs all of it at once.

    Parameters
    ----------
    pieces : iterable of Trace
        At least one, in their order. A log that comes in one piece is returned as it is.
    most_instants : int
        How many instants are still held in memory at once.

    Returns
    -------
    Trace
        Columns one after another, sections under one numbering, what was said once said once.

    Raises
    ------
    LogRefused
        When the log has more instants than that; reading stops there.
    """
    held: list[Trace] = []
    told: Told | None = None
    instants = 0
    for piece in pieces:
        told = told_by(piece, told)
        instants += piece.time_s.size
        if instants > most_instants:
            raise _too_long(told.facts.file, most_instants)
        held.append(piece)
    if told is None:
        raise ValueError("a log has at least one piece")
    return held[0] if len(held) == 1 else _put_together(held, told)


def _too_long(file: str, most_instants: int) -> LogRefused:
    reason = f"it has more than {most_instants:,} instants, the most that a replay holds in memory at once"
    remedy = "Split it by day or by field and replay a part, or take `wetrun plan`, which judges a log of any length"
    return LogRefused(file, place="", reason=reason, remedy=remedy)


def _put_together(pieces: Sequence[Trace], told: Told) -> Trace:
    """Return one trace of pieces that say this together."""
    columns: dict[str, Any] = {
        one.name: np.concatenate([getattr(piece, one.name) for piece in pieces])
        for one in fields(Trace)
        if isinstance(getattr(pieces[0], one.name), np.ndarray) and one.name not in {"sections_on", "swing_ratio"}
    }
    on = [renumbered(piece.sections_on, piece.sections, told.sections) for piece in pieces]
    swing = np.concatenate([_swing(piece, told.sections) for piece in pieces]) if told.swing else None
    return Trace(
        **columns,
        sections_on=np.concatenate(on),
        full_width_m=told.full_width_m,
        sections=told.sections,
        facts=told.facts,
        origin=told.origin,
        swing_ratio=swing,
    )


def _swing(piece: Trace, joined: tuple[SectionFacts, ...]) -> SwingArray:
    if piece.swing_ratio is None:
        return np.full((piece.time_s.size, len(joined)), np.nan, dtype=np.float32)
    return swing_renumbered(piece.swing_ratio, piece.sections, joined)


def _joined_facts(facts: Sequence[LogFacts]) -> LogFacts:
    """Return the facts of a log whose pieces have these, in the order of the pieces."""
    return replace(
        facts[0],
        rows=sum(one.rows for one in facts),
        instants=sum(one.instants for one in facts),
        recordings=max(one.recordings for one in facts),
        section_groups=max((one.section_groups for one in facts), key=lambda groups: sum(map(len, groups))),
        backward_steps=sum(one.backward_steps for one in facts),
        gaps=sum(one.gaps for one in facts),
        gap_total_s=sum(one.gap_total_s for one in facts),
        columns=_once(use for one in facts for use in one.columns),
        raw_columns=_once(raw for one in facts for raw in one.raw_columns),
        repairs=joined_repairs([repair for one in facts for repair in one.repairs]),
        doubts=_once(doubt for one in facts for doubt in one.doubts),
        left_out=_left_out([left for one in facts for left in one.left_out]),
    )


def _joined_sections(sections: tuple[SectionFacts, ...], more: tuple[SectionFacts, ...]) -> tuple[SectionFacts, ...]:
    """Return the sections of two pieces: those of the first keep their bit, new ones come after."""
    by_name = {one.name: one for one in sections}
    for one in more:
        known = by_name.get(one.name)
        if known is None:
            mates = [by_name[mate.name].group for mate in more if mate.group == one.group and mate.name in by_name]
            group = mates[0] if mates else max((each.group for each in by_name.values()), default=-1) + 1
            by_name[one.name] = replace(one, bit=len(by_name), group=group)
            continue
        varies = known.width_varies or one.width_varies or known.width_m != one.width_m
        wider = known if known.rows >= one.rows else one
        by_name[one.name] = replace(known, rows=known.rows + one.rows, width_m=wider.width_m, width_varies=varies)
    return tuple(by_name.values())


def renumbered(sections_on: IntArray, own: tuple[SectionFacts, ...], joined: tuple[SectionFacts, ...]) -> IntArray:
    """Return the bit sets of a piece under the numbering of the whole."""
    bits = {one.name: one.bit for one in joined}
    if all(bits[one.name] == one.bit for one in own):
        return sections_on
    moved = np.zeros_like(sections_on)
    for one in own:
        moved |= ((sections_on >> one.bit) & 1) << bits[one.name]
    return moved


def swing_renumbered(
    swing_ratio: SwingArray, own: tuple[SectionFacts, ...], joined: tuple[SectionFacts, ...]
) -> SwingArray:
    """Return the swing ratios of a piece under the numbering of the whole.

    Parameters
    ----------
    swing_ratio
        As the piece numbers its sections [instants, bits] [ratio].
    own, joined
        The sections of the piece, and of all pieces so far.

    Returns
    -------
    ndarray
        As the whole numbers them [instants, bits of the whole] [ratio], nan for a section the piece does not have.
    """
    bits = {one.name: one.bit for one in joined}
    moved = np.full((swing_ratio.shape[0], len(joined)), np.nan, dtype=np.float32)
    moved[:, [bits[one.name] for one in own]] = swing_ratio[:, [one.bit for one in own]]
    return moved


def _once(said: Iterable[Said]) -> tuple[Said, ...]:
    return tuple(dict.fromkeys(said))


def joined_repairs(repairs: Iterable[Repair]) -> tuple[Repair, ...]:
    """Return repairs with those of one kind and words added up."""
    found: dict[tuple[str, str], Repair] = {}
    for one in repairs:
        known = found.get((one.kind, one.words))
        count, area_m2 = (known.count, known.area_m2) if known else (0, 0.0)
        found[one.kind, one.words] = Repair(one.kind, count + one.count, area_m2 + one.area_m2, one.words)
    return tuple(found.values())


def _left_out(left: list[LeftOut]) -> tuple[LeftOut, ...]:
    found: dict[str, LeftOut] = {}
    for one in left:
        known = found.get(one.why)
        count, area_m2 = (known.count, known.area_m2) if known else (0, 0.0)
        found[one.why] = LeftOut(one.why, count + one.count, area_m2 + one.area_m2)
    return tuple(found.values())
