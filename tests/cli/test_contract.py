"""What a command prints and writes on success."""

from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageCms
from skimage.color import deltaE_ciede2000, lab2rgb, rgb2lab, rgb2xyz, xyz2lab

from blendlab.cli import look_commands
from blendlab.look import ladder, light_paths
from blendlab.look.looks import LOOKS

from .running import STRIP, Run, process

LAID = """
[[lay]]
flakes = ["chalk white", "harbour blue"]
place = "layer"
[[lay]]
flakes = ["marigold"]
place = "heaps"
count = 4
width_mm = {width}
"""
SRGB = {"chalk white": "#f2f0e8", "marigold": "#f0ac2b", "harbour blue": "#1d4f8f"}
SHARES = {"chalk white": 1 / 2, "marigold": 1 / 3, "harbour blue": 1 / 6}


def rgb1(hexes: str) -> list[float]:
    return [int(hexes[at : at + 2], 16) / 255 for at in (1, 3, 5)]


def as_colour(value: Any) -> list[float]:
    """CIELAB of a colour of the contract; its two forms must be one colour.

    The conversion is scikit-image's, whose white differs from ours in the fourth digit.
    """
    assert value.keys() - {"band90_delta_e_ab"} == {"lab", "srgb"}
    assert len(value["lab"]) == 3
    back = np.clip(lab2rgb(value["lab"]), 0, 1)
    np.testing.assert_allclose(back, rgb1(value["srgb"]), atol=1.5 / 255)
    return list(map(float, value["lab"]))


def test_blend_prints_three_means_and_their_difference(run: Run, strip: Path) -> None:
    found = run("blend", strip, "--json").only_object()
    assert found.keys() == {"area_mean", "full_blend", "cielab_mean", "delta_e00", "advice"}
    assert 0 < found["area_mean"]["band90_delta_e_ab"] < found["full_blend"]["band90_delta_e_ab"]
    assert "band90_delta_e_ab" not in found["cielab_mean"]  # a baseline predicts nothing
    area, full, plain = (as_colour(found[key]) for key in ("area_mean", "full_blend", "cielab_mean"))
    # The distance and the plain mean once more with scikit-image's CIEDE2000 and CIELAB.
    assert found["delta_e00"] == pytest.approx(float(deltaE_ciede2000(area, full)), abs=0.02)
    mean = sum(share * rgb2lab(rgb1(SRGB[name])) for name, share in SHARES.items())
    np.testing.assert_allclose(plain, mean, atol=0.05)


def test_blend_in_words_says_the_same(run: Run, strip: Path) -> None:
    found = run("blend", strip, "--json").only_object()
    area, full, plain, moves, *advice = run("blend", strip).words()
    names = {"average before mixing": area, "fully mixed": full, "plain CIELAB mean": plain}
    for (name, line), key in zip(names.items(), ("area_mean", "full_blend", "cielab_mean"), strict=True):
        assert line.startswith(name)
        assert found[key]["srgb"] in line
    assert f"within {found['full_blend']['band90_delta_e_ab']:.1f} dE*ab, nine times in ten" in full
    assert f"{found['delta_e00']:.1f} dE00" in moves
    assert advice == [f"To be more certain: {sentence}" for sentence in found["advice"]]


def test_ladder_prints_each_rung_and_the_pick(run: Run, strip: Path) -> None:
    found = run("ladder", strip, "--folds", "0-2", "--tries", "1", "--json").only_object()
    assert found.keys() == {"rungs", "pick"}
    assert [rung["folds"] for rung in found["rungs"]] == [0, 1, 2]
    start = as_colour(run("blend", strip, "--json").only_object()["area_mean"])
    for rung in found["rungs"]:
        numbers = {"contrast", "feature_mm", "layer_mm", "segregation", "drift"}
        assert rung.keys() == {"folds", "mean", "look", *numbers}
        assert all(isinstance(rung[key], float) and rung[key] >= 0 for key in numbers)
        assert rung["look"] in LOOKS
        assert rung["drift"] == pytest.approx(
            float(deltaE_ciede2000(as_colour(rung["mean"]), start)), abs=0.03
        )
    layers = [rung["layer_mm"] for rung in found["rungs"]]
    assert layers[0] > layers[1] > layers[2]
    assert found["pick"].keys() == {"folds", "why", "sure"}
    assert found["pick"]["folds"] in (0, 1, 2)
    assert found["pick"]["why"].endswith(".")


