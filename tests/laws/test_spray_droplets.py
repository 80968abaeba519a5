"""Laws of the droplet class."""

import math
import re
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.droplet_scale import INDEX_LIMITS, REFERENCE_SPRAYS, log_dv50, log_index_of
from wetrun.spray.droplets import (
    Authority,
    ClassRow,
    DropletClass,
    Family,
    SprayPattern,
    droplet_finding,
    pressures_undecided,
    pressures_within,
    probability_within,
)

FANS = st.sampled_from([Family.FLAT_FAN, Family.PRE_ORIFICE, Family.AIR_INDUCTION])
CLASSES = [c for c in DropletClass if c is not DropletClass.XF]
ALLOWED = st.frozensets(st.sampled_from(list(DropletClass)), max_size=8)
SIZES = st.sampled_from([1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0])
ANGLES = st.sampled_from([math.radians(a) for a in (65.0, 80.0, 110.0, 120.0)])
SHARES = st.floats(0.0, 1.0)


@st.composite
def patterns(draw, *, with_rows=None):
    low = draw(st.floats(5e4, 2.5e5))
    high = low * draw(st.floats(1.5, 8.0))
    rows: tuple[ClassRow, ...] = ()
    if draw(st.booleans()) if with_rows is None else with_rows:
        count = draw(st.integers(1, 4))
        shares = sorted(draw(st.lists(SHARES, min_size=count, max_size=count, unique=True)))
        pressures = [low * (high / low) ** share for share in shares]
        assume(all(b > a * 1.001 for a, b in pairwise(pressures)))
        classes = sorted(draw(st.lists(st.sampled_from(CLASSES), min_size=count, max_size=count)), reverse=True)
        rows = tuple(ClassRow(min(p, high), c) for p, c in zip(pressures, classes, strict=True))
    return SprayPattern(draw(SIZES), draw(ANGLES), draw(FANS), low, high, rows)


def at(pattern, share):
    return min(pattern.low_pa * (pattern.high_pa / pattern.low_pa) ** share, pattern.high_pa)


@given(patterns(), SHARES)
def test_probabilities_sum_to_one_and_the_span_is_among_them(pattern, share):
    finding = droplet_finding(pattern, at(pattern, share))
    classes = [c for c, _ in finding.probabilities]
    assert math.fsum(p for _, p in finding.probabilities) == pytest.approx(1.0, abs=1e-12)
    assert classes == sorted(classes)
    assert finding.finest in classes
    assert finding.coarsest in classes
    assert finding.finest <= finding.most_likely <= finding.coarsest
    assert DropletClass.XF not in classes
    assert "not the class of the tank mix" in finding.words
    assert finding.on_boundary == (max(p for _, p in finding.probabilities) < 0.7)


@given(patterns(), SHARES, SHARES, st.sampled_from(CLASSES))
def test_a_lower_pressure_is_never_finer(pattern, one, other, at_least):
    low, high = sorted((at(pattern, one), at(pattern, other)))
    coarser = frozenset(c for c in DropletClass if c >= at_least)
    assert probability_within(pattern, low, coarser) >= probability_within(pattern, high, coarser) - 1e-12
    assert droplet_finding(pattern, low).finest >= DropletClass.VF


@given(patterns(with_rows=False), SHARES, SHARES)
def test_the_likeliest_class_never_turns_coarser_with_pressure(pattern, one, other):
    low, high = sorted((at(pattern, one), at(pattern, other)))
    assert droplet_finding(pattern, low).most_likely >= droplet_finding(pattern, high).most_likely


@given(patterns(), SHARES, ALLOWED)
def test_allowed_and_not_allowed_share_the_whole(pattern, share, allowed):
    pressure_pa = at(pattern, share)
    other = frozenset(DropletClass) - allowed
    both = probability_within(pattern, pressure_pa, allowed) + probability_within(pattern, pressure_pa, other)
    assert both == pytest.approx(1.0, abs=1e-12)


@given(patterns(with_rows=False), SHARES, ALLOWED)
def test_probability_within_is_the_sum_over_the_classes(pattern, share, allowed):
    finding = droplet_finding(pattern, at(pattern, share))
    total = math.fsum(p for c, p in finding.probabilities if c in allowed)
    assert probability_within(pattern, at(pattern, share), allowed) == pytest.approx(total, abs=1e-12)


