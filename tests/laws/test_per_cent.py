"""Per cent is written one way: number, space, sign, with a true minus. No sentence in the house formats its own."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetrun.percent import little_per_cent, off_per_cent, per_cent, signed

SOURCE = Path(__file__).parents[2] / "src" / "wetrun"
JOINED = re.compile(r"\d%")


def own_ways(source: str) -> Iterator[int]:
    """Lines where a string writes per cent by a format of its own, or without the space."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FormattedValue) and node.format_spec is not None:
            spec = "".join(str(part.value) for part in ast.walk(node.format_spec) if isinstance(part, ast.Constant))
            if spec.endswith("%"):
                yield node.lineno
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            said = "\n".join(line for line in node.value.splitlines() if ">>>" not in line)
            if JOINED.search(said):
                yield node.lineno


def test_no_module_writes_per_cent_in_a_way_of_its_own() -> None:
    found = {f"{path.name}:{line}" for path in SOURCE.rglob("*.py") for line in own_ways(path.read_text("utf-8"))}
    assert not found, found


@pytest.mark.parametrize("source", ['f"{x:.1%}"', 'f"{x:{sign}.1%}"', '"within 5% of it"', 'f"{x}: 5% off"'])
def test_a_way_of_its_own_is_seen(source: str) -> None:
    assert set(own_ways(source)) == {1}


@given(st.floats(-5.0, 5.0), st.integers(0, 3))
def test_what_is_written_reads_back_and_has_a_true_minus(share: float, places: int) -> None:
    for said in (per_cent(share, places=places), off_per_cent(share, places=places)):
        number = said.removesuffix(" %")
        assert number != said
        assert "-" not in said
        assert abs(float(number.replace("−", "-")) - 100.0 * share) <= 0.5 * 10.0**-places + 1e-9


@given(st.floats(1e-12, 1.0), st.integers(1, 6))
def test_a_little_share_reads_back_to_its_digits_without_a_power_of_ten(share: float, digits: int) -> None:
    said = little_per_cent(share, digits=digits)
    assert "e" not in said
    assert float(said.removesuffix(" %")) == pytest.approx(100.0 * share, rel=0.5 * 10.0 ** (1 - digits) + 1e-9)


@given(st.floats(-0.5, 0.5))
def test_a_sign_stands_only_where_something_is_left(share: float) -> None:
    said = off_per_cent(share, places=0).removesuffix(" %")
    assert (said == "0") == (round(100.0 * share) == 0)
    assert said == "0" or said[0] == ("+" if share > 0.0 else "−")


def test_nothing_has_no_sign() -> None:
    assert (signed(-0.04, 1), signed(0.04, 1), signed(-0.05001, 1)) == ("0.0", "0.0", "−0.1")
