"""What a season file says of its loads: it arrives in SI, old files still read, and what cannot be is one sentence."""

import pytest

from wetrun.documents.season_example import example_season
from wetrun.documents.season_file import read_season
from wetrun.errors import InputProblems
from wetrun.planning.formulation import Form
from wetrun.planning.load_wish import LoadWish, Split
from wetrun.planning.mixing import DoseBase, LabelPlace
from wetrun.planning.published_order import OrderName
from wetrun.quantity import Kind, read

FIRST = "(“Burndown”)"

# One edit of the example, the key that must be named, and words that must be said.
EDITS = [
    ('tank = "1000 gal"', 'tank = "0 gal"', "machine.tank", "from 5.00 gal"),
    ('usable = "960 gal"', 'usable = "1100 gal"', "machine.fill.usable", "more than the tank holds (1000 gal)"),
    ('undrainable = "14 gal"', 'undrainable = "-1 gal"', "machine.fill.undrainable", "from 0 gal"),
    ('usable = "960 gal"', 'usable = "10 gal"', "machine.fill.undrainable", "cannot stay behind"),
    ('empty = "13600 lb"', 'empty = "20500 lb"', "machine.fill.axle[1].empty", "leaves nothing for a load"),
    ('limit = "20000 lb"', 'limit = "20000 gal"', "machine.fill.axle[1].limit", "a mass"),
    ('load_share = "60 %"', 'load_share = "160 %"', "machine.fill.axle[1].load_share", "to 100 %"),
    ('jug = "1 fl oz"', 'jug = "1 oz"', "machine.fill.jug", "fl oz for a liquid"),
    ('jug = "1 fl oz"', 'jug = "3 fl oz"', "machine.fill.gauge", "no whole number of the jug's 3 fl oz"),
    ('calcium = "240 ppm"', 'calcium = "240"', "water.calcium", "has no unit"),
    ('calcium = "240 ppm"', 'calcium = "9000 ppm"', "water.calcium", "5000 ppm"),
    ('split = "full" ', 'split = "halves" ', f"pass[1].load.split {FIRST}", "'full' or 'equal'"),
    ('order = "A-W-A-M-L-E-S"', 'order = "mine"', f"pass[1].load.order {FIRST}", "A.P.P.L.E.S."),
    ('first_fill = "60 %"', 'first_fill = "100 %"', f"pass[1].load.first_fill {FIRST}", "to 95.0 %"),
    ('jar = "1 qt"', 'jar = "1 gal/ac"', f"pass[1].load.jar {FIRST}", "where a volume"),
    (
        '# band = { width = "10 in", row = "30 in" }',
        'band = { width = "31 in", row = "30 in" } #',
        f"pass[1].load.band.width {FIRST}",
        "wider than its row of 30 in",
    ),
    ('in_spray = "0.25 % v/v"', 'in_spray = "125 % v/v"', f"pass[1].product[3].in_spray {FIRST}", "to 50.0 % v/v"),
    ('in_spray = "0.25 % v/v"', 'in_spray = "0.25 %"', f"pass[1].product[3].in_spray {FIRST}", "% v/v"),
    (
        'in_spray = "0.25 % v/v"',
        'in_spray = "0.6 % v/v"',
        f"pass[1].product[3].in_spray {FIRST}",
        "above label_mix.high",
    ),
    (
        'in_spray = "0.25 % v/v"',
        'in_spray = "0.1 % v/v"',
        f"pass[1].product[3].in_spray {FIRST}",
        "below label_mix.low",
    ),
    (
        'in_spray = "0.25 % v/v"',
        'in_spray = "2 lb/100 gal"',
        f"pass[1].product[3].label_mix.low {FIRST}",
        "is a weight, the other a volume",
    ),
    ('in_spray = "0.25 % v/v"\n', "", f"pass[1].product[3].label_mix {FIRST}", "no amount per volume"),
    (
        'in_carrier = "1 fl oz/100 gal"',
        'in_carrier = "1 fl oz/100 gal"\nrate = "1 pt/ac"',
        f"pass[1].product[4].in_carrier {FIRST}",
        "say the same thing",
    ),
    ('rate = "3 oz/ac"', "", f"pass[1].product[5].rate {FIRST}", "“Residual granules” has no rate"),
    ('form = "defoamer"', 'form = "brew"', f"pass[1].product[4].form {FIRST}", "no formulation is called that"),
    ('after = ["WG"]', 'after = ["Nobody"]', f"pass[1].product[1].label_order.after[1] {FIRST}", "neither a product"),
    (
        'before = ["NIS"]',
        'before = ["contact herbicide a"]',
        f"pass[1].product[1].label_order.before[1] {FIRST}",
        "before or after itself",
    ),
]


