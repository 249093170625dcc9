import os
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageCms

from blendlab.checks import InputError
from blendlab.io import media

PICTURE = np.random.default_rng(1).integers(0, 256, (20, 30, 3), dtype=np.uint8)


def names(folder: Path) -> set[str]:
    """All that stands in a folder, hidden or not."""
    return {path.name for path in folder.iterdir()}


@given(st.integers(1, 40), st.integers(1, 40), st.integers(0, 2**32 - 1))
def test_a_png_holds_every_pixel(height: int, width: int, seed: int) -> None:
    srgb8 = np.random.default_rng(seed).integers(0, 256, (height, width, 3), dtype=np.uint8)
    with Image.open(BytesIO(media.png_bytes(srgb8, 4))) as read:
        assert read.format == "PNG"
        np.testing.assert_array_equal(np.asarray(read), srgb8)


@pytest.mark.parametrize("px_per_mm", [1, 4, 7.3, 40])
def test_a_png_carries_its_true_size(px_per_mm: float) -> None:
    png = media.png_bytes(PICTURE, px_per_mm)
    # PNG specification (ISO/IEC 15948), pHYs: pixels per metre in x and y, then 1 for metres.
    start = png.index(b"pHYs") + 4
    per_metre = [int.from_bytes(png[start + at : start + at + 4], "big") for at in (0, 4)]
    assert per_metre == [round(px_per_mm * 1000)] * 2
    assert png[start + 8] == 1


def test_a_png_carries_an_srgb_profile() -> None:
    with Image.open(BytesIO(media.png_bytes(PICTURE, 4))) as read:
        profile = ImageCms.ImageCmsProfile(BytesIO(read.info["icc_profile"]))
        assert "sRGB" in ImageCms.getProfileDescription(profile)
        # Through that profile into Pillow's own sRGB, the colours stay what they are.
        same = ImageCms.profileToProfile(read, profile, ImageCms.createProfile("sRGB"))
        assert same is not None
        np.testing.assert_allclose(np.asarray(same, float), PICTURE, atol=1)


def test_same_picture_same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    first = media.png_bytes(PICTURE, 4)
    made = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()

    class Later:
        """A profile made at another time: only the date in its header differs."""

        def __init__(self, _: object) -> None: ...

        def tobytes(self) -> bytes:
            return made[:24] + bytes(range(1, 13)) + made[36:]

    media._srgb_profile.cache_clear()
    monkeypatch.setattr(media.ImageCms, "ImageCmsProfile", Later)
    assert media.png_bytes(PICTURE, 4) == first
    media._srgb_profile.cache_clear()


def test_text_comes_back_as_written(tmp_path: Path) -> None:
    path = tmp_path / "récipe.toml"
    for text in ('name = "青い"\n', "", "a\r\nb"):
        media.write_text(path, text)
        assert media.read_text(path) == text
    assert names(tmp_path) == {path.name}


def test_a_byte_order_mark_is_no_part_of_the_text(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_bytes(b"\xef\xbb\xbfname")
    assert media.read_text(path) == "name"


def test_files_that_are_no_text_are_refused(tmp_path: Path) -> None:
    latin, large = tmp_path / "latin.toml", tmp_path / "large.toml"
    latin.write_bytes("blåbær".encode("latin-1"))
    large.write_bytes(b"#" * (media.MAX_TEXT_BYTES + 1))
    with pytest.raises(InputError, match=r"must hold UTF-8 text, got '.*latin\.toml'; "):
        media.read_text(latin)
    with pytest.raises(InputError, match="must hold at most 1,000,000 bytes"):
        media.read_text(large)
    with pytest.raises(InputError, match="must hold at most 1,000,000 bytes of text, got 'upload'"):
        media.text_from_bytes(large.read_bytes(), "upload")
    with pytest.raises(InputError, match=r"must be there to be read \(no such file or directory\), got"):
        media.read_text(tmp_path / "none.toml")
    with pytest.raises(InputError, match=r"must be there to be read \(is a directory\), got"):
        media.read_text(tmp_path)


@pytest.mark.parametrize("bad", ["none/a.png", "file/a.png", "a\0.png", "x" * 300])
def test_places_that_cannot_be_written_are_refused(tmp_path: Path, bad: str) -> None:
    (tmp_path / "file").write_text("kept")
    with pytest.raises(InputError, match=r"^the place to write to must be writable \("):
        media.write_png(tmp_path / bad, PICTURE, 4)
    assert names(tmp_path) == {"file"}


def test_only_a_plain_file_is_ever_replaced(tmp_path: Path) -> None:
    kept, link, folder, pipe = (tmp_path / name for name in ("kept", "link", "folder", "pipe"))
    loose, round_, aside = (tmp_path / name for name in ("loose", "round", "aside"))
    kept.write_text("kept")
    link.symlink_to(kept)
    loose.symlink_to(tmp_path / "none")  # a write through it would make a file of another name
    round_.symlink_to(round_)
    aside.symlink_to(folder)
    folder.mkdir()
    os.mkfifo(pipe)
    for path in (link, loose, round_, aside, folder, pipe):
        with pytest.raises(InputError, match=r"^the place to write to must be a plain file, got"):
            media.write_text(path, "new")
    assert kept.read_text() == "kept"
    assert link.is_symlink()
    assert names(tmp_path) == {"folder", "kept", "link", "loose", "round", "aside", "pipe"}
    assert not names(folder)
    media.write_text(kept, "new")
    assert kept.read_text() == "new"


def test_a_write_that_fails_half_way_leaves_the_old_file_and_no_crumbs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.toml"
    path.write_text("old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match=r"\(no space left on device\)"):
        media.write_text(path, "new")
    assert path.read_text() == "old"
    assert names(tmp_path) == {"a.toml"}


def test_a_new_file_has_the_rights_a_maker_expects(tmp_path: Path) -> None:
    (tmp_path / "plain").write_text("")
    media.write_text(tmp_path / "ours", "")
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "plain").stat().st_mode