@given(patterns(), ALLOWED, st.floats(0.05, 0.999), SHARES)
def test_the_windows_agree_with_the_probability_at_any_pressure(pattern, allowed, at_least, share):
    pressure_pa = at(pattern, share)
    assume(all(abs(row.pressure_pa / pressure_pa - 1.0) > 1e-9 for row in pattern.rows))
    spans = pressures_within(pattern, allowed, at_least=at_least)
    frac = probability_within(pattern, pressure_pa, allowed)
    assume(abs(frac - at_least) > 1e-9)
    assert any(low <= pressure_pa <= high for low, high in spans) == (frac >= at_least)


@given(patterns(), ALLOWED, SHARES)
def test_the_undecided_pressures_agree_too(pattern, allowed, share):
    pressure_pa = at(pattern, share)
    assume(all(abs(row.pressure_pa / pressure_pa - 1.0) > 1e-9 for row in pattern.rows))
    frac = probability_within(pattern, pressure_pa, allowed)
    assume(min(abs(frac - 0.3), abs(frac - 0.7)) > 1e-9)
    spans = pressures_undecided(pattern, allowed)
    assert any(low <= pressure_pa <= high for low, high in spans) == (0.3 < frac < 0.7)


@given(patterns(), ALLOWED)
def test_windows_lie_in_the_range_in_order_and_apart(pattern, allowed):
    for spans in (pressures_within(pattern, allowed), pressures_undecided(pattern, allowed)):
        flat = [end for span in spans for end in span]
        assert flat == sorted(flat)
        assert len(set(flat)) == len(flat)
        assert all(pattern.low_pa <= end <= pattern.high_pa for end in flat)


@given(patterns(with_rows=False), ALLOWED)
def test_an_end_of_a_window_inside_the_range_stands_on_the_level(pattern, allowed):
    for span in pressures_within(pattern, allowed):
        for end in span:
            if end not in (pattern.low_pa, pattern.high_pa):
                assert probability_within(pattern, end, allowed) == pytest.approx(0.7, abs=1e-9)


@given(patterns(), SHARES)
def test_every_class_allowed_is_always_held_and_none_never(pattern, share):
    everything = frozenset(DropletClass)
    nothing: frozenset[DropletClass] = frozenset()
    assert pressures_within(pattern, everything) == ((pattern.low_pa, pattern.high_pa),)
    assert pressures_within(pattern, nothing) == ()
    assert pressures_undecided(pattern, everything) == pressures_undecided(pattern, nothing) == ()
    assert probability_within(pattern, at(pattern, share), nothing) == 0.0


@given(patterns(with_rows=True))
def test_the_makers_row_wins_over_any_model(pattern):
    for row in pattern.rows:
        finding = droplet_finding(pattern, row.pressure_pa)
        assert finding.probabilities == ((row.droplet_class, 1.0),)
        assert (finding.authority, finding.dv50_m) == (Authority.MEASURED, None)


@given(patterns(with_rows=True), SHARES)
def test_between_rows_only_classes_between_them_occur_and_beyond_only_the_way_they_go(pattern, share):
    pressure_pa = at(pattern, share)
    finding = droplet_finding(pattern, pressure_pa)
    finer_than = [row.droplet_class for row in pattern.rows if row.pressure_pa <= pressure_pa]
    coarser_than = [row.droplet_class for row in pattern.rows if row.pressure_pa >= pressure_pa]
    classes = [c for c, p in finding.probabilities if p > 1e-15]
    assert max(classes) <= min(finer_than, default=DropletClass.UC)
    assert min(classes) >= max(coarser_than, default=DropletClass.VF)
    if finer_than and coarser_than:
        assert finding.authority is Authority.MEASURED
    else:
        assert finding.authority is not Authority.FAMILY


@pytest.mark.parametrize("spray", REFERENCE_SPRAYS, ids=lambda spray: f"{spray.finer.name}-limit")
def test_a_reference_spray_lands_on_its_own_limit(spray):
    pattern = SprayPattern(spray.size_number, spray.angle_rad, Family.FLAT_FAN, 5e4, 1e6)
    coarser = frozenset(c for c in DropletClass if c > spray.finer)
    assert probability_within(pattern, spray.pressure_pa, coarser) == pytest.approx(0.5, abs=1e-12)
    assert droplet_finding(pattern, spray.pressure_pa).dv50_m == pytest.approx(spray.dv50_m, rel=1e-12)


