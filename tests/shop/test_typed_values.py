"""What is typed into a sheet's boxes goes into the document as a person would have written it."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.utils import timezone
from tests.shop.typed_cases import MACHINE, PASS, page_of, typed_in

from wetrun.documents.changeover_entry import ChangeoverEntry, RecordStepEntry, WaterEntry
from wetrun.documents.load_entry import FillEntry, LoadEntry
from wetrun.documents.machine_entry import MachineEntry, PumpEntry
from wetrun.documents.mixing_entry import LabelOrderEntry
from wetrun.documents.pass_entry import CarrierEntry, PassEntry, ProductEntry
from wetrun.documents.plumbing_entry import PlumbingEntry
from wetrun.documents.season_entry import PlanEntry
from wetrun.documents.wetrun_catch_entry import CatchEntry, SwapEntry
from wetrun.documents.wetrun_monitor_entry import FormEntry, MonitorEntry, SnapshotEntry
from wetrun.documents.wetrun_steady_entry import SteadyEntry
from wetrun.documents.wetrun_tests_entry import EvennessEntry, RunEntry
from wetrun.documents.wetrun_yard_entry import GatesEntry, RampEntry, SectionEntry, StepEntry
from wetrun.quantity import System
from wetrun.shop.typed.sheet import Sheet

CATCH: dict[str, Any] = {"pressure": "40 psi", "unit": "fl oz", "readings": [39.2, "", "no flow", 40]}


@pytest.mark.parametrize(
    ("entry", "key", "text", "value"),
    [
        (MachineEntry, "tank", "1200", "1200 gal"),
        (MachineEntry, "tank", "4500 L", "4500 L"),
        (MachineEntry, "tank", "1200,5", "1200,5 gal"),
        (MachineEntry, "tank", "  1200 gal ", "1200 gal"),
        (FillEntry, "jug", "2", "2 fl oz"),
        (FillEntry, "usable", "1180", "1180 gal"),
        (CarrierEntry, "specific_gravity", "1.28", "1.28"),
        (SteadyEntry, "tank_time", "3", "3 min"),
        (PumpEntry, "return", "\u22122", "\u22122 gal/min"),
        (PlumbingEntry, "feed", "middle", "middle"),
        (PlumbingEntry, "feed", "4", "4 ft"),
        (PlumbingEntry, "hose_length", "28, 16, 28", ["28 ft", "16 ft", "28 ft"]),
        (PlumbingEntry, "line", "0,75", "0,75 in"),
        (StepEntry, "cab", "33; 33,5; 34 bar", ["33 psi", "33,5 psi", "34 bar"]),
        (StepEntry, "flow", "below range", ["below range"]),
        (StepEntry, "sections_on", "9", 9),
        (StepEntry, "sections_on", "nine", "nine"),
        (StepEntry, "sections_on", "9" * 5000, "9" * 5000),
        (SectionEntry, "opened", "1, 2", [1, 2]),
        (SectionEntry, "opened", "none", []),
        (SectionEntry, "opened", "1,two", [1, "two"]),
        (FormEntry, "low", "1", 1),
        (FormEntry, "low", "0,5", 0.5),
        (FormEntry, "low", "1,500", "1,500"),
        (FormEntry, "low", "1e999", "1e999"),
        (EvennessEntry, "grooves", "102, 98.5", [102, 98.5]),
        (EvennessEntry, "grooves", "102,5; 98,5", [102.5, 98.5]),
        (PlanEntry, "budget", "2000.50", "2000.50"),
        (SnapshotEntry, "density", "11.10", "11.10"),
        (SnapshotEntry, "section_width", "160,160,160", ["160", "160", "160"]),
        (PassEntry, "first", "2027-04-15", date(2027, 4, 15)),
        (PassEntry, "first", "15 April", "15 April"),
        (PassEntry, "first", "2027-02-30", "2027-02-30"),
        (PassEntry, "droplets", "C or coarser", "C or coarser"),
        (PassEntry, "droplets", "M, C", ["M", "C"]),
        (PassEntry, "fit", "streamer", "streamer"),
        (PassEntry, "after", "Burndown, Post", ["Burndown", "Post"]),
        (PassEntry, "after", "Number 7, late;", "Number 7, late"),
        (PassEntry, "days", "3", 3),
        (ProductEntry, "risky_on", "none", []),
        (ProductEntry, "risky_on", "corn", ["corn"]),
        (LabelOrderEntry, "after", "AMS, EC", ["AMS", "EC"]),
        (LoadEntry, "order", "one third first", "one third first"),
        (WaterEntry, "ways", ["", "boom", "batch"], ["batch", "boom"]),
        (RecordStepEntry, "done", "2027-07-08T14:30:00+00:00", datetime(2027, 7, 8, 14, 30, tzinfo=UTC)),
        (CatchEntry, "readings", "39.2, , 40.1", [39.2, "", 40.1]),
        (CatchEntry, "readings", "39,2; 40,1", [39.2, 40.1]),
        (CatchEntry, "readings", "39.2\n40.1, no flow", [39.2, 40.1, "no flow"]),
        (CatchEntry, "readings", "25.6 fl oz, 25 fl oz", ["25.6 fl oz", "25 fl oz"]),
        (SwapEntry, "readings", "57 = 44.7\n58: 39,0", {"57": 44.7, "58": 39.0}),
    ],
)
def test_a_text_becomes_the_value_a_person_would_have_written(entry: Any, key: str, text: Any, value: Any) -> None:
    found = typed_in(entry, {}, {key: text}).document[key]
    assert (found, type(found)) == (value, type(value))


@pytest.mark.parametrize(
    ("entry", "key", "text", "value"),
    [(MachineEntry, "tank", "4500", "4500 L"), (FillEntry, "jug", "50", "50 mL"), (PassEntry, "area", "64", "64 ha")],
)
def test_a_bare_number_takes_the_unit_printed_at_its_field(entry: Any, key: str, text: str, value: str) -> None:
    sheet = typed_in(entry, {}, {key: text}, System.SI)
    assert sheet.document == {key: value}
    assert f'id="sheet-{key}-unit">{value.split()[1]}</span>' in page_of(sheet)


def test_a_moment_without_a_zone_is_one_of_the_branch_s_clock() -> None:
    with timezone.override("America/Chicago"):
        done = typed_in(RecordStepEntry, {"step": "rinse-1"}, {"done": "2027-07-08 14:30"}).document["done"]
    assert done.isoformat() == "2027-07-08T14:30:00-05:00"


def test_an_emptied_box_takes_its_key_out() -> None:
    raw = {**MACHINE, "tank": "1200 gal"}
    assert typed_in(MachineEntry, raw, {"tank": " "}).document == MACHINE


def test_a_reading_that_was_taken_out_again_is_blank_and_not_forgotten() -> None:
    raw = {"way": "out", "time": "15.75 s"}
    assert typed_in(RunEntry, raw, {"time": ""}).document == {"way": "out", "time": ""}
    assert typed_in(RunEntry, {"way": "out"}, {"time": ""}).document == {"way": "out"}


def test_a_usual_choice_is_written_only_where_it_was_chosen() -> None:
    assert typed_in(LoadEntry, {}, {"split": "full"}).document == {}
    assert typed_in(LoadEntry, {"split": "equal"}, {"split": "full"}).document == {"split": "full"}
    assert typed_in(LoadEntry, {"split": "full"}, {"jar": "1"}).document == {"split": "full", "jar": "1 qt"}


def test_a_ticked_box_is_true_an_unticked_one_false_and_an_untouched_one_left_out() -> None:
    assert typed_in(LoadEntry, {}, {"alike": ["no"]}).document == {"alike": False}
    assert typed_in(LoadEntry, {"alike": False}, {"alike": ["no", "yes"]}).document == {"alike": True}
    assert typed_in(LoadEntry, {}, {"alike": ["no", "yes"]}).document == {}
    assert typed_in(LoadEntry, {}, {"alike": None}).document == {}


def test_what_may_be_left_open_is_said_or_not_said() -> None:
    raw: dict[str, Any] = {"name": "cab", "profile": {}, "as_found": {}}
    key = "scales_meter_by_density"
    assert typed_in(MonitorEntry, raw, {key: "no"}).document == {**raw, key: False}
    assert typed_in(MonitorEntry, {**raw, key: True}, {key: ""}).document == raw
    sheet = typed_in(RampEntry, {}, {"rate": "15"})
    assert "simulated_speed_off" not in sheet.document


def test_a_bare_value_stays_bare_and_a_table_stays_a_table() -> None:
    assert typed_in(PassEntry, PASS, {"rate.target": "16"}).document["rate"] == "16 gal/ac"
    assert typed_in(PassEntry, PASS, {"rate.low": "12"}).document["rate"] == {"target": "15 gal/ac", "low": "12 gal/ac"}
    table = {**PASS, "rate": {"target": "15 gal/ac"}}
    assert typed_in(PassEntry, table, {"rate.target": "16"}).document["rate"] == {"target": "16 gal/ac"}
    assert typed_in(PassEntry, {}, {"carrier.name": "water"}).document == {"carrier": "water"}


def test_a_table_that_says_something_by_being_there_is_ticked() -> None:
    assert typed_in(PassEntry, PASS, {"load.__is": ["no", "yes"]}).document["load"] == {}
    assert "load" not in typed_in(PassEntry, {**PASS, "load": {"split": "equal"}}, {"load.__is": "no"}).document
    assert typed_in(PassEntry, PASS, {"load.split": "equal"}).document["load"] == {"split": "equal"}
    gates = typed_in(GatesEntry, {"by": "A. Reed"}, {"backflow.__is": ["no", "yes"]})
    assert gates.document == {"by": "A. Reed", "backflow": True}
    found = typed_in(GatesEntry, {"by": "A. Reed", "backflow": True}, {"backflow.remark": "air gap"})
    assert found.document == {"by": "A. Reed", "backflow": "air gap"}
    unsafe = typed_in(GatesEntry, {"by": "A. Reed", "backflow": "air gap"}, {"backflow.safe": "no"})
    assert unsafe.document["backflow"] == {"remark": "air gap", "safe": False}


def test_a_table_in_which_nothing_is_left_is_left_out() -> None:
    raw = {**MACHINE, "pump": {"flow": "140 gal/min"}}
    assert typed_in(MachineEntry, raw, {"pump.flow": ""}).document == MACHINE
    assert typed_in(MachineEntry, MACHINE, {"boom.spacing": "", "boom.sections": ""}).document["boom"] == {}


def test_what_a_sheet_does_not_show_stays() -> None:
    raw = {**MACHINE, "colour": "green", "pump": 5}
    sheet = typed_in(MachineEntry, raw, {"name": "Number 8"})
    assert sheet.document == {**raw, "name": "Number 8"}
    assert "This cannot be changed here" in page_of(sheet)
    assert typed_in(MachineEntry, raw, {"colour": "leave out", "pump": "leave out"}).document == MACHINE


def test_an_emptied_list_of_choices_is_refused_and_not_filled_up(db: None) -> None:
    sheet = typed_in(WaterEntry, {}, {"ways": ""})
    assert sheet.document == {"ways": []}
    assert not sheet.is_ok()
    assert [one.words for one in sheet.wrong] == ["It must hold at least 1. Add what is missing."]


def test_a_value_of_the_other_system_is_told_in_the_reader_s_units_and_stays_as_typed() -> None:
    raw = {**MACHINE, "tank": "4500 L", "relief": "120 psi"}
    us, si = (page_of(Sheet(MachineEntry, raw=raw, system=system)) for system in (System.US, System.SI))
    assert "that is 1189 gal" in us
    assert "that is 8.27 bar" in si
    assert "that is 4500 L" not in si
    assert 'value="4500 L"' in us
    assert us.count("that is ") == 1


def test_a_sheet_begun_in_other_units_says_so() -> None:
    told = "This was begun in other units than yours."
    assert told in page_of(Sheet(MachineEntry, raw=MACHINE, system=System.SI, written_in=System.US))
    assert told not in page_of(Sheet(MachineEntry, raw=MACHINE, system=System.SI, written_in=System.SI))


def test_what_belongs_to_a_document_and_is_kept_elsewhere_is_checked_with_it() -> None:
    raw = {"title": "Soybeans to corn", "from": "Post", "to": "Fungicide", "plumbing": {"class": "trailed"}}
    beside = {"format_version": 1, "season": "season.toml"}
    sheet = typed_in(ChangeoverEntry, raw, {"to.speed": "12"}, beside=beside)
    assert sheet.is_ok()
    assert sheet.document == {**raw, "to": {"pass": "Fungicide", "speed": "12 mph"}}
    assert not typed_in(ChangeoverEntry, raw, {"to.speed": "12"}).is_ok()
