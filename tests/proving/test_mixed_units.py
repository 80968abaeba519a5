"""Units taken for each other: one table, its ratios as the registry of units has them, and both sheets read from it."""

from __future__ import annotations

import pytest

from wetrun.proving import mixed_units
from wetrun.proving.catch_slips import SLIPS
from wetrun.proving.mixed_units import Mixed
from wetrun.proving.slips import MASS_SLIPS, SPEED_SLIPS, TIME_SLIPS, VOLUME_SLIPS
from wetrun.quantity import Kind, read

PAIRS = {
    name: pair
    for name, pair in vars(mixed_units).items()
    if isinstance(pair, tuple) and all(isinstance(each, Mixed) for each in pair)
}
KINDS = {
    "FLUID_OUNCES": Kind.VOLUME,
    "GALLONS": Kind.VOLUME,
    "IMPERIAL_GALLONS": Kind.VOLUME,
    "MILLILITRES": Kind.VOLUME,
    "OUNCES": Kind.MASS,
    "POUNDS": Kind.MASS,
    "MINUTES": Kind.TIME,
    "MILES_PER_HOUR": Kind.SPEED,
    "METRES_PER_SECOND": Kind.SPEED,
    "FEET": Kind.WIDTH,
    "YARDS": Kind.WIDTH,
    "BARS": Kind.PRESSURE,
    "KILOPASCALS": Kind.PRESSURE,
    "FLOWS": Kind.BOOM_FLOW,
    "RATES": Kind.RATE,
}


def one(symbol: str, kind: Kind) -> float:
    return read(f"1 {symbol}", kind).si_value


def test_every_pair_is_looked_at_here() -> None:
    assert PAIRS.keys() == KINDS.keys()


@pytest.mark.parametrize("name", PAIRS)
def test_a_pair_has_the_ratio_the_registry_has_and_its_inverse(name: str) -> None:
    there, back = PAIRS[name]
    assert (there.read, there.taken) == (back.taken, back.read)
    assert there.reads_ratio * back.reads_ratio == pytest.approx(1.0, rel=1e-15)
    for slip in (there, back):
        taken, meant = (one(unit.symbol, KINDS[name]) for unit in (slip.taken, slip.read))
        assert slip.reads_ratio == pytest.approx(taken / meant, rel=1e-12)


def test_both_sheets_know_a_slip_by_the_same_ratio() -> None:
    of_meter = {slip.factor for slip in (*VOLUME_SLIPS, *MASS_SLIPS)}
    of_tips = {slip.reads_ratio for slip in SLIPS if slip.by_weight is not None}
    shared = {each.reads_ratio for name in ("FLUID_OUNCES", "GALLONS", "POUNDS") for each in PAIRS[name]}
    assert shared <= of_meter & of_tips


def test_a_time_in_minutes_makes_a_flow_sixty_times_too_great() -> None:
    late = next(slip for slip in SLIPS if "minutes" in slip.words)
    assert late.reads_ratio == pytest.approx(60.0)
    assert {round(slip.factor, 9) for slip in TIME_SLIPS} == {60.0, round(1 / 60, 9)}
    assert len(SPEED_SLIPS) == 4
