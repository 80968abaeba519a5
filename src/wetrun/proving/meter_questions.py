"""Meter catches that cannot be as typed, each with its row named."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import log

from wetrun.proving.meter import Basis, MeterCatch, MeterTest
from wetrun.proving.slip_search import EVERY_ROW, SLIP_WITHIN, questions_of
from wetrun.proving.slips import (
    DECIMAL_SLIPS,
    MASS_SLIPS,
    TIME_SLIPS,
    VOLUME_SLIPS,
    Column,
    Offer,
    Question,
    SlipKind,
)


def questions_about_catches(test: MeterTest) -> tuple[Question, ...]:
    """Return every question the catches raise; none is answered here.

    Parameters
    ----------
    test : MeterTest
        The readings.

    Returns
    -------
    tuple of Question
        Pulses against amount for each basis, then pulses against time for each flow; a row is asked about once.

    Notes
    -----
    At one flow the pulses of a second are the same, so a slipped time shows too.
    """
    found: list[Question] = []
    for basis in (Basis.VESSEL, Basis.SCALE):
        found += _amount_questions(test, [c for c in test.catches if c.basis is basis], basis)
    # A row whose pulses are in question already would make its sound neighbours look wrong by their times.
    asked = {question.row for question in found}
    sound = [c for c in test.catches if c.basis is not Basis.TANK_MARK and not {c.name, EVERY_ROW} & asked]
    for level in dict.fromkeys(catch.level for catch in sound):
        found += _time_questions(test, [c for c in sound if c.level == level])
    return tuple(found)


def _amount_questions(test: MeterTest, catches: Sequence[MeterCatch], basis: Basis) -> Iterator[Question]:
    names = tuple(catch.name for catch in catches)
    pulses = Column("pulses", tuple(test.pulses_of(catch) for catch in catches), 1)
    per_m3 = test.meter.number.quantity
    if basis is Basis.SCALE:
        amount = Column("weight", tuple(catch.net_kg for catch in catches), -1, MASS_SLIPS)
        expected = per_m3 / test.carrier.density_kgpm3
    else:
        amount = Column("volume", tuple(catch.volume_m3 for catch in catches), -1, VOLUME_SLIPS)
        expected = per_m3
    rows = {catch.name: catch for catch in catches}
    for question in questions_of(names, (pulses, amount), expected=expected):
        weighed = basis is Basis.SCALE and question.kind is SlipKind.ODD
        yield _of_weighings(question, rows[question.row]) if weighed else question


def _time_questions(test: MeterTest, catches: Sequence[MeterCatch]) -> Iterator[Question]:
    pulses = Column("pulses", tuple(test.pulses_of(catch) for catch in catches), 1)
    times = Column("time", tuple(catch.time_s for catch in catches), -1, TIME_SLIPS)
    yield from questions_of(tuple(catch.name for catch in catches), (pulses, times))


def _of_weighings(question: Question, catch: MeterCatch) -> Question:
    """A slip of one weighing alone does not scale what is left between the two, so each is tried by itself."""
    gross_kg, tare_kg, net_kg = catch.gross_kg, catch.tare_kg, catch.net_kg
    if gross_kg is None or tare_kg is None or net_kg is None:
        return question
    right_kg = net_kg * (1.0 + question.off_by)
    known = [(SlipKind.DECIMAL, slip) for slip in DECIMAL_SLIPS] + [(SlipKind.UNIT, slip) for slip in MASS_SLIPS]
    offers = []
    for kind, slip in known:
        for column, entered_kg, left_kg in (
            ("gross", gross_kg, gross_kg / slip.factor - tare_kg),
            ("tare", tare_kg, gross_kg - tare_kg / slip.factor),
        ):
            if left_kg > 0.0 and abs(log(left_kg / right_kg)) <= SLIP_WITHIN:
                offers.append(Offer(kind, column, entered_kg / slip.factor, f"the {column} {slip.words}"))
    if not offers:
        return question
    entered_kg = gross_kg if offers[0].column == "gross" else tare_kg
    return replace(question, column=offers[0].column, kind=offers[0].kind, entered=entered_kg, offers=tuple(offers))
