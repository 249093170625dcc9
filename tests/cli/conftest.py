from pathlib import Path

import pytest

from blendlab import cli

from .running import STRIP, Ran, Run


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command in this process."""

    def run(*words: object) -> Ran:
        capsys.readouterr()
        try:
            status = cli.main([str(word) for word in words])
        except SystemExit as left:
            status = int(left.code or 0)
        return Ran(status, *capsys.readouterr())

    return run


@pytest.fixture(scope="session")
def _compiled(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Compile, with the notice about it, before any test checks messages."""
    path = tmp_path_factory.mktemp("compiled") / "strip.toml"
    path.write_text(STRIP)
    cli.main(["ladder", str(path), "--folds", "0", "--tries", "0"])


@pytest.fixture
def strip(tmp_path: Path, _compiled: None) -> Path:
    """A recipe file, alone in its folder."""
    path = tmp_path / "strip.toml"
    path.write_text(STRIP)
    return path
