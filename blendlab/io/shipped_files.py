"""Files that come with the program: the app's script and the invented examples.

They are at the top of a clone, and in the folder `app` of an installed package.
"""

from pathlib import Path

PACKAGE = Path(__file__).parents[1]
_TOP = PACKAGE / "app" if (PACKAGE / "app").is_dir() else PACKAGE.parent

APP = _TOP / "app.py"
SWATCHES = _TOP / "swatches"
