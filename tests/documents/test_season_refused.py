"""Broken season files: each ends in problems that name file, key, limit and remedy, all at once."""

import os

import pytest

from wetrun.documents.season_example import example_season
from wetrun.documents.season_file import read_season
from wetrun.errors import InputProblems

PULSE = '[machine.control.pulse]\nfrequency = "10 Hz"\nset_pressure = "50 psi"\nduty_from = "flow meter"\n'

# One edit of the example, the keys that must be named, and words that must be said.
EDITS = [
    # a wrong, missing or unreadable unit
    ('rate = "15 gal/ac"  ', 'rate = "15 psi"', ["pass[1].rate (“Burndown”)"], "gal/ac, L/ha"),
    ('rate = "15 gal/ac"  ', "rate = 15 #", ["pass[1].rate (“Burndown”)"], '"15 gal/ac"'),
    ('rate = "15 gal/ac"  ', 'rate = "15" #', ["pass[1].rate (“Burndown”)"], "has no unit"),
    ('rate = "15 gal/ac"  ', 'rate = "12-18 gal/ac" #', ["pass[1].rate (“Burndown”)"], "more than one number"),
    ('rate = "15 gal/ac"  ', "rate = nan #", ["pass[1].rate (“Burndown”)"], "no unit"),
    ('rate = "15 gal/ac"  ', "rate = true #", ["pass[1].rate (“Burndown”)"], "in quotes"),
    ('tank = "1000 gal"', 'tank = "1,000 gal"', ["machine.tank"], "could mean 1000 or 1.000"),
    ('area = "640 ac"', 'area = "640 acers"', ["pass[1].area (“Burndown”)"], "not known here"),
    ('rate = "32 fl oz/ac"', 'rate = "32 oz/gal"', ["pass[1].product[1].rate (“Burndown”)"], "fl oz/ac"),
    # out of any plausible range
    ('rate = "15 gal/ac"  ', 'rate = "-15 gal/ac" #', ["pass[1].rate (“Burndown”)"], "from 0.500 gal/ac to 300 gal/ac"),
    ('rate = "15 gal/ac"  ', 'rate = "0 gal/ac" #', ["pass[1].rate (“Burndown”)"], "from 0.500 gal/ac"),
    ('rate = "15 gal/ac"  ', 'rate = "15000 gal/ac" #', ["pass[1].rate (“Burndown”)"], "to 300 gal/ac"),
    ('spacing = "20 in"', 'spacing = "20 ft"', ["machine.boom.spacing"], "from 1.97 in to 78.7 in"),
    ('fast = "15 mph"', 'fast = "150 mph"', ["pass[1].speeds.fast (“Burndown”)"], "37.3 mph"),
    ('fast = "15 mph" }', 'fast = "15 mph", hills = "6 mph" }', ["pass[1].speeds.hills (“Burndown”)"], "slowest worth"),
    ('fast = "15 mph" }', 'fast = "15 mph", hills = "16 mph" }', ["pass[1].speeds.hills (“Burndown”)"], "higher fast"),
    (
        'fast = "15 mph" }',
        'hills = {speed = "9 mph", share = "60 %"}, headlands = {speed = "9 mph", share = "50 %"}, fast = "15 mph" }',
        ["pass[1].speeds.headlands (“Burndown”)"],
        "more than all of it",
    ),
    ('wear = "3 %"', 'wear = "300 %"', ["machine.owned[1].wear"], "100 %"),
    ("most_sets = 3", "most_sets = 0", ["plan.most_sets"], "at least 1"),
    ('# budget = "1500"', 'budget = "1,500" #', ["plan.budget"], "no thousands parted"),
    ('# budget = "1500"', 'budget = "lots" #', ["plan.budget"], "amount of money"),
    ("count = 54", "count = 54.5", ["machine.owned[1].count"], "whole number"),
    ("sections = [9, 9,", "sections = [0, 9,", ["machine.boom.sections[1]"], "1 to 200 tips"),
    # missing, misspelt, of another type
    ('crop = "soybean"\n', "", ["pass[1].crop (“Burndown”)", "pass[3].crop (“Residual after emergence”)"], "missing"),
    ('spacing = "20 in"', 'spaceing = "20 in"', ["machine.boom.spacing", "machine.boom.spaceing"], "“spacing”"),
    ("[customer]", "[custommer]", ["customer", "custommer"], "“customer”"),
    ('loop = "flow meter"', 'loop = "flowmeter"', ["machine.control.loop"], "'pulse width'"),
    ('kind = "boom end"', 'kind = "outer"', ["machine.boom.odd[1].kind"], "'wheel track'"),
    ('name = "Twin Ash Farm"', "name = 7", ["customer.name"], "in quotes"),
    ('name = "Twin Ash Farm"', 'name = "  "', ["customer.name"], "1 to 200"),
    ('name = "Twin Ash Farm"', 'name = "a\\u0000b"', ["customer.name"], "cannot be printed"),
    ("first = 2026-04-10", 'first = "10/04/2026"', ["pass[1].first (“Burndown”)"], "2026-05-01"),
    ("first = 2026-04-10", "first = 0026-04-10", ["pass[1].first (“Burndown”)"], "1990"),
    ("sees_return = false", 'sees_return = "no"', ["machine.control.meter.sees_return"], "true or false"),
    ("format_version = 1", "format_version = 2", ["format_version"], "newer Wetrun"),
    ("format_version = 1", "", ["format_version"], "missing"),
    ("format_version = 1", 'format_version = "1"', ["format_version"], "one of 1"),
    ('positions = "1,54"', 'positions = "1,x"', ["machine.boom.odd[1].positions"], "“x” is no position"),
    ('positions = "1,54"', 'positions = "0-4"', ["machine.boom.odd[1].positions"], "count from 1"),
    ('droplets = ["M", "C"]', 'droplets = ["M", "Q"]', ["pass[1].droplets (“Burndown”)"], "“q” is no droplet class"),
    ('droplets = ["M", "C"]', "droplets = []", ["pass[1].droplets (“Burndown”)"], "empty"),
    (
        '[[pass.product]]\nname = "Systemic',
        '[pass.product]\nname = "Systemic',
        ["pass[3].product (“Residual after emergence”)"],
        "a list belongs here",
    ),
    # the order of passes
    ("# days = 3 ", "days = 0 #", ["pass[1].days (“Burndown”)"], "at least 1"),
    ("# days = 3 ", "days = 60 #", ["pass[1].days (“Burndown”)"], "only 26 days from first to last"),
    ("# days = 3 ", "days = 2.5 #", ["pass[1].days (“Burndown”)"], "whole number"),
    ("# after = ", 'after = "Nitrogen befor planting" #', ["pass[1].after (“Burndown”)"], "“Nitrogen before planting”"),
    ("# after = ", 'after = "Burndown" #', ["pass[1].after (“Burndown”)"], "a circle: Burndown after Burndown"),
    (
        "# after = ",
        'after = ["Nitrogen before planting", "residual AFTER emergence"] #',
        ["pass[1].after[2] (“Burndown”)"],
        "must end by 2026-05-05, and the one before it begins only on 2026-06-05",
    ),
    ("# after = ", "after = [] #", ["pass[1].after (“Burndown”)"], "names of passes"),
    ('risky_on = ["maize"]', 'risky_on = "maize"', ["pass[1].product[1].risky_on (“Burndown”)"], "a list belongs here"),
    ('risky_on = ["maize"]', "risky_on = [7]", ["pass[1].product[1].risky_on[1] (“Burndown”)"], "in quotes"),
    ("# tolerated = ", 'tolerated = "12 %" #', ["pass[1].product[1].tolerated (“Burndown”)"], "from 0 % to 10.0 %"),
    ("# tolerated = ", "tolerated = 0.01 #", ["pass[1].product[1].tolerated (“Burndown”)"], "no unit"),
    ("risky_on = []", 'tolerated = "1 %"', ["pass[1].product[2].tolerated (“Burndown”)"], "no crop in risky_on"),
    ("# clean_after = true", 'clean_after = "yes"', ["pass[1].product[1].clean_after (“Burndown”)"], "true or false"),
    ('risky_words = "Clean', 'risky_words = "\\u0000', ["pass[1].product[1].risky_words (“Burndown”)"], "printed"),
    # contradictory
    (
        'slow = "8 mph"',
        'slow = "13 mph"',
        ["pass[1].speeds.slow (“Burndown”)"],
        "slow (13 mph) must not be above usual",
    ),
    ('fast = "15 mph"', 'fast = "11 mph"', ["pass[1].speeds.usual (“Burndown”)"], "must not be above fast (11 mph)"),
    ('low = "170 L/ha"', 'low = "200 L/ha"', ["pass[2].rate.low (“Nitrogen before planting”)"], "above target"),
    ('high = "210 L/ha"', 'high = "180 L/ha"', ["pass[2].rate.target (“Nitrogen before planting”)"], "above high"),
    ("first = 2026-04-10", "first = 2026-05-10", ["pass[1].first (“Burndown”)"], "after last (2026-05-05)"),
    ('positions = "1,54"', 'positions = "1,55"', ["machine.boom.odd[1].positions"], "beyond the 54 tips"),
    ('hold = { pressure = "20 psi" }', 'hold = { duty = "30 %" }', ["machine.control.hold.duty"], "pulse-width"),
    ('hold = { pressure = "20 psi" }', "hold = {}", ["machine.control.hold"], "exactly one"),
    ('hold = { pressure = "20 psi" }', 'hold = { pressure = "120 psi" }', ["machine.control.hold.pressure"], "95 psi"),
    ('loop = "flow meter"', 'loop = "pulse width"', ["machine.control.pulse"], "needs its pulse settings"),
    ("[machine.pump]", PULSE + "[machine.pump]", ["machine.control.pulse"], "loop is “flow meter”"),
    ('relief = "110 psi"', 'relief = "15 psi"', ["machine.relief"], "the hold (20 psi) must be below"),
    ('least = "3 gal/min"', 'least = "160 gal/min"', ["machine.control.meter.least"], "below greatest (150 gal/min)"),
    ('agitation = "25 gal/min"', 'agitation = "99 gal/min"', ["machine.pump.flow"], "nothing of 120 gal/min is left"),
    ('tip = "42 psi"', 'tip = "50 psi"', ["machine.loss.tip"], "above 46 psi"),
    (
        'label_max = "44 fl oz/ac"',
        'label_max = "30 fl oz/ac"',
        ["pass[1].product[1].rate (“Burndown”)"],
        "label is the law",
    ),
    ('label_max = "44 fl oz/ac"', 'label_max = "3 lb/ac"', ["pass[1].product[1].label_max (“Burndown”)"], "weight"),
    (
        'min_wind = "3 mph"',
        'min_wind = "12 mph"',
        ["pass[3].product[1].min_wind (“Residual after emergence”)"],
        "max_wind",
    ),
    (
        'name = "Nitrogen before planting"',
        'name = "burndown"',
        ["pass[2].name (“burndown”)"],
        "pass[1] has the same name",
    ),
    ('tip = "iso-8004-ff"', 'tip = "iso-804-ff"', ["machine.boom.odd[1].tip"], "iso-8004-ff"),
    ('tip = "iso-11004-ff"', 'tip = "blue"', ["machine.owned[1].tip"], "no tip of that name"),
    (
        '{ tip = "iso-11005-ai"',
        '{ tip = "x"',
        ["pass[3].product[1].tips[2].tip (“Residual after emergence”)"],
        "no tip",
    ),
    (
        'check_valve = "10 psi"',
        'check_valve = "70 psi"',
        ["machine.boom.odd[1].tip", "machine.owned[1].tip"],
        "check valve",
    ),
    (
        'carrier = { name = "UAN 32"',
        'carrier = { name = "UAN 31"',
        ["pass[2].carrier.name (“Nitrogen before planting”)"],
        "UAN 3",
    ),
    ('temperature = "12 °C"', 'temperature = "50 °C"', ["pass[2].carrier (“Nitrogen before planting”)"], "°F"),
    (
        'temperature = "12 °C"',
        'density = "1.3 kg/L", specific_gravity = "1.3"',
        ["pass[2].carrier.density (“Nitrogen before planting”)"],
        "same thing",
    ),
    ('# logs = ["logs/burndown_2025.csv"]', 'logs = ["gone.csv"] #', ["pass[1].logs[1] (“Burndown”)"], "no such file"),
    (
        '# log_map = "logs/columns.toml"',
        'log_map = "x.toml" #',
        ["pass[1].log_map (“Burndown”)"],
        "no such file",
    ),
    # a label's maximum without a rate, tips asked for, odd positions, no tips left
    (
        'rate = "32 fl oz/ac"\n',
        "",
        ["pass[1].product[1].label_max (“Burndown”)"],
        "Give the product's rate, or leave label_max out",
    ),
    (
        '# fit = ["air induction", "iso-11005-pre"]',
        'fit = ["steamers", "iso-11005-pre"] #',
        ["pass[1].fit[1] (“Burndown”)"],
        "Did you mean “streamer”",
    ),
    (
        '# fit = ["air induction", "iso-11005-pre"]',
        'fit = "iso-11005-per" #',
        ["pass[1].fit (“Burndown”)"],
        "“iso-11005-pre”",
    ),
    ('# fit = ["air induction", "iso-11005-pre"]', "fit = [] #", ["pass[1].fit (“Burndown”)"], "or leave fit out"),
    ("# odd = false", 'odd = "no" #', ["pass[1].odd (“Burndown”)"], "true or false"),
    ('positions = "1,54"', 'positions = "1-54"', ["machine.boom.odd"], "no position is left for a set"),
    ('# catalogue = "tips.csv"', 'catalogue = "tips.csv" #', ["plan.catalogue"], "no such file"),
]


