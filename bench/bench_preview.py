"""From a changed parameter, or a dragged slider, to pixels in a real JupyterLab.

The part is a board case with 24 vents, 4 standoffs and 3 ports. A time ends when the graphics
pipeline has finished the frame that shows the new shape; the same frame drawn once more, of the
same mesh, is what drawing alone costs. Needs a Chromium on the machine; without one there are no
rows. The picture is drawn by software GL, so that a graphics card can only make it faster. The page
round it is put together by the browser's own software compositor: to emulate a card for that as
well takes both processors for about 0.1 s at each repaint, which a user of neither kind of machine
meets.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from time import perf_counter
from typing import Any

import numpy as np

__all__ = ["rows"]

ROOT = Path(__file__).parents[1]
RUNS = 30
VALUES = {
    "vent_area": "500 mm²",
    "ports": [
        {"wall": wall, "along": "20 mm", "width": "10 mm", "height": "5 mm"}
        for wall in ("front", "left", "right")
    ],
}
CELL = f"""
from fitkit.parts import template
from fitkit.widgets import part_panel
part_panel(template("board case").of(**{VALUES}))
"""


def rows(*, smoke: bool = False) -> list[dict[str, Any]]:
    """Compare typing a wall thickness, until it is drawn, with building that part in a script."""
    sys.path[:0] = [str(ROOT / "tests" / "browser"), str(ROOT / "tests" / "widgets")]
    import lab as labs

    if labs.CHROMIUM is None:
        return []
    runs = 1 if smoke else RUNS
    typed, dragged = _in_the_page(labs, runs)
    whole, drawing = (1e3 * np.array(times) for times in typed)
    frames, still = (1e3 * np.array(times) for times in dragged)
    script = 1e3 * np.median(_in_a_script(runs))
    net = whole - drawing
    return [
        {
            "name": "Enter key to pixels, against the same build and meshing in a script",
            "ratio": float(np.median(whole) / script),
            "note": f"{_spread(whole)}; {_spread(net)} without drawing the static mesh; "
            f"drawing {_spread(drawing)}; script {script:.0f} ms; software GL. "
            "Goal: median 150 ms, 95 % under 300 ms without drawing",
        },
        {
            "name": "dragged slider to pixels, against building and meshing in a script",
            "ratio": float(np.median(frames) / script),
            "note": f"{_spread(frames)}; {_spread(frames - np.median(still))} without drawing the "
            f"static mesh; drawing {_spread(still)}; software GL. "
            "Goal: 95 % under 50 ms without drawing",
        },
    ]


def _spread(ms: Any) -> str:
    return f"median {np.median(ms):.0f} ms, 95 % under {np.quantile(ms, 0.95):.0f} ms"


def _in_the_page(labs: Any, runs: int) -> tuple[Any, Any]:
    """Seconds to the new shape and for the same frame again: of typed values, then of a drag."""
    with tempfile.TemporaryDirectory() as folder:
        lab = labs.Lab(Path(folder))
        try:
            with labs.chromium(*labs.SOFTWARE_GL, "--disable-gpu-compositing") as browser:
                page = labs.open_page(browser, lab.notebook("bench.ipynb", CELL))
                labs.run_all(page)
                page.locator(".picture[data-gaps]").wait_for(timeout=120_000)
                pairs = [_one(page, f"{2 + n / 40:.3f} mm") for n in range(runs + 1)]
                typed = tuple(zip(*pairs[1:], strict=True))  # the first makes shaders ready
                return typed, _dragged(page, 4 * runs)
        finally:
            lab.stop_kernels()
            lab.close()


def _dragged(page: Any, frames: int) -> tuple[list[float], list[float]]:
    """Seconds of each frame of a drag to and fro, and of the same picture drawn again."""
    slider = page.locator(".field[data-field='wall'] input[type=range]")
    slider.hover()
    page.wait_for_timeout(6_000)  # shapes are made ahead from when the pointer comes near
    times = page.evaluate(
        f"""async (slider) => {{
            const picture = document.querySelector('.picture');
            const gl = picture.querySelector('canvas').getContext('webgl2');
            const [low, step] = [Number(slider.min), Number(slider.step)];
            const at = Math.round((Number(slider.value) - low) / step);
            const times = [];
            for (let n = 1; n <= {frames}; n++) {{
                await new Promise((done) => setTimeout(done, 8 + (n * 7) % 16));
                slider.value = low + step * (at + Math.round(6 * Math.sin(n / 5)));
                const from = performance.now();
                const drawn = new Promise((done) => new MutationObserver((_, watch) => {{
                    watch.disconnect();
                    gl.finish();
                    done(performance.now() - from);
                }}).observe(picture,
                    {{ attributes: true, attributeFilter: ['data-draft', 'data-ticket'] }}));
                slider.dispatchEvent(new Event('input', {{ bubbles: true }}));
                times.push(await drawn);
            }}
            slider.dispatchEvent(new Event('change', {{ bubbles: true }}));
            return times;
        }}""",
        slider.element_handle(),
    )
    page.wait_for_timeout(1_500)
    page.locator(".stage").focus()
    still = [_until(page, "data-frames", "0") for _ in range(20)]
    return [float(ms) / 1e3 for ms in times], still


def _one(page: Any, text: str) -> tuple[float, float]:
    field = page.locator("input[data-path='wall'][type=text]")
    field.fill(text)
    field.focus()
    whole = _until(page, "data-ticket", "Enter")
    page.wait_for_timeout(500)  # gaps and checks come after the shape
    page.locator(".stage").focus()
    drawing = _until(page, "data-frames", "0")
    return whole, drawing


def _until(page: Any, mark: str, key: str) -> float:
    """Seconds from a key to the end of drawing of the frame in which the picture gets a mark."""
    ms = page.evaluate(
        f"""() => new Promise((done) => {{
            const picture = document.querySelector('.picture');
            const gl = picture.querySelector('canvas').getContext('webgl2');
            const from = performance.now();
            new MutationObserver((_, watch) => {{
                watch.disconnect();
                gl.finish();
                done(performance.now() - from);
            }}).observe(picture, {{ attributes: true, attributeFilter: ['{mark}'] }});
            document.activeElement.dispatchEvent(
                new KeyboardEvent('keydown', {{ key: '{key}', bubbles: true }}));
        }})"""
    )
    return float(ms) / 1e3


def _in_a_script(runs: int) -> list[float]:
    from fitkit.export.scene import scene_of
    from fitkit.parts import template

    kind = template("board case")
    times = []
    for n in range(runs + 1):
        start = perf_counter()
        scene_of(kind.of(**VALUES | {"wall": f"{2 + n / 40:.3f} mm"}).build())
        times.append(perf_counter() - start)
    return times[1:]  # the first loads the kernel
