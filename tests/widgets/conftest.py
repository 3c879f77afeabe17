"""Put the tests' own template within reach of the build process, as an installed one would be."""

import os
import sys
from pathlib import Path

HERE = str(Path(__file__).parent)
if HERE not in sys.path:
    sys.path.insert(0, HERE)
# The server of the build processes is started once and asks the environment.
os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, (HERE, os.environ.get("PYTHONPATH", ""))))