@pytest.fixture
def problems_in(tmp_path):
    def refuse(text):
        path = tmp_path / "season.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        with pytest.raises(InputProblems) as refused:
            read_season(path)
        return refused.value.problems

    return refuse


def assert_well_told(problems, file="season.toml"):
    for problem in problems:
        assert problem.file == file
        assert len(problem.limit) > 8
        assert problem.remedy.endswith((".", "?"))
        assert len(str(problem)) < 600
        assert "\n" not in str(problem)


@pytest.mark.parametrize(("old", "new", "keys", "words"), EDITS, ids=[f"{new[:34]}" for _, new, _, _ in EDITS])
def test_a_broken_season_names_the_place_the_limit_and_the_remedy(problems_in, old, new, keys, words):
    text = example_season()
    assert old in text
    changed = text.replace(old, new) if new == "" else text.replace(old, new, 1)
    problems = problems_in(changed)
    assert_well_told(problems)
    assert [problem.key for problem in problems] == keys
    assert words in "\n".join(map(str, problems))


# Edits that leave no TOML: the line they make, and words that must be said of it.
SYNTAX = [
    ('rate = "15 gal/ac"  ', "rate = 15 gal/ac #", "rate = 15 gal/ac", 'in quotes: "15 gal/ac"'),
    ('title = "Spring', 'title = "x\ntitle = "Spring', 'title = "x', "cannot be read"),
    ("[customer]", "[machine]", 'name = "Twin Ash Farm"\n', "stands there twice"),
    ("sections = [9,", "sections = [9;", "sections = [9;", "quotes, brackets and commas"),
]


