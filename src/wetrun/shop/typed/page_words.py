"""Puts refusals that speak of a file into words of a page: no quotes, brackets, tables or keys reach who fills it in.

A refusal comes as limit and remedy. A remedy with syntax in it has a line of its own below; what is left is swept of
quotes, and keys become the labels of their fields.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from wetrun.errors import ended
from wetrun.shop.typed.faces import Text

LabelOf = Callable[[str], str]

# A limit that says by itself what to do on a page.
_BY_LIMIT: Final[dict[str, Text]] = {
    r"no such key is known here": gettext_lazy("Nothing of that name is known here. Leave it out."),
    r"it must be one of .*": gettext_lazy("This is none of the choices. Choose one of them."),
    r"a whole number belongs here": gettext_lazy("A whole number belongs here. Type it without a point."),
    r"input should be a valid number.*": gettext_lazy("A number belongs here. Type it without a unit."),
    r"input should be a (?:finite|valid) (?:number|string).*": gettext_lazy("This cannot be read. Type it again."),
    r"true or false belongs here": gettext_lazy("Yes or no belongs here. Choose one."),
    r"a list belongs here": gettext_lazy("Several values belong here. Type them with commas between them."),
    r"a table belongs here": gettext_lazy("This cannot be read here. Leave it out and fill it in again."),
    r"a hold is exactly one of .*": gettext_lazy(
        "A hold is exactly one of the three. Fill in the one the monitor asks for, and leave the others empty."
    ),
    r"(?:text in quotes belongs here|droplet classes are text in quotes)": gettext_lazy(
        "This is no text. Type it again."
    ),
    r"a list of readings, or a table by position, belongs here": gettext_lazy(
        "Readings belong here. Type them with commas between them, or one line for each position: 23 = 38.5."
    ),
    r"this is missing": gettext_lazy("This is needed"),
    r"it must hold at least (\d+)": gettext_lazy("It must hold at least %s. Add what is missing."),
    r"it may hold at most (\d+)": gettext_lazy("It may hold at most %s. Leave out what is not needed."),
    r"it must be at least (\S+)": gettext_lazy("It must be at least %s."),
    r"it must be at most (\S+)": gettext_lazy("It must be at most %s."),
}

# A remedy with a file's syntax in it, and what to do on a page.
_REMEDIES: Final[tuple[tuple[str, str], ...]] = (
    (r'Add \w+ = "(.*)"', r"Type it, for example \1"),
    (r"Add \w+ = …", "Fill it in"),
    (r"Add a table \w+ with (.*)", r"Fill in what is needed: \1"),
    (r"Write it in quotes with its unit, for example (.*)", r"Type it with its unit, for example \1"),
    (
        r"Write it as a number in quotes, without a currency, for example (.*)",
        r"Type it without a currency, such as \1",
    ),
    (r"Write it in quotes exactly as the monitor shows it, (.*)", r"Type it exactly as the monitor shows it, \1"),
    (r"Write it in quotes, for example (.*)", r"Type it, for example \1"),
    (r"Copy the sentence from the label, in quotes", "Copy the sentence from the label"),
    (r"Write it as year-month-day without quotes: (.*)", r"Choose the day, or type it as year-month-day: \1"),
    (r"Write day, time and zone without quotes: .*", "Type day and time, such as 2027-07-08 14:30"),
    (r'Write "Burndown" or .*', "Type names of passes with commas between them, or leave it empty"),
    (r'Write \["M", "C"\] or .*', "Type classes with commas between them, or C or coarser, as the label says it"),
    (r'Write \["streamer"\] or .*', "Type names with commas between them, such as streamer, or leave it empty"),
    (r"Add \[machine\.control\.pulse\] .*", "Fill in the pulse-width settings, or correct what keeps the rate"),
    (r'Write loop = "pulse width", or .*', "Choose pulse width, or empty the pulse-width settings"),
    (r"(.*), or leave \[pass\.load\] out", r"\1, or untick the loads of this pass"),
    (
        r"Write both, such as hose = (.*) and hose_length = (.*), or neither",
        r"Fill in both, such as \1 and \2, or neither",
    ),
    (
        r"Name the shop's own tips in plan\.catalogue, .*",
        "Name a tip catalogue, add a set on hand, or tick the built-in tips",
    ),
    (r"Add it, or name a pass: .*", "Fill it in, or name a pass of the season"),
    (
        r"(.*), or leave this table out and keep the typical volume",
        r"\1, or take this row away and keep the typical volume",
    ),
    (
        r'Write label = .*, or published = "…"',
        "Fill in the label's figure or your own with what it is a share of, or name a published one",
    ),
    (r'Write of = "tank mix" \((.*)\) or of = "dose" \((.*)\)', r"Choose the old tank mix (\1), or its dose (\2)"),
    (r"Write season = .*, or a table \[machine\] here", "Choose a machine of the branch"),
    (r'Write season = "season\.toml", or leave it out', "Choose a season, or leave the pass empty"),
    (
        r'Write season = "season\.toml", or type crop, rate and contents here',
        "Choose a season, or fill in crop, rate and products",
    ),
    (r"Write caught = true at the pressure .*", "Tick it only at the pressure the tips were caught at"),
    (r'Write number = "720" .*', "Fill in number and form of the meter, or its number under the monitor as found"),
    (r'Write instrument = "2 %", from .*', "Fill in how far the instrument may be off from one holding to the next"),
    (r'Catch at full duty first, then at duty = "(.*)"', r"Catch at full duty first, then at a lower one such as \1"),
    (r'Write form = "(.*)" beside it', r"Fill in both, such as 315 and \1"),
    (r'Write both, such as \w+ = "(.*)" with its form = "(.*)"', r"Fill in both, such as \1 and \2"),
    (r'Write grooves = \[(.*)\] or height = "(.*)"', r"Fill in grooves, such as \1, or a height, such as \2"),
    (r'Write unit = "(.*)" and reading = "(.*)" (.*)', r"Fill in the unit, such as \1, and such as \2 \3"),
    (r'Write flow = \["(.*)"\] alone, (.*)', r"Type \1 alone, \2"),
    (r'Write \S+ = "(.*)", or "(.*)"', r"Type it, such as \1, or \2"),
    (r"Add a table \[monitor\.profile\..*", "Fill in the form of this number under how the monitor keeps its numbers"),
    (
        r"Add \[monitor\.profile\.density\] .*",
        "Fill in the form of the density under how the monitor keeps its numbers",
    ),
    (r'Write unit = "fl oz", .*', "Type a unit such as fl oz, g or gal/min"),
    (
        r'Write unit = "fl oz" once and readings = .*',
        "Type the unit once, such as fl oz, and readings with commas between them",
    ),
    (r'Write unit = "fl oz" once, or the reading as .*', "Type the unit of the readings, such as fl oz"),
    (
        r"Read the label of what was in the tank, and write a table .*",
        "Read the label of what was in the tank, and fill in what the next crop may get",
    ),
    (r"Type rinse_tank in \[plumbing\]: (.*)", r"Fill in what the rinse tank holds: \1"),
    (r'Add speed = "(.*)", or boom_flow', r"Fill in the speed, such as \1, or the boom flow"),
    (
        r'Write filled = "(.*)" off the fill meter, or weight = "(.*)" off the scale ticket',
        r"Fill in what the fill meter shows, such as \1, or what the scale ticket says, such as \2",
    ),
    (
        r'Write density = "(.*)": weigh a gallon of it, or read it off its paper',
        r"Fill in the density, such as \1: weigh a gallon of it, or read it off its paper",
    ),
    (r'Write aboard = "(.*)", or leave carried out', r"Fill in what was aboard, such as \1, or leave it empty"),
    (r"Write times = \{.*\} for positions that were caught", "Name only positions that were caught"),
    (r"Write one \[\[section\]\] for each, left to right", "Add one row for each, left to right"),
    (r'Write tank = "(.*)", tank_time = "(.*)"', r"Fill in both, such as \1 and \2"),
    (r'Write rate = "(.*)"', r"Fill in the rate, such as \1"),
    (
        r'Leave it out, or write loop = "pulse width" with its settings',
        "Leave it empty, or give the machine its pulse-width settings",
    ),
    (r"Write tips_on beside sections_on at (.*)", r"Fill in the tips that were on at \1"),
    (r"(?:Catch both places and w|W)rite \{ (.*) \}", r"Catch both places, and type one line for each: \1"),
    (r"Add a table \[tips\] with .*", "Name the set that is fitted"),
    (r'(.*), or add density = "…" (.*)', r"\1, or fill in its density \2"),
    (r"Correct machine\.check_valve, or the tip", "Correct the pressure at which the check valves open, or the tip"),
    (r"Correct the days, or take after away", "Correct the days, or empty what has to be done before"),
    (r"(.*); `wetrun tips list` shows every tip", r"\1; the tip catalogue shows every tip"),
    (r"(.*)Name a pass of this file", r"\1Name a pass of this season"),
    (r"Check the name; it is looked for beside .*", "Check the name"),
    (r"(.*), or leave band out for broadcast", r"\1, or empty both for broadcast"),
    (r"Leave of out", "Leave what it is a share of empty"),
)
_LIMITS: Final[tuple[tuple[str, str], ...]] = (
    (r"it is ([^;]*) where ([^;]*) \([^;]*\) belongs", r"this is \1; \2 belongs here"),
    (r", in quotes, ", " "),
    (r" in quotes\b", ""),
    (r"\bpass\[(\d+)\]", r"pass \1"),
    (r"\bbut loop is\b", "but it keeps its rate by"),
    (r"the gauges of machine\.loss", "the two gauges"),
    (r"machine\.loss has a body too", "the loss between cab and tips has a body too"),
    (r"this Wetrun reads format_version (\d+)", r"this shop reads version \1 of the format"),
)
_LEFT_OUT: Final = re.compile(r"\bleave (?:(“[^”]*”)|(\w+)) out\b")
_KEY: Final = re.compile(r"\b[a-z]+(?:_[a-z]+)+(?:\.[a-z_]+)?\b|\b[a-z]+\.[a-z]+_[a-z]+\b")
_QUOTED: Final = re.compile(r'"([^"]*)"')


def page_words(limit: str, remedy: str, label_of: LabelOf = str) -> str:
    """Return a refusal as a page says it.

    Parameters
    ----------
    limit, remedy : str
        As a document's entry refuses a value.
    label_of : callable
        Gives the label of a key.

    Returns
    -------
    str
        One or two sentences.

    Example
    -------
    >>> page_words("it has no unit", 'Write it in quotes with its unit, for example "15 gal/ac"')
    'It has no unit. Type it with its unit, for example 15 gal/ac.'
    """
    said = _by_limit(limit.strip(), remedy.strip().removesuffix("."), label_of)
    if said is not None:
        return said
    for pattern, words in _LIMITS:
        limit = re.sub(pattern, words, limit)
    return f"{_begun(_swept(limit, label_of))}. {ended(_begun(_on_page(remedy.strip(), label_of)))}"


def _by_limit(limit: str, remedy: str, label_of: LabelOf) -> str | None:
    for pattern, words in _BY_LIMIT.items():
        if match := re.fullmatch(pattern, limit, re.IGNORECASE | re.DOTALL):
            if limit == "this is missing":
                return f"{words}. {ended(_on_page(remedy, label_of))}"
            return str(words) % match[1] if match.groups() else str(words)
    return None


def _on_page(remedy: str, label_of: LabelOf) -> str:
    plain = remedy.removesuffix(".")
    for pattern, words in _REMEDIES:
        if match := re.fullmatch(pattern, plain, re.DOTALL):
            plain = match.expand(words)
            break
    return _swept(plain, label_of) + ("" if plain.endswith(("?", "!")) else ".")


def _swept(text: str, label_of: LabelOf) -> str:
    """No quotes or keys; a field is left empty where a key would be left out."""
    text = _KEY.sub(lambda match: _named(match[0], label_of), _QUOTED.sub(r"\1", text))
    text = re.sub(r"\bleave it out\b", _("leave it empty"), text)
    text = _LEFT_OUT.sub(lambda match: _("leave %s empty") % (match[1] or _named(match[2], label_of)), text)
    return re.sub(r"^Write\b", "Type", text)


def _named(key: str, label_of: LabelOf) -> str:
    return f"“{', '.join(label_of(part) for part in key.split('.'))}”"


def _begun(text: str) -> str:
    return text[:1].upper() + text[1:]
