"""LEDs for a new design of a size of the maker's own: where those of the shipped design leave the
rim dark.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from fab.units import fixed


def leds_for(files: Mapping[str, bytes], name: str, into: Path) -> dict[str, str]:
    """Return the keys of the panel that its light needs to keep its limits, with their values as in
    a job file.

    `files` are those of the new job `name`; a file that is in `into` already takes the place of its
    copy. Empty when the light is right as it is, and when nothing was found that helps: the check
    tells then what is dark.
    """
    from fab.decisions import plans_of
    from fab.light.figures import settled
    from fab.light.scene import scene
    from fab.light.solve import Wanted, nearer_leds
    from fab.params.read import load

    with tempfile.TemporaryDirectory() as folder:
        for path, data in files.items():
            place, there = Path(folder) / path, into / path
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(there.read_bytes() if there.is_file() else data)
        job = load(Path(folder) / f"{name}.toml").job
    plan, white, wanted = plans_of(job)["panel"], job.shop.filament.reflectance, Wanted(job.light)
    if wanted.kept(settled(scene(plan, white))[0]):
        return {}
    found = nearer_leds(plan, white, wanted)
    if found is None:
        return {}
    before, now = plan.params, found.plan.params
    told = {
        "depth": (before.depth, now.depth),
        "led.margin": (before.led.margin, now.led.margin),
        "led.pitch": (before.led.pitch, now.led.pitch),
    }
    lines = {key: fixed(new, 2) for key, (old, new) in told.items() if new != old}
    if now.led.pattern != before.led.pattern:
        lines["led.pattern"] = f'"{now.led.pattern}"'
    return lines
