"""Friction against the fluids package, a line against a march from its far end, a boom against scipy's root finder."""

import math
from dataclasses import replace

import numpy as np
import pytest
from fluids.friction import Colebrook, Swamee_Jain_1976
from scipy.optimize import brentq, root

from wetrun.spray.boom_flow import boom_flow
from wetrun.spray.carrier import REFERENCE_WATER_KGPM3, fertiliser
from wetrun.spray.friction import Pipe, equal_outlets_ratio, friction_factor, loss_exponent, pipe_loss_pa
from wetrun.spray.line_liquid import WATER_IN_LINE, LineLiquid, line_liquid
from wetrun.spray.orifice import FlowRows, OrificeLaw, law_of_iso_size
from wetrun.spray.plumbing import Feed, Hose, PlumbedBoom, SectionLine

ROUGHNESSES = [0.0, 1e-6, 1e-4, 1e-3, 1e-2, 0.05]
TURBULENT = np.geomspace(4000.0, 1e8, 60)


@pytest.mark.parametrize("roughness", ROUGHNESSES)
def test_turbulent_factor_is_swamee_and_jains(roughness):
    # The package carries 6.97/Re to the 0.9 inside the power, a rounding of the same 5.74.
    expected = [Swamee_Jain_1976(float(re), roughness) for re in TURBULENT]
    assert friction_factor(TURBULENT, roughness) == pytest.approx(expected, rel=2e-5)


@pytest.mark.parametrize("roughness", ROUGHNESSES[1:])
def test_turbulent_factor_is_near_colebrooks_curve(roughness):
    # fluids-package solves Colebrook; the authors claim 1 %: it is 2 % from 1e4 up and 3 % down to where we begin.
    ours = friction_factor(TURBULENT, roughness)
    apart = np.abs(ours / [Colebrook(float(re), roughness) for re in TURBULENT] - 1.0)
    assert np.max(apart[TURBULENT >= 1e4]) < 0.0215
    assert np.max(apart) < 0.0315


@pytest.mark.parametrize("roughness", ROUGHNESSES)
def test_laminar_is_hagen_poiseuille(roughness):
    pipe = Pipe(0.02, 0.02 * roughness)
    for reynolds in (1.0, 100.0, 1999.0):
        flow = reynolds * math.pi * 0.02 * WATER_IN_LINE.viscosity_pas / (4.0 * WATER_IN_LINE.density_kgpm3)
        expected = 128.0 * WATER_IN_LINE.viscosity_pas * 3.0 * flow / (math.pi * 0.02**4)
        assert pipe_loss_pa(flow, 3.0, pipe) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("roughness", ROUGHNESSES)
@pytest.mark.parametrize("reynolds", [30.0, 2500.0, 3900.0, 4100.0, 3e4, 1e6])
def test_the_exponent_is_the_slope_of_the_loss(roughness, reynolds):
    step = 1e-5
    up, down = friction_factor(reynolds * (1 + step), roughness), friction_factor(reynolds * (1 - step), roughness)
    slope = 2.0 + math.log(up / down) / math.log((1 + step) / (1 - step))
    assert loss_exponent(reynolds, roughness) == pytest.approx(slope, abs=1e-6)


def oracle_factor(reynolds, roughness):
    """The factor written again, one number at a time."""
    if reynolds <= 2000.0:
        return 64.0 / reynolds
    if reynolds < 4000.0:
        share = math.log(reynolds / 2000.0) / math.log(2.0)
        return 0.032 ** (1.0 - share) * oracle_factor(4000.0, roughness) ** share
    return 0.25 / math.log10(roughness / 3.7 + 5.74 / reynolds**0.9) ** 2


def oracle_loss(flow, length, bore, rough, liquid):
    if flow <= 0.0:
        return 0.0
    speed = 4.0 * flow / (math.pi * bore**2)
    reynolds = liquid.density_kgpm3 * speed * bore / liquid.viscosity_pas
    return oracle_factor(reynolds, rough / bore) * length / bore * liquid.density_kgpm3 * speed**2 / 2.0