def test_the_contact_sheet_of_a_laid_charge_begins_with_the_charge_as_laid(
    run: Run, strip: Path, tmp_path: Path
) -> None:
    laid, out = tmp_path / "laid.toml", tmp_path / "ladder.png"
    laid.write_text(STRIP + LAID.format(width=8), encoding="utf-8")
    widths = []
    for recipe in (strip, laid):
        run("ladder", recipe, "--folds", "0-1", "--tries", "0", "--out", out).words()
        with Image.open(out) as sheet:
            widths.append(sheet.width)
            first = np.asarray(sheet)[14:30, 14:150].reshape(-1, 3)
    assert widths[1] > 1.3 * widths[0]  # a third tile
    assert {tuple(colour) for colour in first.tolist()} <= {
        tuple(round(255 * part) for part in rgb1(hexes)) for hexes in (*SRGB.values(), "#ffffff")
    }  # cold flakes, which nothing blends


def test_ladder_in_words_is_a_table_and_a_sentence(run: Run, strip: Path) -> None:
    words = "ladder", strip, "--folds", "1-2", "--tries", "0", "--look", "pieces"
    found = run(*words, "--json").only_object()
    head, *rows, last, coarser = run(*words).words()
    assert coarser.startswith("No flake says what it was cut from.")
    assert " ".join(head.split()) == "folds mean contrast feature mm layer mm segregation drift lively look"
    rows, meant = rows[:2], " ".join(rows[2:])
    for unexplained in ("contrast: dE*ab", "segregation: 1 for whole pieces", "drift: dE00", "lively: "):
        assert unexplained in meant
    for row, rung in zip(rows, found["rungs"], strict=True):
        assert row.split()[:2] == [str(rung["folds"]), rung["mean"]["srgb"]]
        assert float(row.split()[2]) == pytest.approx(rung["contrast"], abs=0.06)
        assert row.split()[-1] == rung["look"]
    assert last.startswith(f"Fold once. {found['pick']['why']}")


def test_the_part_that_picks_a_count_is_in_the_table(run: Run, strip: Path) -> None:
    lines = run("ladder", strip, "--folds", "0-2", "--tries", "0", "--look", "streaks").words()
    chosen = next(line for line in lines if "as lively as the whole pieces" in line)
    folds, part = {"once": 1, "twice": 2}[chosen.split()[1].rstrip(".")], chosen.split()[5]
    row = next(line for line in lines if line.split()[0] == str(folds))
    assert f" {part} %  " in row


def test_a_layer_below_a_micrometre_has_no_figures(run: Run, strip: Path) -> None:
    words = "ladder", strip, "--folds", "12", "--tries", "0"
    assert run(*words, "--json").only_object()["rungs"][0]["layer_mm"] < 0.001
    assert "  < 0.001  " in run(*words).words()[1]


def test_a_ladder_that_starts_later_is_compared_with_the_same_whole_pieces(run: Run, strip: Path) -> None:
    from_0, from_1 = (
        run("ladder", strip, "--folds", folds, "--tries", "0", "--look", "streaks", "--json").only_object()
        for folds in ("0-2", "1-2")
    )
    assert from_1["rungs"] == from_0["rungs"][1:]
    assert from_1["pick"] == from_0["pick"]
    pieces = from_0["rungs"][0]
    taken = next(rung for rung in from_0["rungs"] if rung["folds"] == from_0["pick"]["folds"])
    contrast, segregation = (taken[key] / pieces[key] for key in ("contrast", "segregation"))
    lively = np.sqrt(min(contrast, 1) * segregation)
    assert f"{100 * lively:.0f} % as lively as the whole pieces" in from_1["pick"]["why"]


