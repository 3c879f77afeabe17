"""From a changed parameter to pixels in a real JupyterLab, and what of that is building.

Needs a Chromium on the machine; without one there are no rows. The picture is drawn by software
GL, so that a graphics card can only make it faster.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

__all__ = ["rows"]

ROOT = Path(__file__).parents[1]
RUNS = 12


def rows() -> list[dict[str, Any]]:
    """Compare typing a wall thickness, until it is drawn, with building that part in a script."""
    sys.path[:0] = [str(ROOT / "tests" / "browser"), str(ROOT / "tests" / "widgets")]
    import lab as labs

    if labs.CHROMIUM is None:
        return []
    drawn = _in_the_page(labs)
    built = _in_a_script()
    whole, alone = median(drawn), median(built)
    return [
        {
            "name": "Enter key to pixels, against the same build and meshing in a script",
            "ratio": whole / alone,
            "note": f"{whole * 1e3:.0f} ms (worst of {RUNS}: {max(drawn) * 1e3:.0f} ms) "
            f"against {alone * 1e3:.0f} ms; software GL",
        }
    ]


def _in_the_page(labs: Any) -> list[float]:
    """Seconds from the Enter key to the frame that shows the new shape, by the page's own clock."""
    cell = (
        "from fitkit.parts import template\nfrom fitkit.widgets import part_panel\n"
        "part_panel(template('board case'))"
    )
    with tempfile.TemporaryDirectory() as folder:
        lab = labs.Lab(Path(folder))
        try:
            with labs.chromium(*labs.SOFTWARE_GL) as browser:
                page = labs.open_page(browser, lab.notebook("bench.ipynb", cell))
                labs.run_all(page)
                page.locator(".picture[data-gaps]").wait_for(timeout=120_000)
                return [_one(page, f"{2 + n / 20:.2f} mm") for n in range(RUNS)]
        finally:
            lab.stop_kernels()
            lab.close()


def _one(page: Any, text: str) -> float:
    field = page.locator("input[data-path='wall'][type=text]")
    field.fill(text)
    field.focus()
    ms = page.evaluate(
        """() => new Promise((done) => {
            const picture = document.querySelector('.picture');
            const from = performance.now();
            new MutationObserver((_, watch) => {
                watch.disconnect();
                // The mark is set in the frame that draws; the one after it is on the screen.
                requestAnimationFrame(() => done(performance.now() - from));
            }).observe(picture, { attributes: true, attributeFilter: ['data-ticket'] });
            document.activeElement.dispatchEvent(
                new KeyboardEvent('keydown', { key: 'Enter', bubbles: true }));
        })"""
    )
    page.wait_for_timeout(400)
    return float(ms) / 1e3


def _in_a_script() -> list[float]:
    from fitkit.parts import template
    from fitkit.widgets.scene import scene_of

    kind = template("board case")
    times = []
    for n in range(RUNS + 1):
        start = perf_counter()
        scene_of(kind.of(wall=f"{2 + n / 20:.2f} mm").build())
        times.append(perf_counter() - start)
    return times[1:]  # the first loads the kernel