@pytest.mark.parametrize("count", [1, 2, 7, 18, 40])
@pytest.mark.parametrize("bore", [0.0127, 0.0191, 0.0254])
def test_an_end_fed_line_is_a_march_from_its_far_end(count, bore):
    law = law_of_iso_size("04")
    line = SectionLine(laws=(law,) * count, spacing_m=0.508, pipe=Pipe(bore), feed=Feed.LEFT, lead_m=0.3)

    def march(end_pa):
        pressures, flow = [end_pa], law.flow_m3s(end_pa)
        for _ in range(count - 1):
            pressures.append(pressures[-1] + oracle_loss(flow, 0.508, bore, 1.5e-6, WATER_IN_LINE))
            flow += law.flow_m3s(pressures[-1])
        return pressures[::-1], pressures[-1] + oracle_loss(flow, 0.3, bore, 1.5e-6, WATER_IN_LINE)

    end_pa = brentq(lambda p: march(p)[1] - 3e5, 1.0, 3e5, xtol=1e-9, rtol=1e-15)
    solved = boom_flow(PlumbedBoom(sections=(line,)), 3e5)
    assert solved.pressures_pa == pytest.approx(march(end_pa)[0], rel=1e-9)


ROWS = FlowRows((0.5e5, 2e5, 6e5), (0.9e-5, 1.7e-5, 3.1e-5), REFERENCE_WATER_KGPM3, "oracle")


def mixed_boom():
    """Three unlike sections: a missing tip, other tips at the ends, rows, feeds everywhere, one strainer bad."""
    three, six = law_of_iso_size("03"), law_of_iso_size("06")
    left = SectionLine(laws=(six, three, None, three, ROWS), spacing_m=0.5, pipe=Pipe(0.016, 5e-6), inlet_paps2m6=2e11)
    left = replace(left, feed=Feed.RIGHT, lead_m=0.2)
    middle = replace(left, laws=(three, ROWS, three, three), feed=Feed.MIDDLE, lead_m=0.0, inlet_paps2m6=3e11)
    right = replace(left, laws=(three, three, six), at_m=0.7, inlet_paps2m6=0.0)
    hose = Hose(Pipe(0.016, 5e-6), 4.0)
    return PlumbedBoom(
        sections=(left, replace(middle, hose=hose), replace(right, inlet_paps2m6=4e12)),
        main_hose=replace(hose, length_m=2.0),
        main_paps2m6=2e10,
        body_paps2m6=2e13,
        passing_m3s=5e-5,
    )


def neighbours_towards_feed(section):
    """(position, next position on the way to the feed or None, length) by walking, for the oracle network."""
    count, step = len(section.laws), section.spacing_m
    named = {Feed.LEFT: -section.lead_m, Feed.MIDDLE: (count - 1) * step / 2, Feed.RIGHT: (count - 1) * step}[
        section.feed
    ] + (section.lead_m if section.feed is Feed.RIGHT else 0.0)
    feed = named if section.at_m is None else section.at_m
    for n in range(count):
        nearer = n - 1 if n * step > feed else n + 1
        between = 0 <= nearer < count and (nearer * step >= feed) == (n * step > feed)
        yield n, nearer if between else None, step if between else abs(n * step - feed)


def way(n, links):
    """Positions whose stretch lies on the way from a position to the feed, itself included."""
    while n is not None:
        yield n
        n = links[n][0]


def tip_pressures(boom, section, own, feed_pa, liquid):
    """Pressure at each tip of one section for given flows, stretch by stretch."""
    links = {n: (nearer, length) for n, nearer, length in neighbours_towards_feed(section)}
    through = {n: sum(own[m] for m in links if n in way(m, links)) for n in links}
    for n in links:
        lost = sum(oracle_loss(through[m], links[m][1], 0.016, 5e-6, liquid) for m in way(n, links))
        yield feed_pa - lost - boom.body_paps2m6 * own[n] ** 2 * liquid.density_kgpm3 / REFERENCE_WATER_KGPM3


