"""Take the pictures of a part's sheet and of its label, from files that fitkit writes.

    .venv/bin/python docs/sheets.py

It needs Chromium. The part is one of the demo's, made in a folder that is deleted afterwards.
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "docs" / "pictures"
# Name of the picture -> the window's size; the sheet's is the top of its first page.
SIZES = {"page-sheet": (820, 1160), "page-label": (420, 200)}


def main() -> int:
    """Make the part, open its sheet and its label, and keep what is seen."""
    sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "browser")]
    import lab as labs
    from PIL import Image

    from fitkit.demo import copy_demo
    from fitkit.journal import Journal, tag_svg
    from fitkit.make import make

    with (
        tempfile.TemporaryDirectory(prefix="fitkit-sheets-") as place,
        labs.chromium(*labs.SOFTWARE_GL) as browser,
    ):
        bench = Path(place) / "bench"
        copy_demo(bench)
        made = make(bench / "measurements" / "terminal_tray.toml", into=bench / "tray")
        label = bench / "label.html"
        record = Journal(made.record.parent).print_of(made.code)
        label.write_text(f"<!doctype html>{tag_svg(record)}", encoding="utf-8")
        shown = {"page-sheet": next(made.folder.glob("*.html")), "page-label": label}
        for name, (width, height) in SIZES.items():
            page = browser.new_page(viewport={"width": width, "height": height})
            page.goto(shown[name].as_uri())
            picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
            path = PICTURES / f"{name}.png"
            picture.quantize(64).save(path, optimize=True)
            print(path.name, picture.size, path.stat().st_size)
            page.close()
    return 0


if __name__ == "__main__":
    sys.exit(main())
