"""Numbered values of ISO 11783-11: what raw numbers come to, and how section states are packed."""

import numpy as np

from wetrun.fieldlog.readers.data_dictionary import section_states, si_of

TABLES = ["checks_logged_values"]


def in_si(i):
    return float(si_of(int(i["number"]), np.array([float(i["raw"])]))[0])


def packed(i):
    return float(sum(int(state) << (2 * place) for place, state in enumerate(i["states"])))


def as_typed(i):
    return i["rate"]


ANSWERS = {
    ("rate-of-gallons", "rate"): as_typed,
    ("volume-per-area", "rate"): in_si,
    ("actual-speed", "speed"): in_si,
    ("product-pressure", "pressure"): in_si,
    ("volume-per-time", "flow"): in_si,
    ("section-states", "word"): packed,
}


def test_logged_values(check, answer):
    check.compare(answer(check.inputs))


def test_the_published_word_of_section_states_unpacks_to_its_sections():
    # iso-11783-11, entries 161 and 290: sections 1 to 6 on, 7 and 8 off, the rest not there.
    assert section_states(np.array([4294903125])).tolist() == [[1] * 6 + [0] * 2 + [3] * 8]
    assert section_states(np.array([4294903125 - (1 << 32)])).tolist() == [[1] * 6 + [0] * 2 + [3] * 8]
