"""The paper of a clean-out: yard's list, three ways, circuits; both unit systems, both sizes, hard cases."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from pypdf import PdfReader
from tests.changeover_answers import US_GALLON_M3, question
from tests.paper_reading import text_of

from wetrun.changeover.answer import changeover_answer
from wetrun.changeover.question import TankUse, WinterWish, Written
from wetrun.changeover.rinse_task import WaterSupply
from wetrun.changeover.tolerated import PUBLISHED, Basis, user_level
from wetrun.changeover.yard_job import Cleaner, LabelStep
from wetrun.changeover.yard_record import StepEntry
from wetrun.changeover.yard_step import Signing, StepKind
from wetrun.errors import CannotWrite
from wetrun.machine.typical_plumbing import Measured, layout_with_measured
from wetrun.machine.typical_volumes import MachineClass
from wetrun.papers.changeover_circuits import held_data, volume_rows
from wetrun.papers.changeover_data import changeover_data
from wetrun.papers.changeover_paper import changeover_pdf, write_changeover
from wetrun.papers.changeover_skips import skip_data
from wetrun.papers.papers import Paper
from wetrun.papers.reader import Reader
from wetrun.quantity import System
from wetrun.sources import source

US, SI = Reader(System.US), Reader(System.SI)
SMALL = {
    "machine_class": MachineClass.MOUNTED,
    "section_tips": (6, 6),
    "tank_m3": 0.6,
    "load_m3": 0.5,
    "out_m3s": 0.0004,
    "supply": WaterSupply(rinse_tank_m3=0.06, refills=1, step_m3=0.02),
}
NASTY = ('#panic("x")', "*bold* _under_ `code`", "$ x^2 $ \\u{1F4A9} @label", "<tags> & 'quotes'", "= Heading // gone")


@pytest.fixture(scope="module")
def whole():
    return changeover_answer(question())


@pytest.fixture(scope="module")
def small():
    return changeover_answer(question(**SMALL))


@pytest.fixture(scope="module")
def out_of_reach():
    return changeover_answer(question(**SMALL, tolerated=PUBLISHED["dicamba-soybean-symptoms"]))


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("system", System)
def test_both_unit_systems_on_both_sizes(whole, system, paper):
    pdf = changeover_pdf(whole, Reader(system), paper, "The Shop")
    pages = PdfReader(io.BytesIO(pdf)).pages
    size = {"letter": (612, 792), "a4": (595, 842)}[paper.value]
    assert {(round(float(page.mediabox.width)), round(float(page.mediabox.height))) for page in pages} == {size}
    said = text_of(pdf)
    # What sources are called is not in the reader's hands.
    units = re.findall(r"\d (gal|ac|ft|L|ha|m)\b", said.partition("Methods: ")[0].replace(whole.question.machine, ""))
    assert set(units) == ({"gal", "ac", "ft"} if system is System.US else {"L", "ha", "m"})


def test_equal_answers_give_equal_bytes(small):
    assert changeover_pdf(small, US, Paper.LETTER) == changeover_pdf(
        changeover_answer(question(**SMALL)), US, Paper.LETTER
    )


def test_the_parts_follow_each_other(whole):
    said = text_of(changeover_pdf(whole, US, Paper.LETTER, "The Shop"))
    order = [
        "The Shop",
        "Rinse 3 times with 80 gal each (240 gal in all)",
        "if nothing is bound",
        "Post herbicide",
        "Fungicide",
        "fill the rinse tank of 120 gal again, 1 time",
        "2 % (1 in 50): Denmark",
        "source: sprayers101.com: continuous rinsing, read",
        "Before anything is opened",
        "Put on what the label says to wear",
        "Never let chlorine bleach meet ammonia",
        "Know where rinsate may go",
        "Where every valve stands",
        "Step by step",
        "Record of this changeover",
        "Products from: Broadstop and Grassline",
        "Same water, three ways",
        "one rinse of 240 gal",
        "What to take from it",
        "What each circuit holds after every step",
        "What skipping a circuit does",
        "Priming with the new mix",
        "What the circuits hold, and how well that is known",
        "Cautions",
        "Methods: changeover-sheet-1",
    ]
    place = 0
    for words in order:
        found = said.find(words, place)
        assert found >= 0, f"{words} does not stand after {said[place : place + 60]}"
        place = found


def test_it_never_calls_a_machine_clean_or_safe(whole, out_of_reach):
    for answer in (whole, out_of_reach):
        said = text_of(changeover_pdf(answer, US, Paper.LETTER)).casefold().replace("clean water", "").replace(",", " ")
        assert "if nothing is bound" in said
        words = {word.strip(".:;()") for word in said.split()}
        assert not {"clean", "cleaned", "safe", "safely"} & words


def test_every_step_of_the_yard_is_on_paper_with_its_water(whole):
    said = text_of(changeover_pdf(whole, US, Paper.LETTER))
    for step in whole.yard.steps:
        if step.kind is not StepKind.CIRCUIT:
            assert " ".join(step.do.rstrip(" .").split()) in said
    rows = changeover_data(whole, US)["yard"]["steps"]
    assert [row["water"] for row in rows if row["water"]] == ["80 gal"] * 3
    boxes = [[box["name"] for box in row["boxes"]] for row in rows if row["boxes"]]
    assert boxes == [[flush.circuit for flush in whole.yard.job.circuits]] * len(whole.plan.rinses)


def test_the_valves_of_each_setting_stand_in_the_table(whole):
    valves = changeover_data(whole, US)["yard"]["valves"]
    for row, entry in zip(valves["rows"], whole.flush_settings, strict=True):
        places = dict(entry.setting.positions)
        assert row["positions"] == [places[name] for name in valves["names"]]
    assert "suction valve: tank" in valves["still"]


def test_circuits_hold_what_the_answer_says_and_only_boom_rows_are_drawn_together(whole):
    held = held_data(whole, US)
    assert len(held["rows"]) == 1 + len(whole.steps)
    at = held["circuits"].index("eductor")
    for row, step in zip(held["rows"][1:], whole.steps, strict=True):
        share = 100 * step.concentrations_frac["eductor"]
        assert float(row["cells"][at]["text"]) == pytest.approx(share, rel=0.051)
        sections = max(step.concentrations_frac[f"section {n}"] for n in (1, 2, 3))
        shown = row["cells"][held["circuits"].index("boom sections, highest of 3")]
        assert float(shown["text"]) == pytest.approx(100 * sections, rel=0.051)
        assert 0.0 <= shown["shade"] <= 1.0
    assert [row["rinse"] for row in held["rows"] if row["last"]] == ["1", "2", "3"]


def test_a_measured_volume_is_marked_and_typical_ones_name_their_status():
    layout = layout_with_measured(question().layout, {"sump": Measured(volume_m3=0.02, residue_m3=0.018)})
    rows = {row["circuit"]: row for row in volume_rows(layout, US)}
    assert rows["sump"]["measured"]
    assert rows["sump"]["volume_from"] == rows["sump"]["residue_from"] == "measured"
    for circuit in layout.circuits:
        if circuit.name in rows and circuit.name != "sump":
            assert rows[circuit.name]["residue_from"] == f"typical: {source(circuit.residue_source).status}"
    assert "section 1 to section 3, each" in rows


def test_skipping_shows_the_first_drop_and_the_field(whole):
    rows = skip_data(whole, US)
    shown = {row["what"]: row for row in rows["rows"]}
    eductor = next(skip for skip in whole.skips if skip.circuit == "eductor")
    plan = rows["rows"][0]
    assert plan["plan"]
    assert eductor.left_frac < whole.plan.left_frac
    assert eductor.load_frac > 2.0 * whole.plan.acres.end_frac
    row = shown["eductor line and eductor (on the same lines)"]
    for text, share in ((row["first"], eductor.left_frac), (row["end"], eductor.load_frac)):
        assert float(text.removesuffix(" %")) == pytest.approx(100 * share, rel=0.051)
    assert any("A low first drop proves little" in words for words in rows["lower"])
    assert rows["never"] == "sump, suction strainer and pump"


def test_out_of_reach_is_told_with_what_would_help(out_of_reach):
    assert not out_of_reach.plan.reached
    said = text_of(changeover_pdf(out_of_reach, SI, Paper.A4))
    assert "The water there is does not reach 0.005 %" in said
    assert "The level is not reached with this water. What holds it up:" in said
    assert "share of the old product's dose per area" in said
    data = changeover_data(out_of_reach, SI)
    assert len(data["remedies"]) == len(out_of_reach.plan.remedies) > 0
    for words in data["remedies"]:
        assert words in said
    # The later rate is higher than the earlier, so that a share of the mix puts down more than that share of the dose.
    ratio = out_of_reach.plan.task.load.dose_ratio
    assert ratio == pytest.approx(1.87 / 1.4)
    left = 100 * ratio * out_of_reach.plan.left_frac
    assert float(data["left"].removesuffix(" %")) == pytest.approx(left, rel=0.051)


def test_no_rinse_needed_leaves_the_comparison_out():
    answer = changeover_answer(question(**SMALL, tolerated=user_level(0.999, basis=Basis.MIX)))
    assert answer.plan.rinses == ()
    said = text_of(changeover_pdf(answer, US, Paper.LETTER))
    assert "No rinse is needed for the tolerated" in said
    assert "Same water" not in said
    assert "the user's own level" in said


def test_boom_ends_no_valve_reaches_are_told_once_with_the_valves():
    answer = changeover_answer(question(**SMALL, ends_open=False))
    said = text_of(changeover_pdf(answer, SI, Paper.A4))
    assert "By hand: boom end 1 to 2: it is a dead end" in said
    assert "no valve position flushes it: by hand" in said
    assert "is never rinsed" not in said


def test_twelve_sections_and_long_names_stay_on_the_paper():
    long = "W" * 90
    earlier = TankUse(name=long, crop="soybeans", contents=(long, "Grassline " * 12), rate_m3pm2=1.4e-5)
    asked = question(**{**SMALL, "section_tips": (1,) * 12}, machine=f"{long} and more", earlier=earlier)
    answer = changeover_answer(asked)
    pdf = changeover_pdf(answer, US, Paper.LETTER)
    said = text_of(pdf)
    assert "boom sections, highest of 12" in held_data(answer, US)["circuits"]
    assert "highest of 12" in said
    assert len(PdfReader(io.BytesIO(pdf)).pages) <= 6
    for page in PdfReader(io.BytesIO(pdf)).pages:
        assert all(0.0 <= x <= 612.0 for x in _places(page))


def _places(page):
    """Where text begins on a page, from the left [pt]."""
    found = []
    page.extract_text(visitor_text=lambda words, _m, tm, _f, _s: found.append(float(tm[4])) if words.strip() else None)
    return found


def test_what_a_person_typed_is_shown_and_never_obeyed():
    labels = tuple(LabelStep(product="Broadstop", words=words, stand_s=900.0) for words in NASTY)
    cleaner = Cleaner(name=NASTY[0], words=NASTY[1])
    answer = changeover_answer(
        question(**SMALL, machine=NASTY[2], rinsate=NASTY[3], label_steps=labels, cleaners=(cleaner,))
    )
    said = text_of(changeover_pdf(answer, US, Paper.LETTER))
    for words in NASTY:
        assert words in said
    assert said.count("Standing time: 15 min.") == len(NASTY)
    assert "No standing time was typed for" in said


def test_a_written_record_stands_in_its_rows(small):
    done = datetime(2027, 7, 1, 16, 30, tzinfo=UTC)
    entries = tuple(
        StepEntry(step=step.ident, done_by="M. Invented", done_at=done, begun_at=done, water_m3=step.water_m3)
        for step in small.yard.steps
    )
    signed = Written(entries=entries, signed_by="A. Shopkeeper", signed_at=done)
    answer = changeover_answer(replace(small.question, written=signed))
    said = text_of(changeover_pdf(answer, US, Paper.LETTER))
    assert "The record is complete." in said
    assert answer.record is not None
    assert answer.record.result in said
    assert "Signed: A. Shopkeeper" in said
    assert said.count("M. Invented, 1 Jul 2027 16:30") >= sum(s.signing is not Signing.BEFORE for s in small.yard.steps)
    open_one = replace(small.question, written=Written(entries=entries[:-1]))
    data = changeover_data(changeover_answer(open_one), US)["yard"]["record"]
    assert not data["complete"]
    assert "The record is not signed." in data["lacking"]


def test_winter_and_spring_are_added_where_they_were_asked_for(small):
    said = text_of(changeover_pdf(changeover_answer(replace(small.question, winter=WinterWish())), US, Paper.LETTER))
    assert "Putting it away for winter" in said
    assert "In spring" in said
    assert "In spring" not in text_of(changeover_pdf(small, US, Paper.LETTER))


def test_files_are_written_together_and_replace_older_ones(small, tmp_path):
    (tmp_path / "wet-run.pdf").write_bytes(b"kept")
    written = write_changeover(small, tmp_path, system=System.US, paper="a4")
    assert [path.name for path in written] == ["changeover.pdf", "first-acres-us.svg", "first-acres-si.svg"]
    assert (tmp_path / "wet-run.pdf").read_bytes() == b"kept"
    nothing = changeover_answer(replace(small.question, tolerated=user_level(0.999, basis=Basis.MIX)))
    assert [path.name for path in write_changeover(nothing, tmp_path, system=System.US)] == ["changeover.pdf"]
    assert not (tmp_path / "first-acres-us.svg").exists()
    taken = tmp_path / "file"
    taken.write_text("x")
    with pytest.raises(CannotWrite):
        write_changeover(small, taken, system=System.US)


def test_water_is_printed_as_it_is_measured_out():
    supply = WaterSupply(rinse_tank_m3=30 * US_GALLON_M3, refills=1, step_m3=10 * US_GALLON_M3)
    data = changeover_data(changeover_answer(question(**{**SMALL, "supply": supply})), US)
    assert data["tank"] == "30 gal"
    assert all(rinse["water"].endswith("0 gal") for rinse in data["rinses"])
