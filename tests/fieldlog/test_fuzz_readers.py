"""Five hundred damaged logs of every format are read or refused, and nothing else; `make fuzz` reads many more."""

from __future__ import annotations

import resource
from collections import Counter

import pytest
from fuzz.cases import Case, damaged_files, outcomes_of, sample
from tests.fieldlog.log_samples import SAMPLES

from wetrun.fieldlog.readers.formats import FORMATS, logs_in

CASES = 500
SEED = 20310501
LEAST_SHARE = 0.05


def test_every_format_has_samples():
    assert SAMPLES.keys() == {one.words for one in FORMATS}


@pytest.mark.parametrize("format_", SAMPLES)
def test_undamaged_samples_are_read(format_, tmp_path):
    for nth in range(8):
        folder = tmp_path / str(nth)
        for name, content in sample(format_, SEED, nth).items():
            place = folder / name
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(content)
        (found,) = logs_in(folder)
        assert found.logs
        assert not found.refused


@pytest.mark.parametrize("format_", SAMPLES)
def test_damaged_logs_are_read_or_refused_and_nothing_else(format_, tmp_path):
    kinds: Counter[str] = Counter()
    for number in range(CASES):
        kinds += Counter(outcomes_of(Case(format_, number, SEED), tmp_path / "case").keys())
    assert kinds["refused"] > LEAST_SHARE * CASES
    assert kinds["read"] + kinds["without a trace"] > LEAST_SHARE * CASES
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss < 2 << 20  # KiB


def test_a_case_is_made_again_from_its_three_words():
    first, again = (
        damaged_files(case.format, case.seed, case.chance) for case in [Case(next(iter(SAMPLES)), 7, 3)] * 2
    )
    assert first == again
