"""What pyproject.toml cannot say: an installed blendlab carries the app's script, settings and examples.

They are at the top of a clone, where `streamlit run app.py` and a maker look for them, and go into the folder
`blendlab/app` of a wheel.
"""

from pathlib import Path

from setuptools.build_meta import *  # noqa: F403 (this module is the build backend: setuptools, and the class below)
from setuptools.command.build_py import build_py

APP = ("app.py", ".streamlit/config.toml", "swatches/*.*", "swatches/opening/*")


class BuildWithApp(build_py):
    """Copy the files of the app beside the modules; an editable install finds them in the clone."""

    def _copies(self) -> dict[str, str]:
        sources = sorted(path for pattern in APP for path in Path().glob(pattern))
        return {str(path): str(Path(self.build_lib, "blendlab", "app", path)) for path in sources}

    def run(self) -> None:
        """Build the modules, then copy."""
        super().run()
        for source, target in [] if self.editable_mode else self._copies().items():
            self.mkpath(str(Path(target).parent))
            self.copy_file(source, target)

    def get_source_files(self) -> list[str]:
        """List what a source archive must hold."""
        return [*super().get_source_files(), *self._copies(), ".packaging/app_in_wheel.py"]

    def get_outputs(self, include_bytecode: bool = True) -> list[str]:
        """List what was built."""
        copies = [] if self.editable_mode else [*self._copies().values()]
        return [*super().get_outputs(include_bytecode), *copies]