@pytest.mark.parametrize(("old", "new", "at", "words"), SYNTAX, ids=[words for _, _, _, words in SYNTAX])
def test_a_slip_of_syntax_names_its_line(problems_in, old, new, at, words):
    changed = example_season().replace(old, new, 1)
    (problem,) = problems_in(changed)
    assert_well_told([problem])
    line = int(problem.key.removeprefix("line ").partition(",")[0])
    assert abs(line - changed[: changed.index(at)].count("\n") - 1) <= (8 if "twice" in words else 0)
    assert words in str(problem)


def test_passes_that_come_after_each_other_in_a_circle_are_told_by_name(problems_in):
    text = example_season().replace("2026-05-05", "2026-06-30", 1).replace("2026-05-10", "2026-06-30", 1)
    text = text.replace("# after = ", 'after = "residual after emergence" #', 1)
    text = text.replace('rate_is = "solution"', 'after = "Burndown" #', 1)
    (problem,) = problems_in(
        text.replace('tolerance = "5 %"\nspeeds', 'after = "nitrogen before  planting"\nspeeds', 1)
    )
    assert_well_told([problem])
    assert problem.key == "pass[1].after (“Burndown”)"
    names = ("Burndown", "Residual after emergence", "Nitrogen before planting", "Burndown")
    assert " after ".join(names) in problem.limit