def test_ladder_defaults_to_0_to_10_folds_and_four_replicates(
    run: Run, strip: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ladder, "TILE_PX", 60)  # 55 tiles: small ones do
    found = run("ladder", strip, "--json").only_object()
    assert [rung["folds"] for rung in found["rungs"]] == list(range(11))
    assert "4 further sheets tried" in found["pick"]["sure"]
    assert "marbled" in found["pick"]["why"]


def test_the_contact_sheet_shows_every_rung_over_its_mean(run: Run, strip: Path) -> None:
    out = strip.with_name("ladder.png")
    words = "ladder", strip, "--folds", "0-2", "--tries", "0", "--json", "--out", out
    found = run(*words).only_object()
    first = out.read_bytes()
    with Image.open(out) as picture:
        assert picture.format == "PNG"
        pixels = np.asarray(picture.convert("RGB")).reshape(-1, 3)
    for rung in found["rungs"]:
        mean = np.rint(255 * np.array(rgb1(rung["mean"]["srgb"])))
        assert (pixels == mean).all(axis=1).sum() >= 160 * 9  # a strip beneath a tile of 160 pixels
    assert run(*words).only_object() == found
    assert out.read_bytes() == first


def test_captions_count_one_fold_and_two_folds(
    run: Run, strip: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    captions: list[str] = []
    monkeypatch.setattr(look_commands, "write_contact_sheet", lambda *given: captions.extend(given[3]))
    run("ladder", strip, "--folds", "0-2", "--tries", "0", "--out", strip.with_name("ladder.png")).words()
    assert [caption.split(",")[0] for caption in captions] == ["0 folds", "1 fold", "2 folds"]


def test_sheet_writes_a_picture_of_true_size_and_colour(run: Run, strip: Path) -> None:
    out = strip.with_name("sheet.png")
    words = "sheet", strip, "--folds", "2", "--px-per-mm", "3", "--samples", "4", "--out", out
    found = run(*words, "--json").only_object()
    assert found.keys() == {"mean", "size_mm", "percent"}
    assert found["size_mm"] == [80, 20]
    assert found["percent"].keys() == SHARES.keys()
    assert sum(found["percent"].values()) == pytest.approx(100, abs=0.05)
    with Image.open(out) as picture:
        assert (picture.format, picture.mode, picture.size) == ("PNG", "RGB", (240, 60))
        # A PNG states whole pixels per metre: half of one is 0.013 dpi.
        assert picture.info["dpi"] == pytest.approx((3 * 25.4, 3 * 25.4), abs=0.013)
        profile = ImageCms.ImageCmsProfile(BytesIO(picture.info["icc_profile"]))
        assert "sRGB" in ImageCms.getProfileDescription(profile)
        pixels = np.asarray(picture)
    # The mean is that of the picture's light, by scikit-image; pixels are rounded to 8 bits.
    light = rgb2xyz(pixels).mean(axis=(0, 1))
    assert float(deltaE_ciede2000(as_colour(found["mean"]), xyz2lab(light))) < 0.2
    mean, *lines, place = run(*words).words()
    assert found["mean"]["srgb"] in mean
    assert f"{found['percent']['marigold']:.2f} %  marigold" in [line.strip() for line in lines]
    assert place == f"{out}: 80 × 20 mm hot, top after 2 folds"


def test_sheet_defaults_to_the_top_at_4_pixels_a_mm_drawn_to_tolerance(run: Run, strip: Path) -> None:
    plain, named = strip.with_name("plain.png"), strip.with_name("named.PNG")
    words = "sheet", strip, "--folds", "4", "--json", "--out"
    found = run(*words, plain).only_object()
    assert found == run(*words, named, "--px-per-mm", "4", "--face", "top").only_object()
    assert plain.read_bytes() == named.read_bytes()
    with Image.open(plain) as picture:
        assert picture.size == (320, 80)


def test_a_laid_charge_is_drawn_and_what_does_not_fit_is_reported(run: Run, tmp_path: Path) -> None:
    laid = STRIP + LAID.format(width=1)
    (tmp_path / "laid.toml").write_text(laid, "utf-8")
    sheet = ("sheet", tmp_path / "laid.toml", "--folds", "0", "--px-per-mm", "2", "--out", tmp_path / "a.png")
    said = run(*sheet).out
    assert "Lay 2 is more than its place holds: " in said
    (tmp_path / "laid.toml").write_text(laid.replace("width_mm = 1", "width_mm = 19"), "utf-8")
    assert "is more than" not in run(*sheet).out
    percent = run(*sheet, "--json").only_object()["percent"]
    assert percent["marigold"] > 40  # a third of the charge, but the heaps lie on top


def test_another_process_writes_the_same_bytes_over_an_older_result(run: Run, strip: Path) -> None:
    out = strip.with_name("sheet.png")
    words = ["sheet", str(strip), "--folds", "2", "--samples", "1", "--json", "--out", str(out)]
    found = run(*words).only_object()
    first = out.read_bytes()
    out.write_bytes(b"older")
    assert process(*words).only_object() == found
    assert out.read_bytes() == first
    assert {path.name for path in strip.parent.iterdir()} == {"strip.toml", "sheet.png"}


def test_another_seed_makes_another_sheet(run: Run, strip: Path) -> None:
    pictures = set()
    for seed in (7, 8):
        strip.write_text(f"{STRIP}seed = {seed}\n")
        out = strip.with_name(f"{seed}.png")
        assert run("sheet", strip, "--folds", "2", "--samples", "1", "--out", out).status == 0
        pictures.add(out.read_bytes())
    assert len(pictures) == 2


def test_only_commands_that_draw_announce_the_compiler(
    run: Run, strip: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(light_paths, "is_warm", lambda: False)
    assert run("blend", strip).err == ""
    ran = run("ladder", strip, "--folds", "0", "--tries", "0", "--json")
    assert ran.err.count("\n") == 1
    assert "compiling" in ran.err
    ran._replace(err="").only_object()


def flake(name: str, srgb: str, grams: float, more: str = "") -> str:
    return f'[[flake]]\nname = "{name}"\nsrgb = "{srgb}"\ngrams = {grams}\n{more}\n'


def recipe(length: float, width: float, thickness: float, *flakes: str, folding: str = "") -> str:
    sheet = f"length_mm = {length}\nwidth_mm = {width}\nthickness_mm = {thickness}"
    return f'name = "edge"\n[sheet]\n{sheet}\n{"".join(flakes)}[folding]\n{folding}\n'


@pytest.mark.parametrize(
    "text",
    [
        recipe(20, 20, 100, flake("black", "#000000", 1, "hide_mm = 0.01\nsize_mm = [100, 100, 100]")),
        recipe(
            60,
            20,
            1,
            flake("white", "#ffffff", 1e300, "hide_mm = 200"),
            flake("black", "#000000", 1e-300),
            folding="drag = 1\nunevenness = 1\nseed = 4294967295",
        ),
        recipe(
            20, 50, 2, *[flake(f"{n}", f"#{n * 1118481:06x}", 10**n) for n in range(12)], folding="drag = 0"
        ),
    ],
    ids=[
        "one black lump",
        "a trace of black in white, pressed unevenly",
        "twelve flakes on a slab too small for them",
    ],
)
def test_every_allowed_extreme_gives_finite_numbers(run: Run, strip: Path, text: str) -> None:
    strip.write_text(text)
    run("blend", strip, "--json").only_object()
    out = strip.with_name("edge.png")
    words = "--px-per-mm", "0.5", "--samples", "1", "--out", out, "--json"
    found = run("sheet", strip, "--folds", "16", *words).only_object()
    assert sum(found["percent"].values()) == pytest.approx(100, abs=0.07)
    run("ladder", strip, "--folds", "16", "--tries", "0", "--json").only_object()
