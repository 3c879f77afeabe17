"""The page that shows what can be made: every template, and the demo's parts, drawn by fitkit."""

from __future__ import annotations

import tomllib
from pathlib import Path

from generators.rst import anchor

ROOT = Path(__file__).resolve().parents[2]
PICTURES = ROOT / "docs" / "pictures"


def demo_sheets() -> dict[str, Path]:
    """Give the demo's part sheets by the titles of their parts."""
    paths = sorted((ROOT / "measurements").glob("*.toml"))
    read = {path: tomllib.loads(path.read_text(encoding="utf-8")) for path in paths}
    return {content["title"]: path for path, content in read.items() if path.stem != "workshop"}


def page() -> str:
    """Write the page as Markdown; its pictures were drawn by `draw` into ``docs/pictures``."""
    from fitkit.parts import known_carriers, templates

    lines = ["# Gallery: what can be made", "", "fitkit drew these pictures itself.", ""]
    lines += ["## Parts of the demo", ""]
    for title, path in demo_sheets().items():
        content = tomllib.loads(path.read_text(encoding="utf-8"))
        of = content.get("carrier") or content["template"]
        group = "carriers" if "carrier" in content else "templates"
        lines += [f"### {title}", "", f"![{title}](../pictures/{anchor(title)}.png)", ""]
        lines += [f"[{of}]({group}/{anchor(of)}.rst), from `measurements/{path.name}`.", ""]
    lines += ["## Templates, as a new part starts", ""]
    for group, kinds in (("templates", templates()), ("carriers", known_carriers())):
        for title, kind in kinds.items():
            file = f"template-{anchor(title)}.png"
            lines += [f"### [{title}]({group}/{anchor(title)}.rst)", ""]
            if (PICTURES / file).is_file():
                lines += [f"![{title}](../pictures/{file})", ""]
            lines += [kind.summary, ""]
    return "\n".join(lines)


def draw() -> None:
    """Build each template as a new part starts and each part of the demo, and draw them."""
    from fitkit.export import file_name
    from fitkit.flow import build, load_sheet, mesh_part, prepare
    from fitkit.make import draw_apart
    from fitkit.parts import known_carriers, known_holders, templates

    made = {
        f"template-{file_name(title)}": kind.of(**kind.measuring.starts_with)
        for title, kind in templates().items()
    }
    plate, case = known_carriers()["plate"], known_carriers()["case"]
    for title, kind in known_holders().items():
        carrier = case if kind.faces == ("lid",) else plate
        made[f"holder-{file_name(title)}"] = carrier.of(things=[{"name": "thing", "held": title}])
    for title, kind in known_carriers().items():
        if "shape" in kind.model_fields:
            owl = load_sheet(ROOT / "measurements" / "carved_owl.toml")
            made[f"template-{file_name(title)}"] = prepare(owl).template
            continue
        things = [
            {"name": "board", "held": "board on standoffs"},
            {"name": "cells", "held": "round cell in saddles", "count": 2},
        ]
        made[f"template-{file_name(title)}"] = kind.of(things=things)
    for name, one in made.items():
        # A few colours are enough for shaded faces, and keep the checkout small.
        shown = draw_apart(mesh_part(one.build())).convert("RGB").quantize(64)
        shown.save(PICTURES / f"{name}.png", optimize=True)
    for title, path in demo_sheets().items():
        whole = mesh_part(build(prepare(load_sheet(path))))
        draw_apart(whole).save(PICTURES / f"{file_name(title)}.png", optimize=True)
