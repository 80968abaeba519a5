"""The one door between what people type and read, and the SI numbers inside.

Nothing here imports pint until a quantity is really read or shown, so that a command that needs none stays quick.
"""

from wetrun.quantity.kinds import Kind, System, kind_of_unit
from wetrun.quantity.reading import Typed, read
from wetrun.quantity.sentences import sentence
from wetrun.quantity.showing import from_display, show, to_display, to_display_array, unit_text

__all__ = [
    "Kind",
    "System",
    "Typed",
    "from_display",
    "kind_of_unit",
    "read",
    "sentence",
    "show",
    "to_display",
    "to_display_array",
    "unit_text",
]
