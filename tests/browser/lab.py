"""A real JupyterLab on a free loopback port, and a headless Chromium that opens notebooks in it."""

from __future__ import annotations

import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).parents[2]
ARTEFACTS = ROOT / "artefacts"
CHROMIUM = next(
    filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome-stable"))), None
)
FLAGS = [
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
SOFTWARE_GL = ["--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
NO_GL = ["--disable-3d-apis", "--disable-gpu"]


class Lab:
    """One server with its own empty settings and folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "work"
        self.folder.mkdir(parents=True)
        self.token = secrets.token_hex(8)
        with socket.socket() as spare:
            spare.bind(("127.0.0.1", 0))
            self.port = spare.getsockname()[1]
        home = {
            name: str(folder / name.lower())
            for name in ("JUPYTER_CONFIG_DIR", "JUPYTERLAB_SETTINGS_DIR",
                         "JUPYTERLAB_WORKSPACES_DIR", "JUPYTER_RUNTIME_DIR", "IPYTHONDIR")
        }  # fmt: skip
        self.settings = Path(home["JUPYTERLAB_SETTINGS_DIR"])
        paths = os.pathsep.join([str(ROOT), str(ROOT / "tests" / "widgets")])
        # No question about news may lie over what is looked at.
        self._set("notification", {"fetchNews": "false", "checkForUpdates": False})
        self.log = (folder / "lab.log").open("w")
        self.process = subprocess.Popen(
            [
                sys.executable, "-m", "jupyterlab", "--no-browser", "--expose-app-in-browser",
                "--ServerApp.ip=127.0.0.1",
                f"--ServerApp.port={self.port}", "--ServerApp.port_retries=0", "--allow-root",
                f"--ServerApp.root_dir={self.folder}", f"--IdentityProvider.token={self.token}",
                "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
            ],
            cwd=self.folder, env=os.environ | home | {"PYTHONPATH": paths},
            stdout=self.log, stderr=subprocess.STDOUT,
        )  # fmt: skip
        self._wait()

    def _wait(self) -> None:
        for _ in range(600):
            if self.process.poll() is not None:
                raise RuntimeError(f"JupyterLab did not start; see {self.log.name}")
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{self.port}/api", timeout=1).close()
            except OSError:
                time.sleep(0.1)
            else:
                return
        raise RuntimeError("JupyterLab did not answer")

    def notebook(self, name: str, *cells: str) -> str:
        """Write a notebook and give the address that opens it."""
        content = {
            "cells": [
                {"cell_type": "code", "id": f"cell{n}", "metadata": {}, "execution_count": None,
                 "outputs": [], "source": source}
                for n, source in enumerate(cells)
            ],
            "metadata": {"kernelspec": {"name": "python3", "display_name": "Python 3",
                                        "language": "python"}},
            "nbformat": 4, "nbformat_minor": 5,
        }  # fmt: skip
        (self.folder / name).write_text(json.dumps(content))
        # A workspace of its own: JupyterLab would open what the last page had open.
        space = f"lab/workspaces/{secrets.token_hex(4)}/tree"
        return f"http://127.0.0.1:{self.port}/{space}/{name}?token={self.token}"

    def theme(self, name: str) -> None:
        """Choose the theme that a page opened from now on shows."""
        self._set("themes", {"theme": name})

    def _set(self, name: str, values: dict[str, object]) -> None:
        place = self.settings / "@jupyterlab" / "apputils-extension"
        place.mkdir(parents=True, exist_ok=True)
        (place / f"{name}.jupyterlab-settings").write_text(json.dumps(values))

    def stop_kernels(self) -> None:
        """End all kernels, so that one test leaves no load to the next."""
        for kernel in json.load(self._ask("GET", "api/kernels")):
            self._ask("DELETE", f"api/kernels/{kernel['id']}").close()

    def _ask(self, method: str, what: str):
        request = urllib.request.Request(
            f"http://127.0.0.1:{self.port}/{what}",
            method=method,
            headers={"Authorization": f"token {self.token}"},
        )
        return urllib.request.urlopen(request, timeout=30)

    def close(self) -> None:
        self.process.terminate()
        try:
            self.process.wait(15)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait(15)
        self.log.close()


@contextmanager
def chromium(*flags: str, driver=None):
    """A headless browser; of a driver that runs already, if one is given."""
    from contextlib import nullcontext

    from playwright.sync_api import sync_playwright

    with sync_playwright() if driver is None else nullcontext(driver) as running:
        browser = running.chromium.launch(
            executable_path=CHROMIUM, headless=True, args=[*FLAGS, *flags]
        )
        try:
            yield browser
        finally:
            browser.close()


def open_page(browser, address: str, *, width: int = 1280, height: int = 800):
    """Open a notebook, side bar shut, and wait until its kernel is idle."""
    page = browser.new_page(viewport={"width": width, "height": height})
    page.goto(address, timeout=120_000)
    page.wait_for_selector(".jp-Notebook .jp-CodeCell", timeout=120_000)
    # "Idle" appears in the kernel's own status mark once it can run cells.
    page.wait_for_selector(
        ".jp-NotebookPanel .jp-Notebook-ExecutionIndicator[data-status=idle]", timeout=120_000
    )
    if page.locator(".jp-SideBar.jp-mod-left .lm-mod-current").count():
        page.keyboard.press("Control+b")
    return page


def run_all(page) -> None:
    """Run all cells, and ask again where the lab was not listening yet."""
    from playwright.sync_api import TimeoutError as TooLate

    page.locator(".jp-Notebook .jp-CodeCell .cm-content").first.click()
    page.keyboard.press("Escape")
    for _ in range(6):
        # Not returned: the promise would last until the last cell has run.
        page.evaluate("() => { window.jupyterapp.commands.execute('notebook:run-all-cells'); }")
        try:
            page.wait_for_function(
                "() => [...document.querySelectorAll('.jp-Notebook .jp-InputPrompt')]"
                ".some(prompt => /[*0-9]/.test(prompt.textContent))",
                timeout=20_000,
            )
        except TooLate:
            continue
        return
    raise AssertionError("the lab ran no cell")


def restart_kernel(page) -> None:
    """Restart the kernel and say yes to the question."""
    page.evaluate("() => { window.jupyterapp.commands.execute('kernelmenu:restart'); }")
    page.click(".jp-Dialog .jp-mod-accept")


def save(page) -> None:
    """Save the notebook."""
    page.evaluate("() => { window.jupyterapp.commands.execute('docmanager:save'); }")
