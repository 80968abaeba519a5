"""The pages of files: every key of every file with what it takes, read off the schemas, and the example in full."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from tools.docs_site.markdown import block, code, table

from wetrun.documents.catalogue_file import catalogue_template
from wetrun.documents.changeover_example import example_changeover
from wetrun.documents.changeover_schema import changeover_schema
from wetrun.documents.fills_example import example_fills
from wetrun.documents.fills_schema import fills_schema
from wetrun.documents.groove_file import groove_template
from wetrun.documents.map_example import example_map
from wetrun.documents.season_example import example_season
from wetrun.documents.season_schema import season_schema
from wetrun.documents.wetrun_example import example_wetrun
from wetrun.documents.wetrun_schema import wetrun_schema

Schema = Mapping[str, Any]
_TOP = """# Files

Text files that a person can read and a version control can compare. Each says its `format_version`; a newer one is
refused before anything is guessed. `wetrun new` writes the examples. A key nobody knows is refused, with the nearest
one that exists.

```{toctree}
:maxdepth: 1

"""
_WITH_SCHEMA: Final = {
    "season.toml": ("A customer's season on one machine", season_schema, example_season),
    "wetrun.toml": ("Raw readings of a wet run", wetrun_schema, example_wetrun),
    "changeover.toml": ("A change between two passes", changeover_schema, example_changeover),
    "fills.toml": ("Loads in season", fills_schema, example_fills),
}
_WITHOUT: Final = {
    "map.toml": ("Which column of a log means what", "toml", example_map),
    "tips.csv": ("A maker's own rows", "text", catalogue_template),
    "grooves.csv": ("What a tray of grooves caught", "text", groove_template),
}


def files_pages() -> dict[str, str]:
    """Return the pages by their path inside the reference: the list of files and one for each."""
    names = [*_WITH_SCHEMA, *_WITHOUT]
    pages = {"files.md": _TOP + "".join(f"files/{_stem(name)}\n" for name in names) + "```\n"}
    for name, (about, schema, example) in _WITH_SCHEMA.items():
        keys = _keys(schema())
        pages[f"files/{_stem(name)}.md"] = f"# {name}\n\n{about}.\n\n{keys}## Example\n\n{block(example(), 'toml')}"
    for name, (about, language, example) in _WITHOUT.items():
        pages[f"files/{_stem(name)}.md"] = f"# {name}\n\n{about}.\n\n## Example\n\n{block(example(), language)}"
    return pages


def _stem(name: str) -> str:
    return name.partition(".")[0]


def _keys(schema: Schema) -> str:
    """The tables of a file in the order a reader meets them, each once."""
    told: dict[str, str] = {"": f"## At the top\n\n{_table(schema)}"}
    waiting = [("", schema)]
    while waiting:
        place, one = waiting.pop(0)
        for key, value in one.get("properties", {}).items():
            for name in _named(value):
                if name not in told:
                    inside = schema["$defs"][name]
                    path = f"{place}.{key}".strip(".")
                    told[name] = f"## {code(f'[{path}]')}\n\n{inside.get('description', '')}\n\n{_table(inside)}"
                    waiting.append((path, inside))
    return "".join(told.values())


def _named(value: Schema) -> list[str]:
    """Names of the tables that a key holds, in lists and choices too."""
    if "$ref" in value:
        return [value["$ref"].rpartition("/")[2]]
    inside = [value.get("items"), value.get("additionalProperties"), *value.get("anyOf", ())]
    return [name for one in inside if one and isinstance(one, Mapping) for name in _named(one)]


def _table(schema: Schema) -> str:
    needed = schema.get("required", ())
    rows = [
        [code(key), _takes(value), "yes" if key in needed else "no", ", ".join(map(_shown, value.get("examples", ())))]
        for key, value in schema.get("properties", {}).items()
    ]
    return table(["key", "takes", "needed", "for example"], rows)


def _takes(value: Schema) -> str:
    if "$ref" in value and "description" not in value:
        return "a table, see below"
    if choices := value.get("enum", [value["const"]] if "const" in value else ()):
        return " or ".join(map(_shown, choices))
    if "anyOf" in value:
        return " or ".join(dict.fromkeys(map(_takes, value["anyOf"])))
    if value.get("type") == "array":
        return f"a list: {_takes(value.get('items', {}))}"
    return str(value.get("description") or _plain(value))


_WORDS: Final = {
    "string": "text",
    "integer": "a whole number",
    "number": "a number",
    "boolean": "`true` or `false`",
    "object": "a table",
    "null": "nothing",
}


def _plain(value: Schema) -> str:
    words = _WORDS.get(str(value.get("type")), "anything")
    low, high = value.get("minimum"), value.get("maximum")
    if low is not None and high is not None:
        return f"{words} from {low} to {high}"
    return words if value.get("format") is None else f"a {value['format']}"


def _shown(value: object) -> str:
    return code(value if isinstance(value, str) else str(value))
