"""The whole of a changeover file as it is written."""

from __future__ import annotations

from typing import Final, Literal, Self

from pydantic import Field, model_validator

from wetrun.documents.changeover_fields import (
    Held,
    Moment,
    RinseTank,
    RinseWater,
    Standing,
    Tolerable,
    WaterStep,
)
from wetrun.documents.entry import Entry
from wetrun.documents.fields import BoomFlow, CarrierRate, Speed, Volume
from wetrun.documents.machine_entry import MachineEntry
from wetrun.documents.plain_fields import Day, FileName, Passage, Words
from wetrun.documents.refusing import refuse
from wetrun.documents.shorthand import Shorthand

CHANGEOVER_VERSION: Final = 1


class TankEntry(Shorthand):
    """What was or will be in the tank: a pass of the season, or typed here."""

    pass_name: Words | None = Field(default=None, alias="pass")
    name: Words | None = None
    crop: Words | None = None
    rate: CarrierRate | None = None
    contents: list[Words] = Field(default=[], max_length=60)

    @classmethod
    def shorthand_key(cls) -> str:
        """Return the key a bare value stands for."""
        return "pass"

    @model_validator(mode="after")
    def _is_known(self) -> Self:
        if self.pass_name is None:
            for key, given in (("crop", self.crop), ("rate", self.rate), ("contents", self.contents or None)):
                if given is None:
                    raise refuse(
                        "without a pass of a season this has to be typed",
                        'Add it, or name a pass: from = "Post herbicide"',
                        at=key,
                    )
        return self


class NextEntry(TankEntry):
    """What comes next, with how it is sprayed."""

    speed: Speed | None = None
    boom_flow: BoomFlow | None = None
    load: Volume | None = None

    @model_validator(mode="after")
    def _states_its_flow_once(self) -> Self:
        if self.speed is not None and self.boom_flow is not None:
            remedy = "Keep one: the other follows from rate and width"
            raise refuse("speed and boom_flow say the same thing", remedy, at="boom_flow")
        return self


class MeasuredEntry(Entry):
    """What was measured on one circuit."""

    circuit: Words
    volume: Held | None = None
    residue: Held | None = None

    @model_validator(mode="after")
    def _measures_something(self) -> Self:
        if self.volume is None and self.residue is None:
            raise refuse("nothing measured stands here", "Add volume, residue, or both", at="volume")
        if self.volume is not None and not self.volume.si_value > 0.0:
            remedy = "Measure what it holds, or leave this table out and keep the typical volume"
            raise refuse(f"{self.circuit} has to hold more than nothing", remedy, at="volume")
        return self


class ExtraEntry(Entry):
    """A circuit some machines have besides."""

    kind: Literal["chemical hose", "injection line", "foam marker", "winter-fluid line"]
    flushed_with: Words | None = None


class PlumbingOfEntry(Entry):
    """The machine's circuits: a class with typical volumes, and what was measured."""

    machine_class: Literal["self-propelled", "trailed", "mounted"] = Field(alias="class")
    rinse_tank: RinseTank | None = None
    ends_open: bool = True
    recirculating: bool = False
    drains: bool = True
    fed: Literal["at an end", "in the middle"] = "at an end"
    extra: list[ExtraEntry] = Field(default=[], max_length=4)
    measured: list[MeasuredEntry] = Field(default=[], max_length=200)


class WaterEntry(Entry):
    """Clean water, and how it may be used."""

    refills: int = Field(default=0, ge=0, le=20)
    step: WaterStep | None = None
    ways: list[Literal["batch", "continuous", "boom"]] = Field(default=["batch"], min_length=1, max_length=3)
    most_rinses: int = Field(default=4, ge=1, le=6)
    first_flush: RinseWater | None = None


class ToleratedEntry(Entry):
    """What the next crop may get at most: from the label, one's own, or a published figure."""

    label: Tolerable | None = None
    own: Tolerable | None = None
    published: Words | None = None
    of: Literal["tank mix", "dose"] | None = None

    @model_validator(mode="after")
    def _is_one(self) -> Self:
        given = [each for each in (self.label, self.own, self.published) if each is not None]
        if len(given) != 1:
            remedy = 'Write label = "0.5 %" or own = "0.5 %", with of = "tank mix" or of = "dose", or published = "…"'
            raise refuse("one of label, own and published belongs here", remedy)
        for key, level in (("label", self.label), ("own", self.own)):
            if level is not None and not level.si_value > 0.0:
                remedy = "Type the share of the old mix, or of its dose, that the next crop may get"
                raise refuse("no rinse reaches nothing at all", remedy, at=key)
        if self.published is None and self.of is None:
            remedy = 'Write of = "tank mix" (in what leaves the tips) or of = "dose" (of the old product per acre)'
            raise refuse("what it is a share of is missing", remedy, at="of")
        if self.published is not None and self.of is not None:
            raise refuse("a published figure says itself what it is a share of", "Leave of out", at="of")
        return self


class LabelStepEntry(Entry):
    """A step a label asks for."""

    product: Words
    words: Passage
    water: RinseWater | None = None
    stand: Standing | None = None


class CleanerEntry(Entry):
    """A cleaner, as a label names it."""

    name: Words
    words: Passage | None = None
    stand: Standing | None = None


class RecordStepEntry(Entry):
    """What was written down for one step of the list."""

    step: Words
    by: Words | None = None
    begun: Moment | None = None
    done: Moment | None = None
    water: RinseWater | None = None
    skipped_because: Passage | None = None


class RecordEntry(Entry):
    """The record as far as it was written."""

    signed_by: Words | None = None
    signed_at: Moment | None = None
    step: list[RecordStepEntry] = Field(default=[], max_length=300)


class WinterEntry(Entry):
    """That the machine is put away after the clean-out."""

    antifreeze: Passage | None = None
    where_it_goes: Passage | None = None


class ChangeoverEntry(Entry):
    """A clean-out between two tanks."""

    format_version: Literal[1]
    title: Words
    units: Literal["us", "si"] = "us"
    on: Day | None = None
    season: FileName | None = None
    earlier: TankEntry = Field(alias="from")
    later: NextEntry = Field(alias="to")
    rinsate: Passage | None = None
    nurse: bool = True
    machine: MachineEntry | None = None
    plumbing: PlumbingOfEntry
    water: WaterEntry = WaterEntry()
    tolerated: ToleratedEntry | None = None
    label: list[LabelStepEntry] = Field(default=[], max_length=30)
    cleaner: list[CleanerEntry] = Field(default=[], max_length=10)
    record: RecordEntry | None = None
    winter: WinterEntry | None = None

    @model_validator(mode="after")
    def _has_one_machine(self) -> Self:
        if (self.season is None) == (self.machine is None):
            remedy = 'Write season = "season.toml" with the machine in it, or a table [machine] here'
            raise refuse("the machine stands either in a season file or here", remedy, at="machine")
        for key, tank in (("from", self.earlier), ("to", self.later)):
            if tank.pass_name is not None and self.season is None:
                remedy = 'Write season = "season.toml", or type crop, rate and contents here'
                raise refuse("a pass belongs to a season", remedy, at=key)
        return self
