"""The draft behind an intake: its passes by key, each changed part by part, nothing typed ever dropped."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from wetrun.shop.answers.intake_entries import PARTS, AskedProduct, Part
from wetrun.shop.answers.season_logs import plain_name
from wetrun.shop.intake.models import Intake
from wetrun.shop.records.models import Season
from wetrun.shop.typed.annotated import keys_of

FORMAT_VERSION: Final = 1
MOST_PASSES: Final = 40
Draft = dict[str, Any]


def empty_draft() -> Draft:
    """Return a draft without any pass."""
    return {"format_version": FORMAT_VERSION, "next": 1, "passes": []}


def draft_of(season: Season) -> Draft:
    """Return a draft that begins with what a season says already, as far as a customer is asked for it."""
    draft = empty_draft()
    passes = season.document.get("pass")
    for one in passes if isinstance(passes, list) else []:
        if isinstance(one, dict):
            draft = with_pass(draft, _asked_of(one), begun=plain_name(one))
    return draft


def _asked_of(one: Mapping[str, Any]) -> dict[str, Any]:
    kept = {key.name: one[key.name] for part in PARTS for key in keys_of(part.entry) if key.name in one}
    products = kept.get("product")
    if isinstance(products, list):
        asked = {key.name for key in keys_of(AskedProduct)}
        kept["product"] = [_only(each, asked) for each in products if isinstance(each, dict)]
    for name in ("carrier", "rate"):
        if isinstance(kept.get(name), dict):
            kept[name] = _only(kept[name], {"name", "target", "low", "high"})
    return kept


def _only(table: Mapping[str, Any], names: set[str]) -> dict[str, Any]:
    return {name: value for name, value in table.items() if name in names}


def passes_in(intake: Intake) -> list[dict[str, Any]]:
    """Return the passes of a draft in their order: ``key`` and ``typed``."""
    return list(intake.document.get("passes", []))


def typed_in(intake: Intake, key: int) -> dict[str, Any] | None:
    """Return what was typed of one pass; None if there is no such."""
    return next((one["typed"] for one in passes_in(intake) if one["key"] == key), None)


def with_pass(draft: Draft, typed: Mapping[str, Any], *, begun: str = "") -> Draft:
    """Return a draft with one more pass at its end; the same draft if it holds as many as it may.

    Parameters
    ----------
    draft : dict
        As it stands.
    typed : mapping
        What is known of the pass already.
    begun : str
        Name of the season's pass it began with, so that it is known again under another name.

    Returns
    -------
    dict
        The draft given is not changed.
    """
    passes, key = list(draft.get("passes", [])), int(draft.get("next", 1))
    if len(passes) >= MOST_PASSES:
        return draft
    return {**draft, "next": key + 1, "passes": [*passes, {"key": key, "typed": dict(typed), "begun": begun}]}


def part_in(typed: Mapping[str, Any], part: Part) -> dict[str, Any]:
    """Return the keys of a pass that one form asks."""
    names = {key.name for key in keys_of(part.entry)}
    return _only(typed, names)


def with_part(draft: Draft, key: int, part: Part, typed: Mapping[str, Any]) -> Draft:
    """Return a draft with one form of one pass as it was typed."""
    names = {each.name for each in keys_of(part.entry)}

    def changed(one: dict[str, Any]) -> dict[str, Any]:
        if one["key"] != key:
            return one
        rest = {name: value for name, value in one["typed"].items() if name not in names}
        return {**one, "typed": {**rest, **typed}}

    return {**draft, "passes": [changed(one) for one in draft.get("passes", [])]}


def with_order(draft: Draft, key: int, asked: str) -> Draft:
    """Return a draft with one pass moved up or down, or taken out; the same if nothing of that can be done."""
    passes = list(draft.get("passes", []))
    at = next((at for at, one in enumerate(passes) if one["key"] == key), None)
    if at is None:
        return draft
    rest = [*passes[:at], *passes[at + 1 :]]
    if asked == "out":  # nothing that was typed is thrown away, and who reviews it has to know
        return {**draft, "passes": rest, "out": [*draft.get("out", []), passes[at]]}
    to = {"up": at - 1, "down": at + 1}.get(asked, -1)
    if not 0 <= to < len(passes):
        return draft
    return {**draft, "passes": [*rest[:to], passes[at], *rest[to:]]}