def test_the_limits_rise():
    assert list(INDEX_LIMITS) == sorted(INDEX_LIMITS)


@given(st.floats(-3.0, 3.0), st.floats(-3.0, 3.0))
def test_the_scale_rises_and_has_a_way_back(one, other):
    assert log_index_of(log_dv50(one)) == pytest.approx(one, abs=1e-12)
    low, high = sorted((one, other))
    assert log_dv50(low) <= log_dv50(high)


@pytest.mark.parametrize(
    ("spray_class", "frac"),
    [
        (DropletClass.F, 0.89),
        (DropletClass.M, 0.81),
        (DropletClass.C, 0.62),
        (DropletClass.VC, 0.55),
        (DropletClass.XC, 0.73),
    ],
)
def test_a_single_orifice_is_in_its_class_as_often_as_derived(spray_class, frac):
    """sheet-index: probability of the right class, over all positions of the true middle within the class."""
    place = CLASSES.index(spray_class)
    low, high = (math.log(REFERENCE_SPRAYS[n].dv50_m) for n in (place - 1, place))
    pattern = SprayPattern(3.0, math.radians(110.0), Family.FLAT_FAN, 1.0, 1e12)
    index_at_1_pa = math.log((3e5) ** (1 / 3))
    total, steps = 0.0, 400
    for n in range(steps):
        middle = low + (high - low) * (n + 0.5) / steps
        pressure_pa = math.exp(3.0 * (index_at_1_pa - log_index_of(middle)))
        total += probability_within(pattern, pressure_pa, frozenset({spray_class}))
    assert total / steps == pytest.approx(frac, abs=0.012)


def test_a_streamer_has_no_class_whatever_is_asked():
    streamer = SprayPattern(5.0, 0.0, Family.STREAMER, 1e5, 4e5)
    allowed = frozenset({DropletClass.C})
    for ask in (
        lambda: droplet_finding(streamer, 2e5),
        lambda: probability_within(streamer, 2e5, allowed),
        lambda: pressures_within(streamer, allowed),
        lambda: pressures_undecided(streamer, allowed),
    ):
        with pytest.raises(NotDefined, match="streams have no droplet class"):
            ask()
    with pytest.raises(NotDefined, match="class rows are given"):
        SprayPattern(5.0, 0.0, Family.STREAMER, 1e5, 4e5, (ClassRow(2e5, DropletClass.UC),))


@given(patterns(), st.floats(1.0001, 4.0))
def test_outside_the_pressure_range_nothing_is_said(pattern, factor):
    for pressure_pa in (pattern.low_pa / factor, pattern.high_pa * factor, math.nan):
        with pytest.raises(OutOfRange, match="pressure at the tip"):
            droplet_finding(pattern, pressure_pa)
        with pytest.raises(OutOfRange, match="pressure at the tip"):
            probability_within(pattern, pressure_pa, frozenset({DropletClass.C}))


FAN_110 = math.radians(110.0)


def ai(*rows):
    return SprayPattern(3.0, FAN_110, Family.AIR_INDUCTION, 1e5, 8e5, tuple(ClassRow(p, c) for p, c in rows))


def test_between_unlike_rows_it_is_undecided_unless_both_are_allowed():
    tip = ai((2e5, DropletClass.VC), (4e5, DropletClass.C))
    assert probability_within(tip, 3e5, frozenset({DropletClass.C, DropletClass.VC})) == 1.0
    assert probability_within(tip, 3e5, frozenset({DropletClass.C})) == 0.5
    assert probability_within(tip, 3e5, frozenset({DropletClass.XC})) == 0.0
    assert (2e5, 4e5) in pressures_undecided(tip, frozenset({DropletClass.VC, DropletClass.XC}))
    assert droplet_finding(tip, 3e5).words.startswith("Coarse or Very coarse, not told apart by the rows")


def test_rows_that_skip_a_class_leave_all_three_open():
    tip = ai((2e5, DropletClass.XC), (6e5, DropletClass.C))
    finding = droplet_finding(tip, 4e5)
    assert [c for c, _ in finding.probabilities] == [DropletClass.C, DropletClass.VC, DropletClass.XC]
    assert finding.most_likely is DropletClass.C  # on a tie the finer one is named
    assert probability_within(tip, 4e5, frozenset({DropletClass.C, DropletClass.VC})) == 0.5


