"""Booms drawn from a seed: what is wrong with them is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from wetrun.proving.uncertainty import Budget, Component
from wetrun.spray.bounds import FloatArray
from wetrun.spray.orifice import size_number

SEED = 20_260_111
TIPS = 96
SECTIONS = np.repeat(np.arange(8), 12)
SIZE = "04"
OTHER_SIZES = ("03", "035", "05", "06")
SHARED = Budget((Component("gauge and measure", 0.01, cause="all catches"),))
SHARED_FRAC = 0.01

Key = Literal["clean", "single", "single-on-top", "three", "size", "step", "fall", "set"]


@dataclass(frozen=True)
class Pattern:
    """Something that may be wrong with a boom."""

    key: Key
    words: str


PATTERNS = (
    Pattern("clean", "nothing wrong"),
    Pattern("single", "one tip 10 % off its boom, up or down"),
    Pattern("single-on-top", "one tip 10 % off where its own spread had put it"),
    Pattern("three", "three tips 10 % off, each up or down"),
    Pattern("size", "one tip of another size (03, 035, 05 or 06 among 04)"),
    Pattern("step", "one section of 12 tips 8 % low"),
    Pattern("fall", "smooth fall to 6 % at both ends"),
    Pattern("set", "whole set 8 % over new"),
)


@dataclass(frozen=True)
class DrawnBooms:
    """Booms as read, and the truth about them.

    ``values`` are logarithms of flow over new as read, shape (booms, tips); ``faulty`` marks bad tips, ``stepped`` bad
    sections, ``fall`` and ``level`` are logarithms of what the whole boom has.
    """

    values: FloatArray
    faulty: npt.NDArray[np.bool_]
    stepped: npt.NDArray[np.bool_]
    fall: float = 0.0
    level: float = 0.0


def drawn_booms(pattern: Pattern, spread: float, reading: float, booms: int) -> DrawnBooms:
    """Draw booms of one pattern; the same seed gives the same booms."""
    numbers = (SEED, PATTERNS.index(pattern), round(1e5 * spread), round(1e5 * reading))
    random = np.random.default_rng(numbers)
    tips = np.log1p(np.maximum(random.normal(0.0, spread, (booms, TIPS)), -0.5))
    faulty = np.zeros((booms, TIPS), dtype=np.bool_)
    stepped = np.zeros((booms, int(SECTIONS.max()) + 1), dtype=np.bool_)
    fall = level = 0.0
    if pattern.key in {"single", "single-on-top", "three", "size"}:
        faulty = _marked(random, booms, 3 if pattern.key == "three" else 1)
        tips = _with_faults(random, pattern, tips, faulty)
    elif pattern.key == "step":
        stepped[np.arange(booms), random.integers(0, stepped.shape[1], booms)] = True
        tips += np.where(stepped[:, SECTIONS], np.log(0.92), 0.0)
    elif pattern.key == "fall":
        fall = float(np.log(0.94))
        tips += fall * np.linspace(-1.0, 1.0, TIPS) ** 2
    elif pattern.key == "set":
        level = float(np.log(1.08))
    read = np.log1p(random.normal(0.0, reading, (booms, TIPS))) + random.normal(0.0, SHARED_FRAC, (booms, 1))
    return DrawnBooms(tips + level + read, faulty, stepped, fall, level)


def _marked(random: np.random.Generator, booms: int, count: int) -> npt.NDArray[np.bool_]:
    places = np.argsort(random.random((booms, TIPS)), axis=1)[:, :count]
    marked = np.zeros((booms, TIPS), dtype=np.bool_)
    np.put_along_axis(marked, places, values=True, axis=1)
    return marked


def _with_faults(
    random: np.random.Generator, pattern: Pattern, tips: FloatArray, faulty: npt.NDArray[np.bool_]
) -> FloatArray:
    if pattern.key == "size":
        others = np.log([size_number(size) / size_number(SIZE) for size in OTHER_SIZES])
        return tips + np.where(faulty, others[random.integers(0, len(OTHER_SIZES), tips.shape)], 0.0)
    off = np.log(np.where(random.random(tips.shape) < 0.5, 1.10, 0.90))
    # A tip “10 % off” gives 10 % more or less than its boom, whatever it gave before; on top, it keeps its own spread.
    own = tips if pattern.key == "single-on-top" else 0.0
    return np.where(faulty, own + off, tips)
