"""The steps every clean-out has, with their reasons and sources."""

from __future__ import annotations

from typing import Final

from wetrun.changeover.yard_step import Signing, StepKind, YardStep

LABELS: Final = YardStep(
    ident="labels",
    kind=StepKind.LABEL,
    do="Have the labels of everything inside at hand and read what they say of cleaning. Where they differ from this "
    "list, they win.",
    why="The label is the law; this list knows only what was typed from it.",
    source_keys=("common-practice-cleanout",),
    signing=Signing.BEFORE,
    binding=True,
)
PPE: Final = YardStep(
    ident="ppe",
    kind=StepKind.CARE,
    do="Put on what the label says to wear, before anything is opened. See the label; no list here replaces it.",
    why="A used sprayer's plumbing is contaminated, whatever the tank looks like.",
    source_keys=("grdc-7-3",),
    signing=Signing.BEFORE,
    binding=True,
)
SITE: Final = YardStep(
    ident="site",
    kind=StepKind.CARE,
    do="Choose a place with plants on it, away from wells, ditches and open water, and not the last one again.",
    why="What is rinsed out is still product, and one place used every time collects it.",
    source_keys=("grdc-7-3",),
    signing=Signing.BEFORE,
    binding=True,
)
EMPTY: Final = YardStep(
    ident="spray-out-and-drain",
    kind=StepKind.EMPTYING,
    do="At once: spray the rest out on the labelled field, then drain tank, sump, pump and lines as far as they will.",
    why="What stays in is what every rinse has to dilute, and an hour's wait can more than double what binds.",
    source_keys=("dtn-2017", "purdue-cleanout", "grdc-7-3"),
)
OUTSIDE: Final = YardStep(
    ident="outside",
    kind=StepKind.OUTSIDE,
    do="Wash tank, frame, boom and nozzle bodies from outside.",
    why="What sits outside runs back in, or onto the next crop.",
    source_keys=("grdc-7-3",),
)
NO_BLEACH: Final = YardStep(
    ident="never-bleach-with-ammonia",
    kind=StepKind.CARE,
    do="Read what the cleaners hold. Never let chlorine bleach meet ammonia, an ammonium salt or nitrogen fertiliser: "
    "not in one tank, not one after the other.",
    why="Together they give off toxic gas.",
    source_keys=("grdc-7-2", "purdue-cleanout", "bleach-and-ammonium"),
    signing=Signing.BEFORE,
    binding=True,
)
OUT_OPEN: Final = YardStep(
    ident="out-open",
    kind=StepKind.PARTS,
    do="Send the tank out through all sections with the nozzle bodies open, then through the open boom ends.",
    why="What is loosened leaves by an opening, and not by a tip it would lodge in.",
    source_keys=("sprayers101-cleaning", "memory-boom-ends-last"),
)
REFIT: Final = YardStep(
    ident="refit",
    kind=StepKind.PARTS,
    do="Refit strainers, screens, tips and caps, each in its place, and look for leaks.",
    why="The next rinse goes out through the tips the next crop gets.",
    source_keys=("common-practice-cleanout",),
)
DRAIN: Final = YardStep(
    ident="last-drain",
    kind=StepKind.EMPTYING,
    do="Drain tank, sump, pump, strainers and low points once more.",
    why="What drains now is in no later load.",
    source_keys=("purdue-cleanout", "dtn-2017"),
)
NURSE: Final = YardStep(
    ident="nurse-tank",
    kind=StepKind.NURSE,
    do="Rinse nurse tank, transfer pump, meters, load hoses and measuring jugs as well.",
    why="A dirty nurse tank has put product into loads of a sprayer that was rinsed well.",
    source_keys=("purdue-cleanout",),
)
RECORD: Final = YardStep(
    ident="record",
    kind=StepKind.RECORD,
    do="Write down when and how it was done: water of every step, cleaner, what was left out and why. Sign.",
    why="Whoever loads next has nothing else to go by.",
    source_keys=("unl-qa-2018", "dtn-2018"),
    signing=Signing.LAST,
    binding=True,
)