def season_of(tmp_path, text):
    path = tmp_path / "season.toml"
    path.write_text(text, encoding="utf-8")
    return read_season(path)


@pytest.mark.parametrize(
    ("old", "new", "key", "words"), EDITS, ids=[f"{key}-{n}" for n, (_, _, key, _) in enumerate(EDITS)]
)
def test_what_cannot_be_loaded_is_one_sentence_with_its_remedy(tmp_path, old, new, key, words):
    text = example_season()
    assert old in text
    with pytest.raises(InputProblems) as refused:
        season_of(tmp_path, text.replace(old, new, 1))
    (problem,) = refused.value.problems
    assert problem.key == key
    assert words in str(problem)
    assert problem.remedy.endswith((".", "?"))
    assert "\n" not in str(problem)


def test_a_pass_without_a_load_table_may_leave_rates_out_as_before(tmp_path):
    text = example_season()
    start = text.index("[pass.load]")
    without = text[:start] + text[text.index("[[pass.product]]", start) :].replace('rate = "3 oz/ac"', "", 1)
    found = season_of(tmp_path, without).season.passes[0]
    assert found.products[-1].rate_kgpm2 is None
    assert found.load == LoadWish()


def test_everything_typed_for_loads_arrives_in_si(tmp_path):
    season = season_of(tmp_path, example_season()).season
    fill, wish = season.sprayer.fill, season.passes[0].load
    assert fill.usable_m3 == read("960 gal", Kind.VOLUME).si_value
    assert fill.undrainable_m3 == read("14 gal", Kind.VOLUME).si_value
    assert fill.tank_high_kg == read("10500 lb", Kind.MASS).si_value
    assert (fill.axles[0].name, fill.axles[0].load_frac) == ("rear axle", pytest.approx(0.6))
    assert fill.axles[0].contents_kg == pytest.approx(read("6400 lb", Kind.MASS).si_value / 0.6)
    assert season.water_test.calcium_kgpm3 == pytest.approx(0.24)
    assert season.water_test.potassium_kgpm3 == 0.0
    assert (wish.split, wish.order, wish.alike) == (Split.FULL, OrderName.AWAMLES, True)
    assert wish.carry_in_m3 == read("14 gal", Kind.VOLUME).si_value
    assert wish.field_length_m == read("2600 ft", Kind.WIDTH).si_value
    assert (wish.first_fill_frac, wish.jar_m3) == (pytest.approx(0.6), read("1 qt", Kind.VOLUME).si_value)


def test_a_products_way_into_the_tank_arrives(tmp_path):
    contact, salt, spreader, foam, granules = season_of(tmp_path, example_season()).season.passes[0].products
    assert (contact.mixing.form, granules.mixing.form, salt.mixing.form) == (Form.EC, Form.WG, Form.AMS)
    assert contact.mixing.label.after == (Form.WG,)
    assert contact.mixing.label.before == (Form.NIS,)
    assert contact.mixing.density_kgpm3 == read("9.1 lb/gal", Kind.DENSITY).si_value
    assert (spreader.mixing.dose.base, spreader.mixing.dose.volume_frac) == (DoseBase.SPRAY, pytest.approx(0.0025))
    assert (spreader.mixing.dose.low_frac, spreader.mixing.dose.high_frac) == pytest.approx((0.00125, 0.005))
    assert foam.mixing.dose.base is DoseBase.CARRIER
    assert foam.mixing.dose.volume_frac == pytest.approx(1 / 12800)


@pytest.mark.parametrize(
    ("typed", "place", "after"),
    [
        ('{ place = "last" }', LabelPlace.LAST, ()),
        ('{ after = ["ammonium salt, DRY"] }', None, ("Ammonium salt, dry",)),
        ('{ after = ["wdg", "Spreader"] }', None, (Form.WG, "Spreader")),
    ],
)
def test_a_labels_word_on_the_order_as_it_may_be_written(tmp_path, typed, place, after):
    text = example_season().replace('{ after = ["WG"], before = ["NIS"] }', typed)
    label = season_of(tmp_path, text).season.passes[0].products[0].mixing.label
    assert (label.place, label.after) == (place, after)


@pytest.mark.parametrize(
    ("typed", "base", "mass"), [("in_spray", DoseBase.SPRAY, 8.5), ("in_carrier", DoseBase.CARRIER, 17)]
)
def test_a_dry_dose_per_hundred_gallons(tmp_path, typed, base, mass):
    text = example_season().replace('rate = "1.7 lb/ac"', f'{typed} = "{mass} lb/100 gal"')
    dose = season_of(tmp_path, text).season.passes[0].products[1].mixing.dose
    assert dose.base is base
    assert dose.mass_kgpm3 == pytest.approx(read(f"{mass / 100} lb/gal", Kind.DENSITY).si_value)
