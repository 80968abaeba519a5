"""Text logs that write a value only when it changes: carried on for a while, within its section and track."""

from __future__ import annotations

import numpy as np
import pytest
from tests.log_reading import only_trace, sent

from wetrun.fieldlog.joining import joined_repairs
from wetrun.fieldlog.ledger import ledger_as_arrays, ledger_of, merged
from wetrun.fieldlog.readers import csv_log, held_values, text_table, timelog_rows
from wetrun.fieldlog.readers.formats import logs_in, traces_in
from wetrun.fieldlog.readers.held_values import LastWritten
from wetrun.fieldlog.readers.request import PLAIN_REQUEST

RATES = ("applied rate (L/ha)", "target rate (L/ha)")
NOTHING = float("nan")


def thinned(rows, columns, *, key=None):
    """Blank every cell that says what the row before it of the same kind said."""
    last: dict[tuple[object, str], object] = {}
    out = []
    for row in rows:
        kind, written = row[key] if key else "", dict(row)
        for name in columns:
            if last.get((kind, name)) == row[name]:
                written[name] = ""
            last[kind, name] = row[name]
        out.append(written)
    return out


def stepped(rows, every=20):
    """A drive whose rates, width and shown speed change now and then."""
    return [
        row
        | {
            "applied rate (L/ha)": 90 + i // every,
            "target rate (L/ha)": 100 + i // (2 * every),
            "speed (m/s)": 5 + (i // every) / 100,
        }
        for i, row in enumerate(rows)
    ]


def carried(log):
    return {one.words.split(" column")[0].rpartition("in the ")[2]: one.count for one in repairs_of(log)}


def repairs_of(log):
    return [one for one in log.repairs if one.kind == "carried on"]


def test_a_log_written_on_change_is_the_log_written_in_full(write_rows, plain_rows):
    rows = stepped(plain_rows(100))
    full = only_trace(write_rows(rows, name="full.csv"))
    columns = (*RATES, "swath width (m)", "speed (m/s)")
    path = write_rows(thinned(rows, columns))
    thin = only_trace(path)
    for name in ("applied_m3pm2", "target_m3pm2", "width_m", "shown_speed_mps", "speed_mps"):
        np.testing.assert_array_equal(getattr(thin, name), getattr(full, name), err_msg=name)
    (log,) = logs_in(path)[0].logs
    assert carried(log) == {"target rate": 97, "applied rate": 95, "width": 99, "speed": 95}
    assert all("at most 60 s before" in one.words for one in repairs_of(log))
    assert not [one for one in log.repairs if one.kind == "not carried on"]
    told = {use.meaning for use in log.columns if "written only when it changes" in use.evidence}
    assert told == {"target_rate", "applied_rate", "width", "speed"}


def test_each_section_carries_on_its_own_value(write_rows, section_rows):
    rows = [
        row | {"applied rate (gal/ac)": 10 + int(row["section"]) + i // 90} for i, row in enumerate(section_rows(100))
    ]
    full = only_trace(write_rows(rows, name="full.csv"))
    thin = only_trace(write_rows(thinned(rows, ["applied rate (gal/ac)", "width (m)"], key="section")))
    np.testing.assert_array_equal(thin.applied_m3pm2, full.applied_m3pm2)
    np.testing.assert_array_equal(thin.sections_on, full.sections_on)


def test_each_track_carries_on_its_own_value(write_rows, plain_rows):
    rows = [row | {"machine": "AB"[i % 2]} for i, row in enumerate(stepped(plain_rows(200)))]
    for row in rows:
        row["applied rate (L/ha)"] = 50 if row["machine"] == "A" else 70
    path = write_rows(thinned(rows, RATES[:1], key="machine"))
    first, second = traces_in(path)
    assert first.applied_m3pm2 / second.applied_m3pm2 == pytest.approx(np.full(100, 50 / 70))


def test_a_value_is_carried_on_for_a_minute_and_no_longer(write_rows, plain_rows):
    rows = [row | {"time (s)": i} for i, row in enumerate(plain_rows(200))]
    for row in rows[1:]:
        row["applied rate (L/ha)"] = ""
    path = write_rows(rows)
    trace = only_trace(path)
    assert np.isfinite(trace.applied_m3pm2).sum() == 61
    (log,) = logs_in(path)[0].logs
    assert carried(log) == {"applied rate": 60}
    assert [one.count for one in log.repairs if one.kind == "not carried on"] == [139]


def test_a_clock_set_back_carries_nothing_on(write_rows, plain_rows):
    rows = plain_rows(100)
    for i, row in enumerate(rows):
        row["applied rate (L/ha)"] = 100 if i == 0 else ""
        row["time (s)"] = f"{1000 + 0.2 * i if i < 50 else 3 + 0.2 * i:.1f}"
    trace = only_trace(write_rows(rows))
    assert np.isfinite(trace.applied_m3pm2).sum() == 50


@pytest.mark.parametrize("column", [*RATES, "swath width (m)"])
def test_a_few_blanks_are_missing_values(write_rows, plain_rows, column):
    rows = plain_rows()
    for row in rows[10:40]:
        row[column] = ""
    (log,) = logs_in(write_rows(rows))[0].logs
    assert not repairs_of(log)
    assert not any("mostly blank" in use.evidence for use in log.columns)


def test_time_place_and_distance_are_never_carried_on(write_rows, plain_rows):
    rows = plain_rows(100)
    for i, row in enumerate(rows):
        if i % 5:
            row |= {"lat": "", "lon": "", "distance (m)": ""}
        if i % 5 == 1:
            row["time (s)"] = ""
    (log,) = logs_in(write_rows(rows))[0].logs
    assert not repairs_of(log)
    assert (log.facts.no_fix, log.facts.untimed) == (80, 20)


def test_the_real_log_carries_nothing_on(real_trace):
    assert not repairs_of(real_trace.facts)


@pytest.mark.parametrize("sections", [False, True])
def test_a_long_log_in_pieces_is_the_whole(write_rows, plain_rows, section_rows, monkeypatch, sections):
    if sections:
        rows = [r | {"applied rate (gal/ac)": 8 + i // 70 % 4} for i, r in enumerate(section_rows(200))]
        path = write_rows(thinned(rows, ["applied rate (gal/ac)", "width (m)"], key="section"))
    else:
        path = write_rows(thinned(stepped(plain_rows(600), every=37), [*RATES, "swath width (m)"]))
    trace = only_trace(path)
    whole = ledger_as_arrays(ledger_of(trace))
    monkeypatch.setattr(text_table, "CHUNK_BYTES", 1000)
    pieces = list(csv_log.pieces_in(sent(path), PLAIN_REQUEST, most_at_once=250, piece_rows=120))
    assert len(pieces) > 2
    in_pieces = joined_repairs([one for piece in pieces for one in piece.facts.repairs])
    assert counts_of(in_pieces) == counts_of(trace.facts.repairs)
    joined = ledger_as_arrays(merged([ledger_of(piece) for piece in pieces]))
    for name in whole.keys() - {"logs"}:
        np.testing.assert_array_equal(joined[name], whole[name], err_msg=name)


def counts_of(repairs):
    return {one.words: one.count for one in repairs if "carried" in one.kind}


def test_blocks_of_any_length_carry_on_alike():
    chance = np.random.default_rng(5)
    count = 400
    values = np.where(chance.random(count) < 0.1, chance.random(count), NOTHING)
    time_s, kind = np.cumsum(chance.choice([0.2, 1, 20], count)), chance.integers(0, 3, count)
    whole = LastWritten(("width",)).carried({"width": values}, time_s, kind)["width"]
    last = LastWritten(("width",))
    cuts = np.array_split(np.arange(count), [0, 1, 7, 90, 91, 300])
    parts = [last.carried({"width": values[cut]}, time_s[cut], kind[cut])["width"] for cut in cuts]
    np.testing.assert_array_equal(np.concatenate(parts), whole)
    np.testing.assert_array_equal(whole, by_hand(values, time_s, kind))


def by_hand(values, time_s, kind):
    """Row by row, with a dictionary."""
    last, out = {}, []
    for value, at_s, one in zip(values, time_s, kind, strict=True):
        if not np.isnan(value):
            last[one] = value, at_s
        held, since_s = last.get(one, (NOTHING, 0.0))
        out.append(held if at_s - since_s <= held_values.MEASURED_HOLD_S else NOTHING)
    return np.array(out)


def test_clocks_beyond_all_measure_hold_nothing():
    time_s = np.array([1e308, -1e308, np.inf, np.inf, np.nan, 5.0, 6.0])
    values = np.array([1.0, NOTHING, 2.0, NOTHING, NOTHING, 3.0, NOTHING])
    filled = LastWritten(("width",)).carried({"width": values}, time_s, np.zeros(7, dtype=np.int64))["width"]
    assert filled.tolist() == pytest.approx([1, NOTHING, 2, NOTHING, NOTHING, 3, 3], nan_ok=True)


def test_time_logs_hold_as_long():
    assert f"others {held_values.MEASURED_HOLD_S:g} s" in timelog_rows.HOLDS
