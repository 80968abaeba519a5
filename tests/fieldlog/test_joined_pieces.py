"""A long log that is replayed: its pieces put together are the log, and what is too long is refused in a sentence."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from bench.made_time_log import header_text, log_bytes, write_task_data
from tests.fieldlog.test_long_time_logs import LOGGED, in_pieces, worked  # noqa: F401 - a fixture
from tests.replay_cases import made_setup, made_trace

from wetrun.cli.log_files import traces_of
from wetrun.errors import LogRefused
from wetrun.fieldlog.boom_sections import boom_sections
from wetrun.fieldlog.exact_replay import exact_replay
from wetrun.fieldlog.joining import joined_trace
from wetrun.fieldlog.map_cells import map_cells
from wetrun.fieldlog.replay import ReplayMode
from wetrun.fieldlog.section_tally import section_tally
from wetrun.fieldlog.trace import SectionFacts, Trace
from wetrun.spray.response import Response


def arrays_of(trace):
    return {
        one.name: getattr(trace, one.name) for one in fields(Trace) if isinstance(getattr(trace, one.name), np.ndarray)
    }


def boom_of(trace):
    sections = tuple(replace(one, rows=0) for one in trace.sections)  # rows beside a cut are counted on either side
    return sections, trace.full_width_m, trace.origin


def figures(trace):
    """What a replay with lag says of a log, and its map."""
    levels = sorted(set(trace.width_m[trace.width_m > 0].tolist()))
    lagging = Response(lag_s=0.8, open_s=0.5, close_s=0.5)
    setup = made_setup(levels, floor=2e-5, rate_m3pm2=1.4e-5, response=lagging)
    edges = np.concatenate([[0.0], np.cumsum([one.width_m for one in trace.sections])])
    result, boom = exact_replay(trace, setup, ReplayMode.SAME_SPEED), boom_sections(trace, edges - edges[-1] / 2)
    tally = section_tally(result, boom, setup.response, tolerance_frac=0.05)
    cells = map_cells(result, boom, setup.response, bands=setup.bands, cell_m=5.0)
    return (
        (tally.total_cm2, tally.within_cm2, tally.dry_cm2, tally.error_cm2.tolist(), result.left_out_cm2),
        (cells.column.tolist(), cells.row.tolist(), cells.area_cm2.tolist(), cells.rate_ratio.tolist()),
    )


@pytest.mark.parametrize("first_on", [0, 1000])
def test_a_log_read_in_pieces_is_replayed_as_one(tmp_path, request, first_on):
    log = header_text("ABD", LOGGED), log_bytes(worked(first_on), "ABD")
    folder = write_task_data(tmp_path / "TASKDATA", {"TLG00001": log})
    (whole,) = traces_of([folder], None)
    request.getfixturevalue("in_pieces")
    (joined,) = traces_of([folder], None)
    for name, column in arrays_of(whole).items():
        assert np.array_equal(column, getattr(joined, name), equal_nan=True), name
    assert boom_of(joined) == boom_of(whole)
    assert joined.facts.instants == whole.facts.instants
    total = figures(whole)[0][0]
    assert total > 0
    assert figures(joined) == figures(whole)


def made_piece(names, on, swing=None, start_s=0.0):
    sections = tuple(SectionFacts(name, 0, bit, 9, 6.0, width_varies=False) for bit, name in enumerate(names))
    made = made_trace([4.0, 4.0], [0.2, 0.2], sections=sections, sections_on=np.array([on, on]))
    ratios = None if swing is None else np.array([swing, swing], dtype=np.float32)
    return replace(made, time_s=made.time_s + start_s, swing_ratio=ratios)


def test_sections_and_their_swing_go_by_their_name():
    """By hand: left and right in the one piece, right (bit 0) and far (bit 1) in the other; right alone is on there."""
    pieces = made_piece("LR", 0b01, [0.9, 1.1]), made_piece("RF", 0b01, [1.2, 0.8], start_s=100.0), made_piece("L", 0b1)
    joined = joined_trace(pieces)
    assert [(one.name, one.bit) for one in joined.sections] == [("L", 0), ("R", 1), ("F", 2)]
    assert joined.sections_on.tolist() == [0b001, 0b001, 0b010, 0b010, 0b001, 0b001]
    nan = np.nan
    expected = np.array([[0.9, 1.1, nan], [nan, 1.2, 0.8], [nan, nan, nan]], dtype=np.float32)
    assert joined.swing_ratio is not None
    assert np.array_equal(joined.swing_ratio, np.repeat(expected, 2, axis=0), equal_nan=True)
    assert joined.time_s.size == 6
    assert not joined.told_of_whole


def test_pieces_that_tell_of_the_whole_are_not_added_up():
    pieces = [replace(made_piece("LR", 0b11), told_of_whole=True) for _ in range(3)]
    joined = joined_trace(pieces)
    assert joined.facts == pieces[0].facts
    assert joined.sections == pieces[0].sections
    assert joined.swing_ratio is None
    assert not joined.told_of_whole


def test_one_piece_is_the_log():
    piece = made_piece("L", 1)
    assert joined_trace([piece]) is piece
    with pytest.raises(ValueError, match="at least one piece"):
        joined_trace([])


def test_a_log_too_long_to_be_held_is_refused_before_it_is_read_to_its_end():
    asked = []

    def endless():
        while True:
            asked.append(1)
            yield made_piece("L", 1)

    with pytest.raises(LogRefused, match=r"made\.csv: it has more than 5 instants, .* in memory at once") as refused:
        joined_trace(endless(), most_instants=5)
    assert "`wetrun plan`, which judges a log of any length" in refused.value.remedy
    assert len(asked) == 3
