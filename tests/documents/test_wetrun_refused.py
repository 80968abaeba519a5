"""Broken wet-run files: each ends in problems that name file, key, limit and remedy, all at once."""

import re

import pytest

from wetrun.documents.wetrun_example import example_wetrun
from wetrun.documents.wetrun_file import read_wetrun
from wetrun.errors import InputProblems

STEADY = "[[steady]]"
SWAP = "[[catch.swap]]\nodd = {odd}\nwith = {good}\n{rest}\n\n[[steady]]"

TWO = "readings = { 23 = 26.2, 24 = 19.8 }"
LOW = '[catch.low]\nduty = "{duty}"\nunit = "fl oz"\nreadings = [9.1]\n\n[[steady]]'


def swapping(rest, odd=23, good=24):
    return SWAP.format(odd=odd, good=good, rest=rest)


# One edit of the example, the keys that must be named, and words that must be said.
EDITS = [
    # units and numbers
    ('length = "300 ft"', "length = 300", ["course.length"], "no unit"),
    ('length = "300 ft"', 'length = "300 psi"', ["course.length"], "ft"),
    ('length = "300 ft"', 'length = "30000 ft"', ["course.length"], "6562"),
    ('time = "30 s"', 'time = "thirty"', ["catch.time"], "number"),
    ('scale = "0.1 lb" ', 'scale = "0.1 psi" ', ["meter.scale"], "lb"),
    ('meter_number = "720"', "meter_number = 720", ["monitor.as_found.meter_number"], "last zero"),
    ('meter_number = "720"', 'meter_number = "-720"', ["monitor.as_found.meter_number"], "above zero"),
    ('meter_number = "720"', 'meter_number = "0.0"', ["monitor.as_found.meter_number"], "above zero"),
    # forms and profiles
    ('form = "pulses per 300 ft" ', 'form = "pulses per mile" ', ["course.source[1].form"], "pulses per 100 m"),
    ('tag_form = "pulses per US gal"', 'tag_form = "turns"', ["meter.tag_form"], "mL per pulse"),
    (
        'target_rate = { form = "gal/ac"',
        'target_rate = { form = "psi"',
        ["monitor.profile.target_rate.form"],
        "L/ha",
    ),
    ('hold_pressure = { form = "psi", step = "1" }\n', "", ["monitor.as_found.hold_pressure"], "profile"),
    (
        'section_width = ["180", "180", "180", "180", "180", "180"]',
        'section_width = ["180", "180"]',
        ["monitor.as_found.section_width"],
        "2 widths for 6 sections",
    ),
    # what must fit the machine
    ("sections = [9, 9, 9, 9, 9, 9]", "sections = [9, 9, 9, 9, 9]", ["catch.readings", "section"], "has 45 tips"),
    ('fitted = "iso-11004-ff"', 'fitted = "iso-11004-fff"', ["tips.fitted"], "iso-11004-ff"),
    ("section = 6\n", "section = 7\n", ["pressure.gauge[3].section"], "6 sections"),
    ("sections_on = 3\n", "sections_on = 8\n", ["ramp.step"], "8 sections"),
    ("wheel = ", "weel = ", ["course.run[1]"], "no speed source"),
    # missing and misspelt
    ('fitted = "iso-11004-ff"', 'fited = "iso-11004-ff"', ["tips.fitted", "tips.fited"], "“fitted”"),
    ('by = "B. Ash"\nat = "07:30"', 'at = "07:30"', ["gates.by"], "missing"),
    ("simulated_speed_off = true", "", ["ramp.simulated_speed_off"], "missing"),
    ('way = "out"', 'way = "north"', ["course.run[1].way"], "'out'"),
    ('rule = "boom-10"', 'rule = "boom-7"', ["catch.rule"], "'boom-5'"),
    ('tag = "722" ', "#", ["meter.tag"], "belong together"),
    ("format_version = 1", "format_version = 2", ["format_version"], "newer Wetrun"),
    ("format_version = 1", "", ["format_version"], "missing"),
    # gates
    ('last_product = "herbicide mix in May; tank, filters and boom rinsed three times"', "last_product = true",
     ["gates.last_product"], "nothing is written"),
    ("nobody_under_boom = true", 'nobody_under_boom = { applies = false, remark = "x" }', ["gates.nobody_under_boom"],
     "applies to every water run"),
    # two machines, none, or a season that is not there
    ("# season = ", "season = ", ["machine"], "either in a season file or here"),
    ('# pass = "Burndown"', 'pass = "Burndown"', ["pass"], "belongs to a season"),
    ('unit = "fl oz" ', 'unit = "psi" ', ["catch.unit"], "volume, a weight or a flow"),
    ('height = "20 in"  ', "#", ["evenness.grooves"], "tray or a height"),
    ("[[steady]]\nmeter", "[[steady]]\ncaught = true\nmeter", ["steady"], "one of the steady pressures"),
    ('# tank = "120 gal"', 'tank = "120 gal" #', ["steady[1]"], "belong together"),
    # swap tests
    (STEADY, swapping(TWO, odd=77), ["catch.swap[1].odd"], "54 tips"),
    (STEADY, swapping(TWO, good=77), ["catch.swap[1].with"], "54 tips"),
    (STEADY, swapping(TWO, good=23), ["catch.swap[1].with"], "with itself"),
    (STEADY, swapping(TWO, odd=0), ["catch.swap[1].odd"], "1"),
    (STEADY, swapping(""), ["catch.swap[1].readings"], "missing"),
    (STEADY, swapping("readings = { 23 = 26.2 }"), ["catch.swap[1].readings"], "tip 24 gave is missing"),
    (STEADY, swapping('readings = { 23 = 26.2, 24 = "" }'), ["catch.swap[1].readings"], "tip 24 gave is missing"),
    (STEADY, swapping("readings = { 23 = 26.2, 25 = 19.8 }"), ["catch.swap[1].readings"], "two places"),
    (STEADY, swapping("readings = [26.2, 19.8]"), ["catch.swap[1].readings"], "two places"),
    (STEADY, swapping('readings = { 23 = "x", 24 = 19.8 }'), ["catch.swap[1].readings[23]"], "number"),
    (STEADY, swapping(TWO + "\nhome = { 23 = 26.2 }"), ["catch.swap[1].home"], "tip 24 gave is missing"),
    (STEADY, swapping(TWO + '\ntime = "0 s"'), ["catch.swap[1].time"], "0 s"),
    (STEADY, swapping('unit = "g"\n' + TWO), ["catch.swap[1].readings"], "same jug"),
    # what the catch was made with
    ('unit = "fl oz" ', 'unit = "gal/min" ', ["catch.instrument"], "how well the instrument shows"),
    ('# duty = "100 %"  ', 'duty = "100 %" #', ["catch.duty"], "does not pulse"),
    ('# new_tips = "5,23,40"', 'new_tips = "5,23,99"', ["catch.new_tips"], "54 tips"),
    ('# times = { 7 = "31 s" }', 'times = { 77 = "31 s" }', ["catch.times"], "“77”"),
    ("# jugs = 9", "jugs = 0", ["catch.jugs"], "1"),
    (STEADY, LOW.format(duty="35 %"), ["catch.low"], "does not pulse"),
    (STEADY, LOW.format(duty="100 %"), ["catch.low.duty"], "no lower"),
    ('# duty = ["41 %"]', 'duty = ["41 %"]', ["ramp.step"], "does not pulse"),
]  # fmt: skip


