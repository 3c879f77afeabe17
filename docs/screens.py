"""Take the pictures of the screens that README and pages show, from a real JupyterLab.

    .venv/bin/python docs/screens.py                 all
    .venv/bin/python docs/screens.py screen-grid     one

It needs Chromium. The lab runs on a copy of the demo, in a folder that is deleted afterwards.
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "docs" / "pictures"
MOST_BYTES = 150_000
LONG = 180_000  # ms
# Name of the picture -> what the notebook's cell says, what is waited for, and the window's size.
SCREENS = {
    "screen-panel": (
        "from fitkit.widgets import part_panel\npart_panel('bench/measurements/sound_board.toml')",
        ".fitkit.part .findings li",
        (1280, 900),
    ),
    "screen-grid": (
        "from fitkit.widgets import readings_grid\n"
        "readings_grid('bench/measurements/readings/glass_ball.csv')",
        ".fitkit .grid",
        (1280, 620),
    ),
}


def main(words: list[str]) -> int:
    """Open each screen, wait until it is whole, and keep its picture."""
    sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "browser")]
    import lab as labs
    from PIL import Image

    from fitkit.demo import copy_demo

    with (
        tempfile.TemporaryDirectory(prefix="fitkit-screens-") as place,
        labs.chromium(*labs.SOFTWARE_GL) as browser,
    ):
        lab = labs.Lab(Path(place))
        try:
            copy_demo(lab.folder / "bench")
            for name, (cell, ready, (width, height)) in SCREENS.items():
                if words and name not in words:
                    continue
                address = lab.notebook(f"{name}.ipynb", cell)
                page = labs.open_page(browser, address, width=width, height=height)
                labs.run_all(page)
                page.locator(ready).first.wait_for(timeout=LONG, state="attached")
                page.wait_for_timeout(5000)  # the last frame, and findings that come by and by
                shot = page.locator(".jp-Notebook").first.screenshot()
                picture = Image.open(io.BytesIO(shot)).convert("RGB")
                path = PICTURES / f"{name}.png"
                picture.quantize(128).save(path, optimize=True)
                print(path.name, picture.size, path.stat().st_size)
                if path.stat().st_size > MOST_BYTES:
                    print(f"{path.name} is larger than {MOST_BYTES} bytes")
                    return 1
                page.close()
        finally:
            lab.close()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
