"""Loads in season: a hand-worked example, the shared causes by an outside library, and a season made up to drift."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats
from uncertainties import correlated_values, covariance_matrix, ufloat

from wetrun.errors import NotDefined
from wetrun.proving.filled_load import FilledBy, FilledLoad, FillTools, counted_error, rate_error
from wetrun.proving.load_trend import LoadTrend, Suspect, covariance_of, load_trend
from wetrun.proving.number_form import TypedNumber, amount_per_pulse, pulses_per
from wetrun.proving.rule import NextStep
from wetrun.proving.verdict import Verdict
from wetrun.spray.definitions import POUND_KG, US_GALLON_M3

DAY = date(2027, 5, 3)
GAL, ACRE_M2 = US_GALLON_M3, 4046.8564224
PER_GAL = pulses_per("pulses per US gal", GAL)


def gallons(name: str, filled: float, counted: float, day: int = 0, **more: float) -> FilledLoad:
    rest: dict[str, Any] = {key: value * GAL for key, value in more.items()}
    return FilledLoad(name=name, on=DAY + timedelta(day), filled_m3=filled * GAL, counted_m3=counted * GAL, **rest)


def season(factor: float, *, drift: float = 0.0, loads: int = 12, odd: int | None = None) -> list[FilledLoad]:
    """Loads of about 1,000 gal whose monitor counts a factor of what was put out, moving by `drift` over the season."""
    found = []
    for n in range(loads):
        filled, left = 1000.0 + 7.0 * (n % 3), 10.0 + n % 4
        now = factor + drift * n / (loads - 1) + (0.2 if n == odd else 0.0)
        found.append(gallons(str(n + 1), filled, (filled - left) * now, 3 * n, left_m3=left))
    return found


def test_one_load_worked_by_hand() -> None:
    """Filled 1,000 gal by a fill meter of ±1 %, 20 gal left within ±5; the monitor counted 999.6.

    Put out 980; 999.6 / 980 = 1.02. Of the volume: 10 / sqrt 3 = 5.7735 gal for the fill meter, 5 / sqrt 3 = 2.8868
    for the mark; together sqrt(33.333 + 8.333) = 6.4550 gal. Over 980 and times 1.02: 0.67184 %.
    """
    tools = FillTools(fill_meter_frac=0.01, fill_step_m3=0.0, mark_m3=5.0 * GAL, monitor_step_m3=0.0)
    told = counted_error(gallons("1", 1000.0, 999.6, left_m3=20.0), tools)
    assert told.error_ratio == pytest.approx(0.02, abs=1e-12)
    assert told.budget.combined == pytest.approx(0.0067184, abs=5e-8)
    trend = load_trend([told.load], TypedNumber("720", PER_GAL), tools)
    assert trend.new_number == pytest.approx(734.4)  # 720 pulses a gallon, and 2 % more gallons than there were
    assert trend.number_expanded == pytest.approx(720.0 * 1.959964 * 0.0067184, rel=1e-4)
    assert trend.verdicts[0].verdict is Verdict.PASS
    assert trend.next_step is NextStep.REPEAT


def test_a_scale_ticket_is_a_volume_by_its_density() -> None:
    load = FilledLoad(
        name="1", on=DAY, weighed_kg=10650.0 * POUND_KG, density_kgpm3=10.65 * POUND_KG / GAL, counted_m3=980.0 * GAL
    )
    assert load.by is FilledBy.SCALE
    assert load.put_out_m3 == pytest.approx(1000.0 * GAL)
    assert counted_error(load).error_ratio == pytest.approx(-0.02)


def test_one_load_s_doubt_is_what_uncertainties_makes_of_it() -> None:
    tools = FillTools()
    mass, density, area = 9000.0, 1280.0, 400_000.0
    load = FilledLoad(
        name="2",
        on=DAY,
        weighed_kg=mass,
        density_kgpm3=density,
        carried_m3=0.15,
        left_m3=0.08,
        counted_m3=7.3,
        area_m2=area,
        rate_m3pm2=1.8e-5,
    )
    weighed = ufloat(mass, mass * 0.002 / sqrt(3)) + ufloat(0.0, 5.0 / sqrt(3))
    marks = [ufloat(value, tools.mark_m3 / sqrt(3)) for value in (0.15, 0.08)]
    out = weighed / ufloat(density, density * 0.005 / sqrt(3)) + marks[0] - marks[1]
    wanted = ufloat(7.3, tools.monitor_step_m3 / 2 / sqrt(3)) / out - 1
    told, rate = counted_error(load), rate_error(load)
    assert told.error_ratio == pytest.approx(wanted.nominal_value, rel=1e-12)
    assert told.budget.combined == pytest.approx(wanted.std_dev, rel=1e-9)
    asked = ufloat(area, 200.0 / sqrt(3)) * 1.8e-5 / out - 1
    assert rate is not None
    assert rate.error_ratio == pytest.approx(asked.nominal_value, rel=1e-12)
    assert rate.budget.combined == pytest.approx(asked.std_dev, rel=1e-9)


def test_shared_causes_are_the_covariance_that_uncertainties_carries() -> None:
    """One fill meter behind three loads, and one reading of the tank between the first two."""
    tools = FillTools()
    loads = [
        gallons("1", 1000.0, 979.0, 0, left_m3=40.0),
        replace(gallons("2", 900.0, 954.0, 1, carried_m3=40.0, left_m3=0.0), carried_from="1"),
        gallons("3", 800.0, 812.0, 2),
    ]
    scale = ufloat(1.0, 0.01 / sqrt(3))
    between = ufloat(40.0 * GAL, tools.mark_m3 / sqrt(3))

    def own(within: float) -> Any:
        return ufloat(0.0, within / sqrt(3))

    aboard = (-between, between - ufloat(0.0, tools.mark_m3 / sqrt(3)), -ufloat(0.0, tools.mark_m3 / sqrt(3)))
    wanted = []
    for load, more in zip(loads, aboard, strict=True):
        out = scale * load.volume_m3 + own(tools.fill_step_m3 / 2) + more
        wanted.append((load.counted_m3 + own(tools.monitor_step_m3 / 2)) / out - 1)
    errors = [counted_error(load, tools) for load in loads]
    theirs = np.array(covariance_matrix(wanted))
    np.testing.assert_allclose(covariance_of(errors), theirs, rtol=1e-9)
    # The common error: least variance under that covariance, by an independent minimiser.
    values = np.array([one.nominal_value for one in wanted])
    inverse = np.linalg.inv(theirs)
    best = optimize.minimize_scalar(lambda u: (values - u) @ inverse @ (values - u), options={"xtol": 1e-12})
    trend = load_trend(loads, tools=tools)
    assert trend.counted.error_ratio == pytest.approx(best.x, abs=1e-8)
    assert trend.counted.chance_frac == pytest.approx(stats.chi2.sf(best.fun, 2), rel=1e-6)
    weights = inverse.sum(axis=0) / inverse.sum()
    mean = sum(w * one for w, one in zip(weights, correlated_values(values, theirs), strict=True))
    assert mean.nominal_value == pytest.approx(trend.counted.error_ratio, abs=1e-10)
    assert trend.counted.agree
    assert trend.counted.budget.combined == pytest.approx(mean.std_dev, rel=1e-9)


def test_a_shared_fill_meter_does_not_average_out() -> None:
    few, many = (load_trend(season(1.03, loads=count)) for count in (3, 60))
    floor = 1.03 * 0.01 / sqrt(3)
    assert few.counted.budget.combined > many.counted.budget.combined > floor * 0.99
    assert many.counted.budget.combined == pytest.approx(floor, rel=0.03)


def test_a_meter_four_per_cent_high_is_found_and_the_number_said_but_never_set() -> None:
    number = TypedNumber("720", PER_GAL)
    trend = load_trend(season(1.04), number)
    assert trend.counted.error_ratio == pytest.approx(0.04, abs=1e-9)
    assert trend.new_number == pytest.approx(748.8)
    assert trend.next_step is NextStep.ENTER_NEW
    assert trend.suspect is Suspect.METER
    assert trend.drift is not None
    assert trend.drift.judged.verdict is Verdict.PASS
    assert number.number == 720.0
    inverse = load_trend(season(1.04), TypedNumber("5.0", amount_per_pulse("mL per pulse", 1e-6)))
    assert inverse.new_number == pytest.approx(5.0 / 1.04)


def test_a_meter_that_drifts_is_looked_at_before_any_number_is_changed() -> None:
    trend = load_trend(season(0.99, drift=0.06))
    assert trend.drift is not None
    assert trend.drift.error_ratio == pytest.approx(0.06, abs=2e-4)
    assert (trend.drift.start_ratio, trend.drift.end_ratio) == pytest.approx((-0.01, 0.05), abs=2e-4)
    assert trend.drift.judged.verdict is Verdict.FAIL
    assert trend.next_step is NextStep.LOOK_FIRST


def test_the_line_through_the_loads_is_that_of_a_general_fit() -> None:
    loads = season(1.0, drift=0.03, odd=4)
    errors = [counted_error(load) for load in loads]
    days = np.array([(load.on - DAY).days for load in loads], dtype=float)
    fit, spread = optimize.curve_fit(
        lambda t, a, b: a + b * t / days[-1],
        days,
        [one.error_ratio for one in errors],
        sigma=covariance_of(errors),
        absolute_sigma=True,
    )
    drift = load_trend(loads).drift
    assert drift is not None
    assert (drift.start_ratio, drift.error_ratio) == pytest.approx(tuple(fit), abs=1e-7)
    assert drift.judged.budget.combined == pytest.approx(sqrt(spread[1, 1]), rel=1e-5)


def test_one_load_that_was_written_down_wrong_is_named() -> None:
    trend = load_trend(season(1.01, odd=6))
    assert not trend.counted.agree
    assert trend.counted.odd == ("7",)
    assert trend.next_step is NextStep.LOOK_FIRST
    assert "loads against each other" in trend.counted.budget.shares


def with_area(loads: list[FilledLoad], area_factor: float) -> LoadTrend:
    rate = 15.0 * GAL / ACRE_M2
    return load_trend([replace(one, rate_m3pm2=rate, area_m2=one.put_out_m3 / rate * area_factor) for one in loads])


@pytest.mark.parametrize(
    ("counted", "area", "suspect"),
    [
        (1.0, 1.0, Suspect.NOTHING),
        (1.04, 1.04, Suspect.METER),  # the controller holds counted over area at the rate: both follow the meter
        (1.0, 1.06, Suspect.AREA),
        (1.06, 1.0, Suspect.COUNTED),
        (1.05, 0.94, Suspect.SEVERAL),
    ],
)
def test_filled_counted_and_area_times_rate_say_where_to_look(counted: float, area: float, suspect: Suspect) -> None:
    trend = with_area(season(counted), area)
    assert trend.suspect is suspect
    assert (trend.next_step is NextStep.LOOK_FIRST) == (suspect in {Suspect.COUNTED, Suspect.SEVERAL})
    assert trend.rate is not None
    assert trend.rate.error_ratio == pytest.approx(area - 1.0, abs=1e-9)


@given(st.permutations(range(6)), st.floats(0.9, 1.1), st.floats(0.5, 2.0))
def test_order_and_size_of_the_unit_change_nothing(order: list[int], factor: float, size: float) -> None:
    loads = season(factor, loads=6, odd=2)
    told, mixed = load_trend(loads), load_trend([loads[n] for n in order])
    assert mixed.counted.error_ratio == pytest.approx(told.counted.error_ratio, abs=1e-12)
    assert mixed.counted.budget.combined == pytest.approx(told.counted.budget.combined, rel=1e-9)
    scaled = [
        replace(one, filled_m3=one.volume_m3 * size, left_m3=one.left_m3 * size, counted_m3=one.counted_m3 * size)
        for one in loads
    ]
    assert load_trend(scaled).loads[0].error_ratio == pytest.approx(told.loads[0].error_ratio, abs=1e-12)


def test_what_cannot_be_is_refused_in_words() -> None:
    with pytest.raises(NotDefined, match="no load yet"):
        load_trend([])
    with pytest.raises(NotDefined, match="two loads"):
        load_trend([gallons("1", 900.0, 900.0), gallons("1", 800.0, 800.0)])
    with pytest.raises(NotDefined, match="nothing was put out"):
        load_trend([gallons("1", 50.0, 900.0, left_m3=50.0)])
    with pytest.raises(NotDefined, match="density"):
        FilledLoad(name="1", on=DAY, weighed_kg=900.0, counted_m3=1.0)
    with pytest.raises(NotDefined, match="one of the two"):
        FilledLoad(name="1", on=DAY, counted_m3=1.0)
