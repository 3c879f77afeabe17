"""How Sphinx builds the pages; `docs/build.py` calls it on a copy of this folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import fitkit

if TYPE_CHECKING:
    from docutils import nodes
    from sphinx.application import Sphinx

project = "fitkit"
author = "The fitkit authors"
copyright = "the fitkit authors, Apache-2.0"
release = version = fitkit.__version__
language = "en"

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
source_suffix = {".md": "markdown", ".rst": "restructuredtext"}
exclude_patterns = ["generators/**", "README.md"]
myst_heading_anchors = 3
suppress_warnings = ["myst.header"]  # tables of a study are pasted with their own headings
# An indented block is a command or a listing; what is Python says so.
highlight_language = "none"

# Names between single backticks become links where they are public names.
default_role = "name"
autodoc_member_order = "bysource"
autodoc_default_options = {"exclude-members": "model_config"}
autodoc_typehints = "signature"
napoleon_google_docstring = False
# Types in docstrings are words with shapes and units: they are shown and not looked up.
napoleon_use_param = False
napoleon_use_rtype = False
napoleon_custom_sections = [("Attributes", "params_style")]
add_module_names = False
python_maximum_signature_line_length = 90
toc_object_entries = False

html_theme = "furo"
html_title = f"fitkit {release}"
html_static_path: list[str] = []
html_copy_source = False
html_show_sourcelink = False
# Pages are read from files, where a browser lets no page fetch another: the search shows titles.
html_show_search_summary = False
html_permalinks = False
html_search_scorer = str(Path(__file__).with_name("scorer.js"))


def _link(app: Sphinx, env: Any, node: Any, contnode: nodes.Element) -> nodes.Element | None:
    """Lead a name to its page where just one public thing is called so; else leave it as a word."""
    if node.get("refdomain") != "py" and node.get("reftype") != "name":
        return None
    from sphinx.util.nodes import make_refnode

    target = node["reftarget"].removeprefix("~").removesuffix("()")
    known = env.get_domain("py").objects
    # Many things have a member called so, and a parameter may be called so, too.
    kinds = () if "." in target else ("function", "class", "exception", "module")
    found = [
        name
        for name, entry in known.items()
        if (name == target or name.endswith(f".{target}"))
        and (not kinds or entry.objtype in kinds)
        and not entry.aliased  # its place in a file of the room
    ]
    if len(found) != 1:
        return contnode
    entry = known[found[0]]
    return make_refnode(
        app.builder, node["refdoc"], entry.docname, entry.node_id, contnode, found[0]
    )


def setup(app: Sphinx) -> None:
    """Add the kinds of things that the reference describes, so that the search finds each."""
    from sphinx.roles import XRefRole

    app.add_role("name", XRefRole())
    app.connect("missing-reference", _link)
    for kind in ("parameter", "key", "column", "command"):
        app.add_object_type(kind, kind, objname=kind)
