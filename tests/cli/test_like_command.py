"""The command that starts from any picture."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from blendlab.photo import likeness

from .running import Run

LIST = "name,srgb,grams\ncap white,#f1efe6,500\ncrate blue,#17439b,500\nsoot,#1a1a1b,500\n"


@pytest.fixture
def place(tmp_path: Path, strip: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a chequered picture and a flake list; the search tries few sheets."""
    board = np.kron(np.indices((8, 12)).sum(axis=0) % 2, np.ones((16, 16), int))
    pixels = np.array([(241, 239, 230), (23, 67, 155)], np.uint8)[board]
    Image.fromarray(pixels).save(tmp_path / "board.png")
    (tmp_path / "flakes.csv").write_text(LIST)
    for name, few in (("WHOLE", (0,)), ("BLENDED", (4,)), ("CUTS_MM", (7.0, 14.0))):
        monkeypatch.setattr(likeness, name, few)
    monkeypatch.setattr(likeness, "WITH_OTHER_MOVES", 0)
    return tmp_path


def test_like_prints_proposals_and_draws_them_beside_the_picture(run: Run, place: Path) -> None:
    words = "like", place / "board.png", "--flakes", place / "flakes.csv", "--grams", "60"
    silent = run(*words, "--out", place / "like.png", "--json")
    found = silent.only_object()
    assert "done" not in silent.err
    best = found["proposals"][0]
    assert set(best["percent"]) <= {"cap white", "crate blue", "soot"}
    assert best["percent"]["crate blue"] == pytest.approx(50, abs=8)
    assert sum(best["grams"].values()) == pytest.approx(60, abs=0.2)
    with Image.open(place / "like.png") as sheet:
        assert sheet.width > 128 * len(found["proposals"])
    said = run(*words)
    assert said.status == 0
    assert said.out.startswith("1. ")
    assert "not its edges and motifs" in said.out
    parts = [int(line.split()[1]) for line in said.err.splitlines() if "done" in line]
    assert len(parts) == 3
    assert all(part >= quarter for part, quarter in zip(parts, (25, 50, 75), strict=True))


@pytest.mark.parametrize(
    ("further", "said"),
    [
        (("--part", "0,0,500,500"), "the part must be 16 pixels a side or more, inside the picture"),
        (("--part", "1,2,3"), "--part must be 4 numbers separated by commas"),
        (("--grams", "0"), "grams must be a number from 20 to 2000"),
        (("--out", "like.jpg"), "--out must name a PNG"),
    ],
)
def test_bad_values_are_refused_in_one_line(
    run: Run, place: Path, further: tuple[str, str], said: str
) -> None:
    ran = run("like", place / "board.png", "--flakes", place / "flakes.csv", *further)
    assert ran.status == 2
    assert said in ran.err
    assert ran.err.count("\n") == 1
