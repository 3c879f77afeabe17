"""A widget's page side in a bare page: what it sends reaches the widget, and the answers the page.

No JupyterLab, so that what belongs to the page alone is tried in seconds. Answers of a process that
builds are waited for by `pump`.
"""

from __future__ import annotations

import base64
import json
import threading
import time
from collections import deque
from pathlib import Path
from typing import Any

STATIC = Path(__file__).parents[2] / "fitkit" / "widgets" / "static"
_PAGE = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>a widget</title>
<style>body { margin: 0; } %s</style></head><body data-jp-theme-light="true">
<main><h1 hidden>a widget</h1><div id="here"></div></main>
<script type="module">
import widget from "/widget.js";
const state = JSON.parse(document.getElementById("state").textContent);
const listeners = {};
const model = {
  get: (name) => state[name],
  send: (message) => { window.tell(JSON.stringify(message)); },
  on: (name, act) => { (listeners[name] ??= []).push(act); },
  off: () => undefined,
};
window.hear = (content, buffers) => {
  const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const views = buffers.map((text) => new DataView(bytes(text).buffer));
  for (const act of listeners["msg:custom"] ?? []) act(content, views);
};
window.change = (name, value) => {
  state[name] = value;
  for (const act of listeners[`change:${name}`] ?? []) act();
};
widget.render({ model, el: document.getElementById("here") });
</script>
<script type="application/json" id="state">%s</script></body></html>"""


class Mounted:
    """A widget on a page.

    Parameters
    ----------
    page : playwright page
    widget : widget
    script : str
        Its page side: ``part``, ``trial`` or ``grid``.
    states : names of traitlets
        Those that the page reads.
    """

    def __init__(self, page: Any, widget: Any, script: str, *states: str) -> None:
        self.page, self.widget = page, widget
        self._news: deque[tuple[Any, ...]] = deque()
        self._lock = threading.Lock()
        widget.send = lambda content, buffers=None: self._keep("hear", content, buffers or [])
        widget.observe(lambda change: self._keep("change", change["name"], change["new"]), states)
        start = {name: getattr(widget, name) for name in states}
        style = (STATIC / "fitkit.css").read_text("utf-8")
        text = _PAGE % (style, json.dumps(start).replace("<", "\\u003c"))
        files = {
            "http://widget.test/": ("text/html", text),
            "http://widget.test/widget.js": (
                "text/javascript",
                (STATIC / f"{script}.js").read_text("utf-8"),
            ),
        }

        def answer(route: Any) -> None:
            kind, body = files.get(route.request.url, ("text/plain", ""))
            route.fulfill(content_type=f"{kind}; charset=utf-8", body=body)

        page.route("**/*", answer)
        page.expose_function("tell", self._told)
        page.goto("http://widget.test/")
        page.locator(".fitkit").wait_for()
        self.pump()

    def _keep(self, *news: Any) -> None:
        with self._lock:
            self._news.append(news)

    def _told(self, text: str) -> None:
        self.widget._hear(self.widget, json.loads(text), [])

    def pump(self, until: str = "", *, seconds: float = 90.0) -> None:
        """Hand over what the widget says, until a selector is on the page (or once)."""
        ends = time.monotonic() + seconds
        while True:
            while self._news:
                with self._lock:
                    how, what, more = self._news.popleft()
                if how == "hear":
                    more = [base64.b64encode(bytes(piece)).decode() for piece in more]
                self.page.evaluate(f"([a, b]) => window.{how}(a, b)", [what, more])
            if not until or self.page.locator(until).count():
                return
            assert time.monotonic() < ends, until
            self.page.wait_for_timeout(20)