def test_between_like_rows_the_class_is_theirs():
    tip = ai((2e5, DropletClass.VC), (4e5, DropletClass.VC))
    assert any(low <= 2e5 and high >= 4e5 for low, high in pressures_within(tip, frozenset({DropletClass.VC})))


def test_beyond_the_rows_the_tips_own_scale_takes_over():
    tip = ai((2e5, DropletClass.VC), (4e5, DropletClass.C))
    assert droplet_finding(tip, 7e5).authority is Authority.SCALED
    assert droplet_finding(tip, 1.2e5).authority is Authority.SCALED
    assert "scaled from this tip's own rows" in droplet_finding(tip, 7e5).words


def test_rows_that_contradict_the_law_are_not_extended():
    """Ultra coarse and very fine a little apart: no single scale gives both."""
    tip = ai((3e5, DropletClass.UC), (3.2e5, DropletClass.VF))
    below, above = droplet_finding(tip, 2e5), droplet_finding(tip, 5e5)
    assert (below.authority, above.authority) == (Authority.MEASURED, Authority.MEASURED)
    assert below.probabilities == ((DropletClass.UC, 1.0),)
    assert above.probabilities == ((DropletClass.VF, 1.0),)
    middling = ai((3e5, DropletClass.XC), (3.2e5, DropletClass.F))
    assert probability_within(middling, 2e5, frozenset({DropletClass.XC})) == 0.5
    assert probability_within(middling, 2e5, frozenset({DropletClass.F})) == 0.0
    assert droplet_finding(middling, 2e5).dv50_m is None


@pytest.mark.parametrize(
    ("rows", "error", "words"),
    [
        (((2e5, DropletClass.C), (4e5, DropletClass.VC)), NotDefined, "turn from C to VC"),
        (((4e5, DropletClass.C), (2e5, DropletClass.VC)), OutOfRange, "rising order"),
        (((2e5, DropletClass.C), (2e5, DropletClass.C)), OutOfRange, "each pressure once"),
        (((0.5e5, DropletClass.C),), OutOfRange, "pressure range of the tip"),
        (((2e5, DropletClass.XF),), NotDefined, "very fine"),
    ],
)
def test_bad_rows_are_refused_in_a_sentence(rows, error, words):
    with pytest.raises(error, match=words):
        ai(*rows)


@pytest.mark.parametrize(
    ("size", "angle", "low", "high"),
    [(0.0, 1.9, 1e5, 4e5), (math.nan, 1.9, 1e5, 4e5), (3.0, 0.0, 1e5, 4e5), (3.0, 1.9, 4e5, 1e5), (3.0, 1.9, 0.0, 4e5)],
)
def test_a_tip_that_cannot_be_is_refused(size, angle, low, high):
    with pytest.raises((OutOfRange, NotDefined)):
        SprayPattern(size, angle, Family.FLAT_FAN, low, high)


def test_families_say_what_they_can_and_no_more():
    pre = SprayPattern(4.0, FAN_110, Family.PRE_ORIFICE, 1e5, 6e5)
    for pressure_pa in (1.2e5, 3e5, 5.5e5):
        finding = droplet_finding(pre, pressure_pa)
        assert finding.coarsest - finding.finest >= 1
        assert "ask for the maker's class rows" in droplet_finding(ai(), pressure_pa).words
    flat = SprayPattern(4.0, FAN_110, Family.FLAT_FAN, 1e5, 6e5)
    assert droplet_finding(flat, 3e5).words.startswith("Medium, likely (")
    words = droplet_finding(SprayPattern(3.0, FAN_110, Family.FLAT_FAN, 1e5, 6e5), 3e5).words
    assert "on the boundary" in words
    assert re.search(r"[0-9] %\)", words), words


def test_classes_carry_letters_words_and_colours_of_their_own():
    assert [c.letters for c in DropletClass] == ["XF", "VF", "F", "M", "C", "VC", "XC", "UC"]
    assert [c.colour for c in DropletClass] == ["purple", "red", "orange", "yellow", "blue", "green", "white", "black"]
    assert DropletClass.XC.words == "Extremely coarse"
