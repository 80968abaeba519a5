"""Speeds as a customer says them: slow, usual and fast, and kinds of ground with a speed of their own."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from wetrun.documents.entry import Entry
from wetrun.documents.fields import GroundShare, Speed
from wetrun.documents.refusing import refuse
from wetrun.documents.shorthand import Shorthand, check_rising
from wetrun.quantity import Typed


class GroundEntry(Shorthand):
    """Speed on one kind of ground, and its share of the area if somebody knows it."""

    speed: Speed
    share: GroundShare | None = None


class SpeedsEntry(Entry):
    """Speeds as the customer says them: the ends, the usual one, and kinds of ground with one of their own."""

    slow: Speed
    usual: Speed
    fast: Speed
    hills: GroundEntry | None = None
    waterways: GroundEntry | None = None
    headlands: GroundEntry | None = None

    @model_validator(mode="after")
    def _rises(self) -> Self:
        check_rising(slow=self.slow, usual=self.usual)
        check_rising(usual=self.usual, fast=self.fast)
        return self

    @model_validator(mode="after")
    def _holds_its_grounds(self) -> Self:
        for name, ground in self.grounds().items():
            self._check_between(name, ground.speed)
        shares = [one.share for one in self.grounds().values() if one.share is not None]
        if sum(share.si_value for share in shares) > 1.0:
            said = " and ".join(f'"{share.text}"' for share in shares)
            raise refuse(
                f"{said} of the area are more than all of it", "Correct the shares", at=self._last_with_share()
            )
        return self

    def _check_between(self, name: str, speed: Typed) -> None:
        if speed.si_value < self.slow.si_value:
            reason = f'"{speed.text}" is slower than slow, "{self.slow.text}", the slowest worth holding'
            raise refuse(reason, f"Write a lower slow, or leave {name} out where the rate need not hold there", at=name)
        if speed.si_value > self.fast.si_value:
            raise refuse(f'"{speed.text}" is faster than fast, "{self.fast.text}"', "Write a higher fast", at=name)

    def _last_with_share(self) -> str:
        return [name for name, one in self.grounds().items() if one.share is not None][-1]

    def grounds(self) -> dict[str, GroundEntry]:
        """Return the kinds of ground that have a speed of their own, by name."""
        said = {"hills": self.hills, "waterways": self.waterways, "headlands": self.headlands}
        return {name: one for name, one in said.items() if one is not None}
