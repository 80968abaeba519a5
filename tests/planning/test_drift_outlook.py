"""Drift of one day: numbers by hand, and never a word that could be taken for leave."""

from __future__ import annotations

import pytest

from wetrun.errors import NotDefined, OutOfRange
from wetrun.papers.drift_words import DRIFT_CAUTIONS, NEVER_A_BUFFER, drift_sentences, drop_rows, sediment_rows
from wetrun.papers.label_words import limit_rows_to_see
from wetrun.papers.reader import Reader
from wetrun.planning.drift_outlook import DriftQuestion, drift_outlook
from wetrun.planning.passes import Product
from wetrun.quantity import System
from wetrun.spray.droplets import DropletClass


def test_fall_carry_and_life_by_hand():
    """100 µm fall at 0.247 m/s: 2.02 s from half a metre, 8.1 m in 4 m/s; at 10 °C depression they last 12.5 s."""
    day = DriftQuestion(height_m=0.5, wind_mps=4.0, dry_k=300.0, wet_k=290.0)
    (fate,) = drift_outlook(day, distances_m=[], drops_m=[100e-6]).drops
    assert fate.fall_s == pytest.approx(0.5 / 0.247, rel=4e-3)
    assert fate.carried_m == pytest.approx(4.0 * 0.5 / 0.247, rel=4e-3)
    assert fate.life_s == pytest.approx(12.5)
    assert not fate.dries_first


def test_a_day_like_the_trials_is_told_without_and_one_unlike_with_the_difference():
    like = drift_outlook(DriftQuestion(height_m=0.5, wind_mps=3.0, speed_mps=2.0), distances_m=[5.0])
    assert like.unlike_trials == ()
    calm = drift_outlook(DriftQuestion(height_m=0.5, wind_mps=0.4), distances_m=[5.0])
    assert "inversion" in calm.unlike_trials[0]
    assert any("do not hold for this day" in one for one in drift_sentences(calm))
    assert not any("do not hold" in one for one in drift_sentences(like))


@pytest.mark.parametrize("system", System)
def test_every_answer_ends_in_the_label_and_carries_the_cautions(system):
    day = DriftQuestion(height_m=0.5, wind_mps=3.0, dry_k=300.0, wet_k=290.0, applications=3)
    outlook = drift_outlook(day, distances_m=[1.0, 50.0], drops_m=[30e-6])
    sentences = drift_sentences(outlook)
    assert sentences[-1] == NEVER_A_BUFFER
    assert set(DRIFT_CAUTIONS) <= set(sentences)
    assert "all 3 applications together" in sentences[0]
    assert len(sediment_rows(outlook, Reader(system))) == 2
    assert "gone before it lands" in drop_rows(outlook, Reader(system))[0][-1]
    for word in ("safe", "buffer of", "allowed"):
        assert word not in " ".join(sentences)


def test_what_was_not_measured_is_refused():
    day = DriftQuestion(height_m=0.5, wind_mps=3.0)
    with pytest.raises(OutOfRange, match="distance from the last tip"):
        drift_outlook(day, distances_m=[60.0])
    with pytest.raises(OutOfRange, match="wet-bulb temperature"):
        drift_outlook(DriftQuestion(height_m=0.5, wind_mps=3.0, dry_k=290.0, wet_k=291.0), distances_m=[])
    with pytest.raises(NotDefined, match="9 applications"):
        drift_outlook(DriftQuestion(height_m=0.5, wind_mps=3.0, applications=9), distances_m=[5.0])


def test_a_limit_nobody_typed_is_on_the_card_as_one_to_look_up():
    typed = Product(name="Typed", wind_high_mps=4.0, height_high_m=0.6, classes=frozenset({DropletClass.C}))
    half = Product(name="Half", wind_low_mps=1.0)
    rows = limit_rows_to_see((typed, half), Reader(System.US))
    assert rows == [{"product": "Half", "thing": "boom height and droplets", "limit": "nothing typed: see label"}]
