"""A log of millions of rows made in memory: wandering speed, steady stretches, mostly the full width."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

SECTION_EDGES_M = np.array([6.1, 12.2, 18.3, 24.4, 27.43, 30.48])
ROWS_PER_STRETCH = 50
FULL_WIDTH_SHARE = 0.9
RATE_M3PM2 = 1.4e-5
INTERVAL_S = 0.2


@dataclass(frozen=True, slots=True)
class MadeLog:
    """Columns of the made log; ``level`` indexes ``levels_m``."""

    speed_mps: np.ndarray
    flow_m2ps: np.ndarray
    width_m: np.ndarray
    area_m2: np.ndarray
    area_cm2: np.ndarray
    level: np.ndarray
    levels_m: np.ndarray
    rate_m3pm2: float


def made_log(rows: int, seed: int = 1) -> MadeLog:
    """Return a log with speeds around 5 m/s (one in a hundred new at each row) and flow within 2 % of target."""
    rng = np.random.default_rng(seed)
    base = np.interp(np.arange(rows), np.arange(0, rows + 100, 100), rng.normal(5, 1.1, rows // 100 + 1))
    speed = np.clip(base + rng.normal(0, 0.05, rows), 0.3, 11)
    stretches = rows // ROWS_PER_STRETCH + 1
    partial = rng.integers(0, SECTION_EDGES_M.size - 1, stretches)
    short = np.where(rng.random(stretches) < FULL_WIDTH_SHARE, SECTION_EDGES_M.size - 1, partial)
    level = np.repeat(short, ROWS_PER_STRETCH)[:rows]
    width = SECTION_EDGES_M[level]
    area = speed * INTERVAL_S * width
    flow = speed * RATE_M3PM2 * (1 + rng.normal(0, 0.02, rows))
    return MadeLog(speed, flow, width, area, np.rint(area * 1e4).astype(np.int64), level, SECTION_EDGES_M, RATE_M3PM2)
