"""The middle and the area of patches: polygons of one or several rings, many of the same shape at once."""

from __future__ import annotations

import numpy as np

from wetrun.fieldlog.trace import FloatArray, IntArray


def middles_and_areas(vertices: FloatArray, ring_begins: IntArray | None) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the middle and the area of shapes with the same number of points.

    Parameters
    ----------
    vertices
        Points of each shape [shapes, points, 2].
    ring_begins
        Place of the first point of each ring [shapes, rings]; None for loose points, which have no area.

    Returns
    -------
    tuple of arrays
        East, north and area of each [shapes], in the unit of the points; holes are taken off. A shape without area is
        told by the middle of its points, and one whose rings are out of order is nan.

    Example
    -------
    A square of 2 by 2, its first corner repeated at the end:

    >>> square = np.array([[[0.0, 0.0], [0.0, 2.0], [2.0, 2.0], [2.0, 0.0], [0.0, 0.0]]])
    >>> [one.tolist() for one in middles_and_areas(square, np.array([[0]]))]
    [[1.0], [1.0], [4.0]]
    """
    with np.errstate(invalid="ignore", over="ignore", divide="ignore"):
        if ring_begins is None:
            middle = vertices.mean(axis=1)
            return middle[:, 0], middle[:, 1], np.full(len(vertices), np.nan)
        first = vertices[:, :1]
        near = vertices - first  # close to zero, so that products of coordinates of a wide grid keep their digits
        east, north, nexts = near[..., 0], near[..., 1], _nexts(ring_begins, vertices.shape[1])
        next_east, next_north = np.take_along_axis(east, nexts, axis=1), np.take_along_axis(north, nexts, axis=1)
        cross = east * next_north - next_east * north
        twice = cross.sum(axis=1)
        by_area = np.stack(
            [((east + next_east) * cross).sum(axis=1), ((north + next_north) * cross).sum(axis=1)], axis=1
        )
        plain = near[:, :-1].mean(axis=1) if vertices.shape[1] > 1 else near.mean(axis=1)
        middle = np.where((twice != 0)[:, None], by_area / (3 * twice[:, None]), plain) + first[:, 0]
    middle[_out_of_order(ring_begins, vertices.shape[1])] = np.nan
    return middle[:, 0], middle[:, 1], np.where(np.isfinite(middle[:, 0]), np.abs(twice) / 2, np.nan)


def _out_of_order(ring_begins: IntArray, points: int) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    wrong: np.ndarray[tuple[int], np.dtype[np.bool_]] = (
        (ring_begins[:, 0] != 0) | (np.diff(ring_begins, axis=1) <= 0).any(axis=1) | (ring_begins[:, -1] >= points)
    )
    return wrong


def _nexts(ring_begins: IntArray, points: int) -> IntArray:
    """Return the point that follows each one in its ring [shapes, points]; the last one is followed by the first."""
    nexts = np.tile(np.arange(1, points + 1), (len(ring_begins), 1))
    begins = np.clip(ring_begins.astype(np.int64), 0, points - 1)
    ends = np.concatenate([begins[:, 1:], np.full((len(begins), 1), points)], axis=1) - 1
    np.put_along_axis(nexts, np.clip(ends, 0, points - 1), begins, axis=1)
    return np.minimum(nexts, points - 1)
