"""Look whether each package that a user installs may be passed on, by what it states itself.

    .venv/bin/python .ci/licences.py

Names come from requirements.lock, licences from the installed packages' metadata (core metadata
2.4: License-Expression; before it, trove classifiers and the field License). Ends with status 1 for
a licence that would bind fitkit's own code, and for a package that states none and is not listed in
DEVELOPERS.md, where somebody has looked. Left out: what a package's own files say beside that.
"""

from __future__ import annotations

import re
import sys
from importlib import metadata
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
# Ones that bind whoever passes on a program that uses them.
BINDING = re.compile(r"\b(?:A?GPL|Affero|GNU General Public|SSPL|EUPL|proprietary)", re.IGNORECASE)
# Ones whose conditions concern the package itself, or changes to it.
OWN_FILES = re.compile(r"\b(?:LGPL|Lesser General Public|MPL|Mozilla)", re.IGNORECASE)


def names_of(lock: str) -> list[str]:
    """Give the packages of a lock file's text that belong on this system."""
    return re.findall(r"^([A-Za-z0-9._-]+)==", lock, re.MULTILINE)


def licence_of(name: str) -> str | None:
    """Give what an installed package states; empty if nothing, None if it is not installed."""
    try:
        stated = metadata.metadata(name)
    except metadata.PackageNotFoundError:  # for another system
        return None
    if stated.get("License-Expression"):
        return str(stated["License-Expression"])
    classifiers = [
        line.rpartition("::")[2].strip()
        for line in stated.get_all("Classifier") or ()
        if line.startswith("License") and not line.endswith("OSI Approved")
    ]
    # The field may hold a whole licence; its first line names it.
    field = (stated.get("License") or "").strip().partition("\n")[0]
    return "; ".join(classifiers) or field[:80]


def faults_of(licences: dict[str, str], told: str) -> list[str]:
    """Say what is wrong, a line each.

    Parameters
    ----------
    licences : dict of package name to what it states
    told : str
        Where packages that state none, or bind in part, are named.

    Returns
    -------
    list of str
    """
    faults = []
    for name, licence in licences.items():
        named = f"`{name}`" in told
        if not licence and not named:
            faults.append(f"{name} states no licence: look for it, and name it in DEVELOPERS.md")
        elif OWN_FILES.search(licence):
            if not named:
                faults.append(f"{name} is under {licence}: name it in DEVELOPERS.md")
        elif BINDING.search(licence):
            faults.append(f"{name} is under {licence}, which would bind fitkit: do without it")
    return faults


def main() -> int:
    """Check what requirements.lock installs here."""
    lock = (ROOT / "requirements.lock").read_text(encoding="utf-8")
    found = {name: licence_of(name) for name in names_of(lock)}
    licences = {name: licence for name, licence in found.items() if licence is not None}
    faults = faults_of(licences, (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    print("\n".join(faults) or f"{len(licences)} packages, each under a licence that fits")
    return 1 if faults or not licences else 0


if __name__ == "__main__":
    sys.exit(main())