@pytest.mark.parametrize("liquid", [WATER_IN_LINE, line_liquid(fertiliser("UAN 28", 283.15))], ids=["water", "uan"])
def test_a_boom_is_the_root_scipy_finds_of_its_nodes(liquid):
    """Node by node: unknown are the flows of the tips; each follows from the pressure the others leave it."""
    boom, gravity = mixed_boom(), liquid.density_kgpm3 / REFERENCE_WATER_KGPM3
    starts = np.cumsum([0, *(len(section.laws) for section in boom.sections)])

    def missed(scaled):
        flows = np.abs(scaled) * 1e-5
        main_pa = 4e5 - oracle_loss(flows.sum() + boom.passing_m3s, 2.0, 0.016, 5e-6, liquid)
        main_pa = main_pa - boom.main_paps2m6 * (flows.sum() + boom.passing_m3s) ** 2 * gravity
        for section, start in zip(boom.sections, starts[:-1], strict=True):
            own = flows[start : start + len(section.laws)]
            hose_m = 0.0 if section.hose is None else section.hose.length_m
            feed_pa = main_pa - oracle_loss(own.sum(), hose_m, 0.016, 5e-6, liquid)
            feed_pa = feed_pa - section.inlet_paps2m6 * own.sum() ** 2 * gravity
            at_tips = tip_pressures(boom, section, own, feed_pa, liquid)
            for law, flow, at_tip in zip(section.laws, own, at_tips, strict=True):
                wanted = 0.0 if law is None else float(law.flow_m3s(max(at_tip, 0.6e5), liquid.density_kgpm3))
                yield (wanted - flow) * 1e5

    def all_missed(scaled):
        return list(missed(scaled))

    found = root(all_missed, np.full(starts[-1], 1.5), tol=1e-13)
    assert found.success
    solved = boom_flow(boom, 4e5, liquid)
    assert solved.flows_m3s * 1e5 == pytest.approx(np.abs(found.x), rel=1e-8, abs=1e-9)
    assert solved.beyond_rows == ()
    assert np.nanmin(solved.pressures_pa) < 0.95 * np.nanmax(solved.pressures_pa)


@pytest.mark.parametrize("count", [2, 5, 10, 30, 100])
def test_a_rough_line_with_equal_outlets_is_christiansens_share(count):
    """Fully rough flow goes with the square; a small loss keeps the outlets equal: the solver meets the closed sum."""
    pipe = Pipe(0.05, 0.0025)
    law = OrificeLaw(1e-3 / 1e7**0.5, "outlet of the oracle")
    line = SectionLine(laws=(law,) * count, spacing_m=0.001, pipe=pipe, feed=Feed.LEFT, lead_m=0.001)
    solved = boom_flow(PlumbedBoom(sections=(line,)), 1e7)
    through = pipe_loss_pa(solved.boom_flow_m3s, 0.001 * count, pipe)
    share = (1e7 - float(solved.pressures_pa[-1])) / through
    assert share == pytest.approx(equal_outlets_ratio(count, 2.0), rel=3e-3)
    assert share == pytest.approx(1 / 3 + 1 / (2 * count) + 1 / (6 * count**2), rel=3e-3)


def test_a_thin_liquid_and_a_thick_one_meet_at_the_laws_of_the_tips():
    """With no loss at all the liquid's viscosity does not matter and every tip stands at the sensor's pressure."""
    line = SectionLine(laws=(law_of_iso_size("03"),) * 5, spacing_m=0.5, pipe=Pipe(5.0))
    for viscosity in (1e-4, 1e-2):
        solved = boom_flow(PlumbedBoom(sections=(line,)), 3e5, LineLiquid(1000.0, viscosity, "oracle"))
        assert solved.pressures_pa == pytest.approx(np.full(5, 3e5), rel=1e-9)