def problems(tmp_path, text):
    path = tmp_path / "wetrun.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputProblems) as caught:
        read_wetrun(path)
    return caught.value.problems


def first_row():
    found = re.search(r"readings = \[ .*\n(.*?)\n", example_wetrun())
    assert found is not None
    return found[1]


def swapped(old, new):
    text = example_wetrun()
    assert old in text, f"the example has no {old!r} any more"
    return text.replace(old, new, 1)


@pytest.mark.parametrize(("old", "new", "keys", "words"), EDITS)
def test_each_is_refused_by_key_with_limit_and_remedy(tmp_path, old, new, keys, words):
    found = problems(tmp_path, swapped(old, new))
    assert {problem.file for problem in found} == {"wetrun.toml"}
    assert {problem.key for problem in found} >= set(keys)
    assert all(problem.limit and problem.remedy.endswith((".", "?")) for problem in found)
    assert words in " ".join(f"{problem.limit} {problem.remedy}" for problem in found)


def test_everything_is_said_at_once(tmp_path):
    text = swapped('length = "300 ft"', "length = 300").replace('rule = "boom-10"', 'rule = "boom-7"')
    text = text.replace("simulated_speed_off = true", 'simulated_speed_off = "yes"')
    found = problems(tmp_path, text)
    assert [problem.key for problem in found] == ["course.length", "catch.rule", "ramp.simulated_speed_off"]


def test_what_the_machine_cannot_have_is_said_of_every_test_at_once(tmp_path):
    text = swapped("section = 6\n", "section = 7\n").replace("sections_on = 3\n", "sections_on = 8\n")
    assert {problem.key for problem in problems(tmp_path, text)} == {"pressure.gauge[3].section", "ramp.step"}


def test_a_reading_names_its_tip(tmp_path):
    row = first_row()
    broken = ",".join([*row.split(",")[:3], ' "many"', *row.split(",")[4:]])
    found = problems(tmp_path, swapped(row, broken))
    assert [problem.key for problem in found] == ["catch.readings[4]"]
    assert found[0].value == '"many"'


def test_readings_of_two_kinds_are_not_mixed(tmp_path):
    row = first_row()
    text = swapped(row, ",".join([*row.split(",")[:3], ' "700 g"', *row.split(",")[4:]])).replace(
        'unit = "fl oz"', "#", 1
    )
    assert "catch" in problems(tmp_path, text)[0].key


def test_a_season_that_is_not_there_and_a_pass_it_has_not(tmp_path):
    whole = example_wetrun()
    start, end = whole.index("[machine]"), whole.index("[tips]")
    text = (whole[:start] + whole[end:]).replace('# season = "season.toml"', 'season = "nowhere.toml"')
    assert "no such file" in problems(tmp_path, text)[0].limit


def test_an_empty_file_and_broken_toml(tmp_path):
    assert "empty" in problems(tmp_path, "")[0].limit
    assert problems(tmp_path, 'title = "no end')[0].key.startswith("line 1")


def test_a_hint_shows_one_example_and_it_is_the_field_s_own(tmp_path):
    path = tmp_path / "wetrun.toml"
    path.write_text(example_wetrun().replace('measure = "0.5 %"', 'measure = "half"', 1), encoding="utf-8")
    with pytest.raises(InputProblems) as refused:
        read_wetrun(path)
    (problem,) = refused.value.problems
    assert re.findall(r"[0-9.]+ %", f"{problem.limit} {problem.remedy}") == ["0.5 %"]
