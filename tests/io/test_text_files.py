from pathlib import Path

import pytest

from blendlab.checks import InputError
from blendlab.io import text_files


def test_text_comes_back_as_written(tmp_path: Path) -> None:
    path = tmp_path / "récipe.toml"
    for text in ('name = "青い"\n', "", "a\r\nb"):
        text_files.write_text(path, text)
        assert text_files.read_text(path) == text
    assert [found.name for found in tmp_path.iterdir()] == [path.name]


def test_a_byte_order_mark_is_dropped(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(b"\xef\xbb\xbfname")
    assert text_files.read_text(path) == "name"


def test_files_that_are_not_text_are_refused(tmp_path: Path) -> None:
    latin, large = tmp_path / "latin.toml", tmp_path / "large.toml"
    latin.write_bytes("blåbær".encode("latin-1"))
    large.write_bytes(b"#" * (text_files.MAX_TEXT_BYTES + 1))
    with pytest.raises(InputError, match=r"must hold UTF-8 text, got '.*latin\.toml'; "):
        text_files.read_text(latin)
    with pytest.raises(InputError, match="must hold at most 1,000,000 bytes"):
        text_files.read_text(large)
    with pytest.raises(InputError, match="must hold at most 1,000,000 bytes of text, got 'upload'"):
        text_files.text_from_bytes(large.read_bytes(), "upload")
    with pytest.raises(InputError, match=r"must be there to be read \(no such file or directory\), got"):
        text_files.read_text(tmp_path / "none.toml")
    with pytest.raises(InputError, match=r"must be there to be read \(is a directory\), got"):
        text_files.read_text(tmp_path)