def test_a_circle_further_on_is_found_from_a_pass_that_only_leads_to_it(problems_in):
    text = example_season().replace("2026-05-05", "2026-06-30", 1).replace("2026-05-10", "2026-06-30", 1)
    text = text.replace("# after = ", 'after = "Nitrogen before planting" #', 1)
    text = text.replace('rate_is = "solution"', 'after = "Residual after emergence" #', 1)
    changed = text.replace('tolerance = "5 %"\nspeeds', 'after = "Nitrogen before planting"\nspeeds', 1)
    (problem,) = problems_in(changed)
    assert "Burndown" not in problem.limit
    assert "Nitrogen before planting after Residual after emergence" in problem.limit


def test_without_built_in_tips_there_must_be_others(problems_in, tmp_path):
    text = example_season().replace("# generic = false", "generic = false #")
    (tmp_path / "season.toml").write_text(text, encoding="utf-8")
    assert read_season(tmp_path / "season.toml").season.generic is False  # the example owns a set
    owned = text[text.index("[[machine.owned]]") : text.index("# -----", text.index("[[machine.owned]]"))]
    (problem,) = problems_in(text.replace(owned, ""))
    assert problem.key == "plan.generic"
    assert "catalogue" in problem.remedy


def test_everything_wrong_is_told_at_once(problems_in):
    text = example_season()
    edits = [EDITS[0], EDITS[12], EDITS[43], EDITS[59]]
    for old, new, _, _ in edits:
        text = text.replace(old, new, 1)
    found = {problem.key for problem in problems_in(text)}
    assert found == {key for _, _, keys, _ in edits for key in keys}


