"""The built-in tips: complete, generic, and refusing to say what nobody measured."""

import pytest

from wetrun.errors import NotDefined
from wetrun.machine.catalogue import USUAL_RANGES, catalogue, tip_named
from wetrun.quantity import Kind, System, from_display, show
from wetrun.spray.droplets import Family
from wetrun.spray.orifice import ISO_SIZES


def test_every_size_stands_in_every_family_and_angle():
    tips = catalogue()
    assert len({tip.ident for tip in tips}) == len(tips) == len(ISO_SIZES) * 7
    assert all(tip.generic and tip.price_cents is None and tip.pulse is None for tip in tips)


@pytest.mark.parametrize(
    ("ident", "low", "high"),
    [
        ("iso-11004-ff", "15.0 psi", "60.0 psi"),  # KSU MF3178
        ("iso-8004-ff", "15.0 psi", "60.0 psi"),
        ("iso-11004-pre", "30.0 psi", "90.0 psi"),  # from memory
        ("iso-11004-ai", "30.0 psi", "100 psi"),  # least: a source of practice; most: from memory
        ("iso-04-stream", "20.0 psi", "60.0 psi"),  # from memory
    ],
)
def test_pressure_ranges_are_as_quoted(ident, low, high):
    tip = tip_named(catalogue(), ident)
    assert show(tip.low_pa, Kind.PRESSURE, System.US) == low
    assert show(tip.high_pa, Kind.PRESSURE, System.US) == high


def test_a_size_04_flows_its_iso_nominal_at_3_bar_in_every_family():
    at_3_bar = from_display(3.0, Kind.PRESSURE, System.SI)
    sized = [tip for tip in catalogue() if tip.size == "04"]
    flows = [show(tip.law.flow_m3s(at_3_bar), Kind.TIP_FLOW, System.SI) for tip in sized]
    assert flows == ["1.60 L/min"] * 7


def test_a_streamer_has_rows_no_class_and_a_height_rule_of_its_own():
    for tip in catalogue():
        streams = tip.family is Family.STREAMER
        assert (tip.pattern is None) == streams == bool(tip.height_note) == (not tip.law.is_square_root)
        assert "maker's rows" in tip.origin
        assert tip.origin.startswith("generic")


def test_every_value_from_memory_says_so():
    words = {name for usual in USUAL_RANGES.values() for name in (usual.low_source, usual.high_source)}
    assert words == {"ksu-mf3178", "sprayers101-pressure", "memory-tip-ranges"}


def test_an_unknown_name_is_answered_with_the_nearest():
    with pytest.raises(NotDefined, match="iso-11004-ai") as unknown:
        tip_named(catalogue(), "iso-1104-ai")
    assert "no tip of that name" in unknown.value.reason
    with pytest.raises(NotDefined, match="List the catalogue"):
        tip_named(catalogue(), "?")
