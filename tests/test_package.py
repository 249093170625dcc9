import subprocess
import sys

import pytest

import blendlab

HEAVY = ("numpy", "numba", "colour", "scipy", "skimage", "PIL", "streamlit", "altair")


def run(code: str) -> str:
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return done.stdout.strip()


def test_importing_the_package_loads_no_library() -> None:
    loaded = run(f"import sys, blendlab; print([name for name in {HEAVY} if name in sys.modules])")
    assert loaded == "[]"


def test_reading_a_recipe_loads_no_screen_and_no_compiler() -> None:
    code = f"import sys, blendlab; blendlab.from_toml; print([n for n in {HEAVY} if n in sys.modules])"
    assert run(code) == "['numpy']"


@pytest.mark.parametrize("name", blendlab.__all__)
def test_every_public_name_is_there(name: str) -> None:
    assert getattr(blendlab, name) is not None
    assert name in dir(blendlab)


def test_a_missing_name_raises_as_usual() -> None:
    with pytest.raises(AttributeError, match="has no attribute 'lid'"):
        _ = blendlab.lid