NO_SEASON = {
    "empty": (b"", "the file is empty"),
    "blank": (b" \n\t\n", "the file is empty"),
    "zeros": (bytes(4096), "is zero"),
    "binary": (b"PK\x03\x04\x00\x00", "binary: byte 5 is zero"),
    "utf-16": ('title = "x"'.encode("utf-16"), "in UTF-16"),
    "not utf-8": (b'title = "caf\xe9"\n', "line 1 holds a byte that is not UTF-8"),
    "deep": (b"a = " + b"[" * 100_000, "too deeply"),
    "huge number": (b"a = " + b"9" * 5000, "cannot be read"),
    "half a file": (example_season().encode()[:700], "cannot be read"),
    "comments only": (b"# nothing\n", "this is missing"),
    "another document": (b'[tool]\nname = "x"\n', "no such key is known here"),
    "lists for tables": (b"machine = []\npass = 3\ncustomer = 1\nformat_version = 1\ntitle = 'x'", "belongs here"),
    "no passes": (b"format_version = 1\npass = []", "at least 1"),
    "strings for passes": (b"format_version = 1\npass = ['a', 'b']", "a table belongs here"),
}


@pytest.mark.parametrize(("raw", "words"), NO_SEASON.values(), ids=NO_SEASON)
def test_what_is_no_season_is_told_so(problems_in, raw, words):
    problems = problems_in(raw)
    assert_well_told(problems)
    assert words in "\n".join(map(str, problems))


def told_of(path):
    with pytest.raises(InputProblems) as refused:
        read_season(path)
    assert_well_told(refused.value.problems, path.name)
    return str(refused.value)


def test_a_file_of_a_gigabyte_is_refused_without_being_read(tmp_path):
    path = tmp_path / "season.toml"
    with path.open("wb") as opened:
        opened.truncate(2**30)
    assert "1073741824 bytes: the file may hold 5 MB at most" in told_of(path)


def test_a_missing_file_a_folder_and_a_pipe_are_told_apart(tmp_path):
    assert "there is no such file" in told_of(tmp_path / "season.toml")
    assert "there is no such file" in told_of(tmp_path / "a\nb" / "season.toml")
    (tmp_path / "folder.toml").mkdir()
    assert "a folder" in told_of(tmp_path / "folder.toml")
    os.mkfifo(tmp_path / "pipe.toml")
    assert "no plain file" in told_of(tmp_path / "pipe.toml")
    assert "cannot be read" in told_of(tmp_path / "nul\0.toml")


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read everything")
def test_a_file_that_may_not_be_read_is_told_so(tmp_path):
    path = tmp_path / "season.toml"
    path.write_text(example_season(), encoding="utf-8")
    path.chmod(0)
    assert "cannot be read" in told_of(path)


def test_a_broken_catalogue_is_told_beside_the_season_and_no_tip_is_called_unknown(tmp_path):
    (tmp_path / "tips.csv").write_text("ident,size\nx,04\n", encoding="utf-8")
    path = tmp_path / "season.toml"
    text = example_season().replace('# catalogue = "tips.csv"', 'catalogue = "tips.csv" #')
    path.write_text(text.replace('tip = "iso-8004-ff"', 'tip = "mine"'), encoding="utf-8")
    with pytest.raises(InputProblems) as refused:
        read_season(path)
    assert {problem.file for problem in refused.value.problems} == {"tips.csv"}
    assert "mine" not in str(refused.value)


def test_bounds_are_told_in_the_units_of_the_file(problems_in):
    text = example_season().replace('units = "us"', 'units = "si"').replace('spacing = "20 in"', 'spacing = "20 ft"')
    assert "from 5.00 cm to 200 cm" in str(problems_in(text)[0])
