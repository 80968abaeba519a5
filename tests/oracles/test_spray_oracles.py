"""Water against IAPWS (chemicals package), spectra and class odds against scipy, windows against a fine sweep."""

import math

import numpy as np
import pytest
from chemicals.iapws import iapws95_rho
from chemicals.interface import sigma_IAPWS
from chemicals.viscosity import mu_IAPWS
from scipy import stats

from wetrun.spray.carrier import water_density_kgpm3, water_surface_tension_npm, water_viscosity_pas
from wetrun.spray.droplet_scale import REFERENCE_SPRAYS
from wetrun.spray.droplets import (
    ClassRow,
    DropletClass,
    Family,
    SprayPattern,
    droplet_finding,
    pressures_within,
    probability_within,
)
from wetrun.spray.sheet import diameter_below_which_m, volume_frac_below

CELSIUS = [0.5, 4.0, 10.0, 20.0, 25.0, 40.0, 60.0, 80.0, 95.0]


@pytest.fixture(scope="module")
def iapws_density():
    return {celsius: iapws95_rho(celsius + 273.15, 101_325.0) for celsius in CELSIUS}


@pytest.mark.parametrize("celsius", CELSIUS)
def test_density_is_iapws_95(celsius, iapws_density):
    room = 0.004 if 4.0 <= celsius <= 40.0 else 0.02
    assert water_density_kgpm3(celsius + 273.15) == pytest.approx(iapws_density[celsius], abs=room)


@pytest.mark.parametrize("celsius", CELSIUS)
def test_viscosity_is_iapws_2008(celsius, iapws_density):
    oracle = mu_IAPWS(celsius + 273.15, iapws_density[celsius])
    assert water_viscosity_pas(celsius + 273.15) == pytest.approx(oracle, rel=2e-3)


@pytest.mark.parametrize("celsius", CELSIUS)
def test_surface_tension_is_iapws_r1_76(celsius):
    assert water_surface_tension_npm(celsius + 273.15) == pytest.approx(sigma_IAPWS(celsius + 273.15), rel=1e-9)


@pytest.mark.parametrize("spread", [2.34, 2.8])
def test_rosin_rammler_is_scipys_weibull(spread):
    dv50 = 250e-6
    oracle = stats.weibull_min(spread, scale=dv50 / math.log(2.0) ** (1.0 / spread))
    for diameter in np.linspace(20e-6, 900e-6, 23):
        assert volume_frac_below(float(diameter), dv50, spread=spread) == pytest.approx(oracle.cdf(diameter), abs=1e-12)
    for share in (0.01, 0.1, 0.5, 0.9, 0.99):
        assert diameter_below_which_m(share, dv50, spread=spread) == pytest.approx(oracle.ppf(share), rel=1e-12)


TIPS = [
    (Family.FLAT_FAN, 1.0, 0.09),
    (Family.PRE_ORIFICE, 1.5, 0.15),
    (Family.AIR_INDUCTION, 2.2, 0.28),
]


def limits_um():
    return [spray.dv50_m * 1e6 for spray in REFERENCE_SPRAYS]


def reference_index(code_angle_bar):
    number, degrees, bar = code_angle_bar
    return ((number / 3.0) * (3.0 / bar) * (110.0 / degrees)) ** (1.0 / 3.0)


INDICES = [
    reference_index(x) for x in ((1, 110, 4.5), (3, 110, 3), (6, 110, 2), (8, 80, 2.5), (10, 65, 2), (15, 65, 1.5))
]


def oracle_median_um(index):
    """Log-log interpolation written out with numpy, slope 1 beyond the ends."""
    log_x, log_y = np.log(INDICES), np.log(limits_um())
    x = math.log(index)
    if x < log_x[0]:
        return math.exp(log_y[0] + x - log_x[0])
    if x > log_x[-1]:
        return math.exp(log_y[-1] + x - log_x[-1])
    return math.exp(np.interp(x, log_x, log_y))


@pytest.mark.parametrize(("family", "scale", "sigma"), TIPS)
def test_class_probabilities_are_scipys_log_normal_over_the_reference_limits(family, scale, sigma):
    tip = SprayPattern(4.0, math.radians(80.0), family, 0.5e5, 10e5)
    for bar in (0.6, 1.0, 2.0, 3.5, 6.0, 9.9):
        median = oracle_median_um(((4.0 / 3.0) * (3.0 / bar) * (110.0 / 80.0)) ** (1.0 / 3.0) * scale)
        edges = [0.0, *limits_um(), math.inf]
        expected = np.diff(stats.lognorm(sigma, scale=median).cdf(edges))
        finding = droplet_finding(tip, bar * 1e5)
        assert finding.dv50_m == pytest.approx(median * 1e-6, rel=1e-12)
        found = dict(finding.probabilities)
        assert [found.get(DropletClass(n + 1), 0.0) for n in range(7)] == pytest.approx(expected.tolist(), abs=1e-12)


def test_scaled_classes_are_a_normal_cut_off_at_the_row():
    """Two rows of a 110-03: the scale, its spread and the cut written out again with scipy."""
    rows = (ClassRow(2e5, DropletClass.XC), ClassRow(4e5, DropletClass.VC))
    tip = SprayPattern(3.0, math.radians(110.0), Family.AIR_INDUCTION, 1e5, 8e5, rows)
    low = max(INDICES[4] / 1.5 ** (1 / 3), INDICES[3] / 0.75 ** (1 / 3))
    high = min(INDICES[5] / 1.5 ** (1 / 3), INDICES[4] / 0.75 ** (1 / 3))
    sigma = math.hypot(0.12, math.log(high / low) / math.sqrt(12.0))
    median = oracle_median_um((3.0 / 7.0) ** (1.0 / 3.0) * math.sqrt(low * high))
    law = stats.lognorm(sigma, scale=median)
    below_vc = law.cdf(limits_um()[4])  # the row at 4 bar is very coarse: nothing coarser above it
    found = dict(droplet_finding(tip, 7e5).probabilities)
    assert found[DropletClass.VC] == pytest.approx((below_vc - law.cdf(limits_um()[3])) / below_vc, abs=1e-12)
    assert found[DropletClass.C] == pytest.approx(np.diff(law.cdf(limits_um()[2:4]))[0] / below_vc, abs=1e-12)
    assert max(found) is DropletClass.VC


@pytest.mark.parametrize(("family", "scale", "sigma"), TIPS)
@pytest.mark.parametrize(
    "allowed",
    [
        {DropletClass.M},
        {DropletClass.C, DropletClass.VC},
        {DropletClass.VC, DropletClass.XC, DropletClass.UC},
        {DropletClass.F, DropletClass.C},
        {DropletClass.M, DropletClass.VC, DropletClass.UC},
    ],
    ids=lambda allowed: "-".join(sorted(c.name for c in allowed)),
)
def test_windows_are_those_of_a_fine_sweep(family, scale, sigma, allowed):
    tip = SprayPattern(5.0, math.radians(110.0), family, 1e5, 9e5)
    pressures = np.geomspace(1e5, 9e5, 1501)
    for level in (0.3, 0.5, 0.7):
        held = [probability_within(tip, float(p), frozenset(allowed)) >= level for p in pressures]
        starts = sum(now and not before for before, now in zip([False, *held], held, strict=False))
        spans = pressures_within(tip, frozenset(allowed), at_least=level)
        wide = [span for span in spans if span[1] / span[0] > 1.003]
        assert starts == len(wide) or starts == len(spans)
        inside = [any(a <= p <= b for a, b in spans) for p in pressures]
        assert inside == held
