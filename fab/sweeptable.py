"""The table of a sweep as CSV, JSON or Parquet, and its plot."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from typing import Any

from fab.errors import InputError
from fab.files.pagesvg import page_svg
from fab.files.table import csv_bytes, json_bytes
from fab.outlines.contour import circle
from fab.outlines.inks import BLUE, GREEN, ORANGE, PURPLE, SKY, VERMILION, WHITE
from fab.outlines.page import Fill, Item, Page, Text, line, polyline
from fab.sweep import columns
from fab.units import some

COLOURS = (BLUE, VERMILION, GREEN, PURPLE, ORANGE, SKY)  # Okabe-Ito


def table_bytes(rows: Sequence[Mapping[str, Any]], suffix: str) -> bytes:
    """All rows; columns that a row does not have stay empty."""
    names = columns(rows)
    if suffix == ".json":
        return json_bytes(list(rows))
    if suffix == ".parquet":
        try:
            import pyarrow as pa
            import pyarrow.parquet as pq
        except ImportError as error:
            raise InputError(
                "a Parquet table needs the extra `pip install panejig[table]`"
            ) from error
        stream = io.BytesIO()
        pq.write_table(pa.table({name: [row.get(name) for row in rows] for name in names}), stream)
        return stream.getvalue()
    if suffix != ".csv":
        raise InputError(f"the name of a table must end in .csv, .json or .parquet, not {suffix!r}")
    return csv_bytes(names, [tuple(row.get(name) for name in names) for row in rows])


def plot_svg(rows: Sequence[Mapping[str, Any]], axes: Sequence[str], show: str) -> bytes:
    """`show` over the first axis, a line a setting of the others; failed variants are hollow."""
    first, others = axes[0], axes[1:]
    try:
        points = [
            (
                float(row[first]),
                float(row[show]),
                tuple(str(row[name]) for name in others),
                row["exit"] == 0,
            )
            for row in rows
            if row.get(show) is not None
        ]
    except ValueError as error:
        raise InputError(f"{first} and {show} must be numbers to be plotted: {error}") from error
    if not points:
        known = ", ".join(
            name
            for name in columns(rows)
            if any(isinstance(row.get(name), int | float) for row in rows)
        )
        raise InputError(f"no variant has the figure {show!r}; known figures: {known}")
    width, height, left, low, right, top = 180.0, 110.0, 24.0, 18.0, 44.0, 8.0
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    x0, x1, y0, y1 = min(xs), max(xs), min(0.0, *ys), max(ys)
    wide, high = (x1 - x0) or 1.0, (y1 - y0) or 1.0

    def at(x: float, y: float) -> tuple[float, float]:
        return (
            left + (x - x0) / wide * (width - left - right),
            low + (y - y0) / high * (height - low - top),
        )

    items: list[Item] = [line(at(x0, y0), at(x1, y0), 0.3), line(at(x0, y0), at(x0, y1), 0.3)]
    for k in range(5):
        x, y = x0 + wide * k / 4, y0 + high * k / 4
        items += [
            Text(at(x, y0)[0], low - 5, f"{x:.4g}", 3.2, "middle"),
            Text(left - 2, at(x0, y)[1] - 1, f"{y:.3g}", 3.2, "end"),
        ]
    items += [
        Text((left + width - right) / 2, 4, first, 3.6, "middle"),
        Text(5, height / 2, show, 3.6, "middle", 90.0),
    ]
    for number, group in enumerate(sorted({p[2] for p in points})):
        colour = COLOURS[number % len(COLOURS)]
        own = sorted((p[0], p[1], p[3]) for p in points if p[2] == group)
        if len({(x, y) for x, y, _ in own}) > 1:
            items.append(
                polyline(
                    [at(x, y) for x, y, _ in own],
                    0.4,
                    colour,
                    () if number < len(COLOURS) else (1.5, 1.0),
                )
            )
        for x, y, good in own:
            items.append(Fill((circle(at(x, y), 1.0),), colour))
            if not good:
                items.append(Fill((circle(at(x, y), 0.6),), WHITE))
        if others:
            items.append(
                Text(
                    width - right + 3,
                    height - top - 5 * (number + 1),
                    ", ".join(group),
                    3.2,
                    colour=colour,
                )
            )
    items.append(Text(width - right + 3, low, "hollow: a check fails", 2.8))
    return page_svg(
        Page(
            width,
            height,
            tuple(items),
            f"{show} over {first}",
            f"{some(len(points), 'variant')} of a sweep.",
        )
    )
