"""Wetrun: the sprayer specialist's bench, from a customer's season plan to tips held against a real field log.

The rooms, from the doors down: `cli`, `papers`, `documents`, `quantity`, `planning`, `fieldlog`, `machine`, `spray`,
and at the bottom `errors`, `sources` and `units`. Arrows point down only; docs/adr/0001 says why.
"""

from __future__ import annotations

from typing import Final

__version__: Final = "0.1.0"
