"""The book's page opened in a real browser: what several tests of it share."""

from __future__ import annotations

from typing import Any

WIDTHS = {"desktop": (1280, 900), "phone": (390, 844)}
# share of pixels that are not of the dark or the light ground, and a sum of all
COUNT = """c => { const g = c.getContext('webgl2'), p = new Uint8Array(c.width * c.height * 4);
    g.readPixels(0, 0, c.width, c.height, g.RGBA, g.UNSIGNED_BYTE, p);
    const ground = [p[0], p[1], p[2]];
    let n = 0, h = 0; for (let i = 0; i < p.length; i += 4) {
        if (Math.abs(p[i] - ground[0]) + Math.abs(p[i + 1] - ground[1]) > 6) n++;
        h = (h * 31 + p[i] + p[i + 2]) | 0; }
    return [n / (p.length / 4), h]; }"""


def listened(page: Any) -> Any:
    """A page that keeps everything that goes wrong in it."""
    page.faults = []
    page.on(
        "console",
        lambda message: (
            page.faults.append(message.text) if message.type in ("error", "warning") else None
        ),
    )
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on(
        "request",
        lambda asked: (
            page.faults.append(asked.url) if not asked.url.startswith(("file:", "data:")) else None
        ),
    )
    return page


def painted(page: Any) -> None:
    """Wait for two frames: what was asked for is drawn then, however busy the machine."""
    page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")


def middle(element: Any) -> tuple[float, float]:
    """The middle of what is seen of an element, in the window."""
    box = element.bounding_box()
    return (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)


def touch(session: Any, kind: str, *points: tuple[float, float]) -> None:
    """Fingers down, moved or up."""
    fingers = [{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(points)]
    session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": fingers})


def pinch(page: Any, element: Any) -> None:
    """Two fingers in the middle of an element, moved apart to three times their distance."""
    session = page.context.new_cdp_session(page)
    x, y = middle(element)
    touch(session, "touchStart", (x - 30, y), (x + 30, y))
    touch(session, "touchMove", (x - 60, y), (x + 60, y))
    touch(session, "touchMove", (x - 90, y), (x + 90, y))
    touch(session, "touchEnd")
    painted(page)
