"""Whatever is done to a season, a changeover or a catalogue, it is read or refused in sentences, and nothing else."""

import contextlib
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from wetrun.documents.catalogue_file import catalogue_template, read_catalogue
from wetrun.documents.changeover_example import example_changeover
from wetrun.documents.changeover_file import read_changeover
from wetrun.documents.season_example import example_season
from wetrun.documents.season_file import read_season
from wetrun.errors import InputProblems

SOUND = {
    "season.toml": example_season(),
    "changeover.toml": example_changeover(),
    "tips.csv": catalogue_template(),
}
READERS: dict[str, Callable[[Path], object]] = {
    "season.toml": read_season,
    "changeover.toml": read_changeover,
    "tips.csv": read_catalogue,
}
JUNK = st.one_of(
    st.text(max_size=12),
    st.sampled_from(['"', "[[", "{}", "= 1\n", "[]", "-1", "1e999", "nan", "\u0000", '"""', ",,,,", ";", "true", "''"]),
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("fuzz")


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@pytest.mark.parametrize("name", SOUND)
@given(data=st.data())
def test_a_damaged_file_is_read_or_refused(folder, name, data):
    text = SOUND[name]
    start = data.draw(st.integers(0, len(text)))
    length = data.draw(st.integers(0, 40))
    damaged = text[:start] + data.draw(JUNK) + text[start + length :]
    path = folder / name
    path.write_text(damaged, encoding="utf-8", errors="surrogatepass")
    with contextlib.suppress(InputProblems):
        assert READERS[name](path)


@settings(max_examples=60, deadline=None)
@given(raw=st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(folder, raw):
    for name, reader in READERS.items():
        path = folder / name
        path.write_bytes(raw)
        with pytest.raises(InputProblems):
            reader(path)
