"""The yard's list: labels first, nothing missing, every step with its reason and source, and never a promise."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from wetrun.changeover.usual_steps import NO_BLEACH, RECORD
from wetrun.changeover.winter import spring_steps, winter_steps
from wetrun.changeover.yard_job import CircuitFlush, Cleaner, LabelStep, YardJob
from wetrun.changeover.yard_list import yard_list
from wetrun.changeover.yard_step import Signing, StepKind
from wetrun.errors import NotDefined
from wetrun.sources import SOURCES

CIRCUITS = (
    CircuitFlush(circuit="Agitation line", valves="agitation open, boom shut"),
    CircuitFlush(circuit="Eductor line", valves="eductor valve to bowl", water_m3=0.02),
    CircuitFlush(circuit="Load line", valves="three-way valve to load"),
)
JOB = YardJob(
    machine="Number 7",
    crop_to="corn",
    products_from=("Grassline", "Broadstop"),
    products_to=("Leafkeep",),
    label_steps=(LabelStep(product="Grassline", words="Circulate for fifteen minutes.", stand_s=900.0, water_m3=0.3),),
    rinses_m3=(0.4, 0.4, 0.4),
    first_flush_m3=0.015,
    circuits=CIRCUITS,
    cleaners=(Cleaner(name="Tank wash", words="One per hundred", stand_s=1200.0),),
    rinsate="On the labelled field, not on the yard.",
)


def idents(job):
    return [step.ident for step in yard_list(job).steps]


def in_order(found, *wanted):
    places = [found.index(ident) for ident in wanted]
    return places == sorted(places)


def test_the_labels_come_first_and_their_steps_before_any_of_ours():
    found = idents(JOB)
    assert found[:3] == ["labels", "ppe", "never-bleach-with-ammonia"]
    assert in_order(
        found, "labels", "ppe", "site", "rinsate", "label-1", "spray-out-and-drain", "outside", "first-flush"
    )
    assert "Grassline, by its label: Circulate for fifteen minutes." in yard_list(JOB).steps[5].do
    assert found[-1] == "record"


def test_a_cleaner_goes_in_after_a_rinse_and_is_followed_by_one():
    found = idents(JOB)
    assert in_order(
        found,
        "rinse-1",
        "spray-out-1",
        "rinse-2",
        "cleaner",
        "rinse-2-load-line",
        "standing",
        "parts-off",
        "out-open",
        "refit",
        "rinse-3",
        "spray-out-3",
        "last-drain",
        "nurse-tank",
        "record",
    )
    assert "never bleach with ammonia" in next(s.do for s in yard_list(JOB).steps if s.ident == "cleaner")
    assert "cleaner" not in idents(replace(JOB, cleaners=()))


@pytest.mark.parametrize("rinses", [1, 2, 3, 5])
@pytest.mark.parametrize("cleaners", [(), JOB.cleaners])
def test_every_rinse_passes_every_circuit_in_the_order_given(rinses, cleaners):
    found = yard_list(replace(JOB, rinses_m3=(0.4,) * rinses, cleaners=cleaners)).steps
    done = max(rinses, 3) if cleaners else rinses
    flushed = [step.do.split(":")[0] for step in found if step.kind is StepKind.CIRCUIT]
    assert flushed == [flush.circuit for flush in CIRCUITS] * done
    names = [step.ident for step in found]
    assert len(set(names)) == len(names)
    assert names.count("parts-off") == names.count("refit") == 1
    assert sum(name.startswith("spray-out-") and name[-1].isdigit() for name in names) == done - 1


def test_water_adds_up_over_all_steps():
    assert yard_list(JOB).water_m3 == pytest.approx(3 * 0.4 + 0.015 + 0.3 + 3 * 0.02)


def test_every_step_has_a_reason_a_source_and_somebody_who_signs():
    steps = [*yard_list(JOB).steps, *winter_steps(CIRCUITS), *spring_steps(CIRCUITS)]
    for step in steps:
        assert step.source_keys
        assert set(step.source_keys) <= set(SOURCES), step.ident
        assert step.do.endswith("."), step.ident
        assert step.why.endswith("."), step.ident
        assert isinstance(step.signing, Signing)
    winter = {key for step in winter_steps(CIRCUITS) for key in step.source_keys}
    assert {SOURCES[key].status for key in winter} == {"common practice, no source"}


def test_no_step_promises_more_than_dilution():
    words = " ".join(f"{s.do} {s.why}" for s in (*yard_list(JOB).steps, *winter_steps(()), *spring_steps(())))
    assert not re.search(r"\b(safe|is clean|perfectly|no residue)\b", words, re.IGNORECASE)


def test_what_a_label_asks_for_and_what_keeps_people_whole_binds():
    binding = {step.ident for step in yard_list(JOB).steps if step.binding}
    assert binding >= {
        "labels",
        "ppe",
        "site",
        "rinsate",
        "label-1",
        NO_BLEACH.ident,
        "cleaner",
        "standing",
        RECORD.ident,
    }
    assert not binding & {"outside", "nurse-tank", "rinse-3"}


def test_what_nobody_gave_is_said():
    bare = YardJob(machine="N", crop_to="corn", products_from=("A",), products_to=("B",))
    assert len(yard_list(bare).gaps) == 4
    assert not yard_list(JOB).gaps
    untimed = replace(JOB, cleaners=(Cleaner(name="Tank wash"),), rinses_m3=(0.4, 0.4))
    said = " ".join(yard_list(untimed).gaps)
    assert "No standing time was typed for Tank wash" in said
    assert "2 of 3 rinses" in said
    assert [step.water_m3 for step in yard_list(untimed).steps if step.ident == "rinse-3"] == [None]


def test_without_amounts_three_rinses_are_listed_with_none():
    steps = yard_list(replace(JOB, rinses_m3=(), cleaners=())).steps
    assert [s.water_m3 for s in steps if re.fullmatch(r"rinse-\d", s.ident)] == [None] * 3


def test_a_nurse_tank_that_never_held_it_is_left_out():
    assert "nurse-tank" not in idents(replace(JOB, nurse=False))


@pytest.mark.parametrize(
    ("cleaners", "before", "after"),
    [
        (("Chlorine bleach", "Household ammonia"), ("Grassline",), ("Leafkeep",)),
        (("Sodium hypochlorite",), ("Grassline", "UAN 32"), ("Leafkeep",)),
        (("bleach",), ("Grassline",), ("Leafkeep", "AMS, dry")),
        (("bleach",), ("10-34-0",), ("Leafkeep",)),
        (("Bleach",), ("Ammonium sulfate",), ()),
    ],
)
def test_bleach_that_would_meet_ammonia_is_refused(cleaners, before, after):
    job = replace(JOB, cleaners=tuple(Cleaner(name=name) for name in cleaners), products_from=before, products_to=after)
    with pytest.raises(NotDefined, match="toxic gas"):
        yard_list(job)


@pytest.mark.parametrize(
    ("cleaner", "before"),
    [
        ("Household ammonia", ("Grassline",)),
        ("Chlorine bleach", ("Grassline",)),
        ("Chlorine bleach", ("Duane 3", "Amsterdam")),
    ],
)
def test_one_of_the_two_alone_is_for_the_label_to_allow(cleaner, before):
    assert "cleaner" in idents(replace(JOB, cleaners=(Cleaner(name=cleaner),), products_from=before))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"rinses_m3": (0.4, 0.0)}, "rinse 2: it has to be above zero"),
        ({"rinses_m3": (float("nan"),)}, "rinse 1: it has to be above zero"),
        ({"first_flush_m3": -1.0}, "the first flush"),
        ({"cleaners": (Cleaner(name="Wash", stand_s=0.0),)}, "standing time of Wash"),
        ({"label_steps": (LabelStep(product="P", words="w", water_m3=-1.0),)}, "water of P's label"),
        ({"circuits": (CircuitFlush(circuit="Load line", valves="a", water_m3=0.0),)}, "the water for Load line"),
        ({"circuits": (CIRCUITS[0], replace(CIRCUITS[0], circuit="agitation-line"))}, "stands in the list twice"),
    ],
)
def test_amounts_of_nothing_and_circuits_named_twice_are_refused(changes, words):
    with pytest.raises(NotDefined, match=words):
        yard_list(replace(JOB, **changes))


def test_winter_fluid_goes_through_every_circuit_and_comes_out_before_any_test():
    put_away, woken = winter_steps(CIRCUITS, antifreeze="Label: undiluted."), spring_steps(CIRCUITS)
    assert sum("Eductor line" in step.do for step in put_away) == sum("Eductor line" in step.do for step in woken) == 1
    assert "Label: undiluted." in next(step.do for step in put_away if step.ident == "antifreeze")
    names = [step.ident for step in woken]
    assert in_order(
        names, "ppe", "fluid-out", "flush", "spring-load-line", "out-of-every-tip", "before-any-test", "record"
    )
    assert next(step for step in woken if step.ident == "before-any-test").binding
    assert len({step.ident for step in put_away}) == len(put_away)
