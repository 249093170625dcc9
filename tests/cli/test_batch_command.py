"""`blendlab batch`: the contract's keys, the card, and every order that cannot be pressed."""

import io
import re
import time
from pathlib import Path

import pypdf
import pytest

from .running import STRIP, Run

SIZE = ("--size-mm", "180x150x6")
LIST = """name,srgb,hide_mm,grams,piece_g,source
chalk white,#f2f0e8,,400,2.5,caps
marigold,#f0ac2b,,30,,caps
"""


@pytest.fixture
def recipe(tmp_path: Path) -> Path:
    path = tmp_path / "strip.toml"
    path.write_text(STRIP)
    return path


def test_it_prints_the_keys_of_the_contract(run: Run, recipe: Path) -> None:
    found = run("batch", recipe, *SIZE, "--json").only_object()
    promised = "grams total_g pieces loads spacer_mm hot_size_mm heat_minutes cool_minutes short_of cautions"
    assert set(promised.split()) <= found.keys()
    # 190 x 160 x 6 mm before trimming, at 0.94-0.96 g/cm³ (NETZSCH polymer tables).
    low, high = (density * 19 * 16 * 0.6 for density in (0.94, 0.96))
    assert low <= found["total_g"] <= high
    assert sum(found["grams"].values()) == pytest.approx(found["total_g"], abs=0.02)
    share = {name: grams / found["total_g"] for name, grams in found["grams"].items()}
    assert share == pytest.approx({"chalk white": 1 / 2, "marigold": 1 / 3, "harbour blue": 1 / 6}, abs=1e-3)
    assert found["short_of"] == {}
    assert found["hot_size_mm"][0] > 190 > 180
    assert found["spacer_mm"] > 6
    assert len(found["cautions"]) == 10


def test_the_flake_list_gives_the_shortage_and_the_mass_of_a_piece(
    run: Run, recipe: Path, tmp_path: Path
) -> None:
    stock = tmp_path / "flakes.csv"
    stock.write_text(LIST)
    found = run("batch", recipe, *SIZE, "--flakes", stock, "--json").only_object()
    grams = found["grams"]
    assert found["short_of"] == pytest.approx(
        {"marigold": grams["marigold"] - 30, "harbour blue": grams["harbour blue"]}, abs=0.06
    )
    assert found["nearest"]["harbour blue"] == 0
    assert sum(found["nearest"].values()) == pytest.approx(found["total_g"], abs=0.2)
    assert found["pieces"]["chalk white"] == -(-grams["chalk white"] // 2.5)
    words = "\n".join(run("batch", recipe, *SIZE, "--flakes", stock).words())
    assert "The stock is short of " in words
    assert "Hot plastic sticks and burns." in words


def test_ounces_and_inches_say_the_same_plan(run: Run, recipe: Path) -> None:
    # NIST Special Publication 811 (2008), appendix B.8: 1 in is 25.4 mm, 1 oz is 28.349523125 g.
    metric = run("batch", recipe, "--size-mm", "177.8x152.4x6.35", "--json").only_object()
    inches = ("batch", recipe, "--size-in", "7x6x0.25", "--units", "oz-in")
    assert run(*inches, "--json").only_object() == metric
    words = "\n".join(run(*inches).words())
    assert "7 × 6 × 0.25 in finished" in words
    assert f"{metric['total_g'] / 28.349523125:.2f} oz" in words
    assert not re.search(r"\d (g|mm)\b", words)
    refusal = run("batch", recipe, "--size-in", "7x6").refusal()
    assert "--size-in must be 3 lengths in inches, got '7x6'; write it like 7x6x0.25" in refusal
    refusal = run("batch", recipe, "--size-in", "40x7x0.25", "--units", "oz-in").refusal()
    assert "up to 14.96 x 14.96 in" in refusal  # 380 mm
    assert not re.search(r"\d (g|mm)\b", refusal)


def test_an_order_is_split_into_loads_and_tiles(run: Run, recipe: Path) -> None:
    small = run("batch", recipe, *SIZE, "--largest-load-g", 100, "--json").only_object()
    assert small["loads"] == 2
    assert sum(small["load_grams"].values()) == pytest.approx(small["total_g"] / 2, abs=0.02)
    tiled = run("batch", recipe, *SIZE, "--tiles", "2x1", "--trim", 0, "--json").only_object()
    whole = run("batch", recipe, *SIZE, "--trim", 0, "--json").only_object()
    assert tiled["tiles"] == 2
    assert tiled["total_g"] == pytest.approx(whole["total_g"])
    assert tiled["hot_size_mm"][0] == pytest.approx(whole["hot_size_mm"][0] / 2, abs=0.06)


def test_what_holds_the_press_shut_says_how_long_a_press_takes(run: Run, recipe: Path) -> None:
    unsaid = run("batch", recipe, *SIZE, "--json").only_object()
    assert unsaid["closing"] is None
    assert unsaid["block"] is None
    hands = run("batch", recipe, *SIZE, "--closing", "hands", "--stock", "bottle", "--json").only_object()
    assert hands["closing"]["force_n"] == [150, 300, 600]  # common practice
    assert not hands["closing"]["in_time"]
    assert len(hands["closing"]["press_seconds"]) == 3
    exact = run("batch", recipe, *SIZE, "--force-n", 20000, "--melt-index", 7, "--json").only_object()
    # over the hot plan, in kPa
    area_m2 = exact["hot_size_mm"][0] * exact["hot_size_mm"][1] / 1e6
    assert exact["closing"]["pressure_kpa"][-1] == pytest.approx([20 / area_m2] * 3, rel=2e-3)
    assert exact["closing"]["in_time"]


def test_bows_ageing_and_a_block_are_reported(run: Run, recipe: Path) -> None:
    found = run("batch", recipe, *SIZE, "--fuse", 6, "--json").only_object()
    assert set(found["bow_mm"]) == {"open air", "one board", "two boards"}
    assert found["ageing"]["within"]
    assert found["ageing"]["lasts_minutes"] == [9.0, 13.6, 39.0]  # NCHRP Report 696 (2011), Table 5
    assert found["block"]["thickness_mm"] == 36
    assert found["block"]["heat_minutes"][1] > 60
    words = "\n".join(run("batch", recipe, *SIZE, "--fuse", 6).words())
    assert "6 sheets fused to a block of 36 mm: " in words


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_card_is_one_page_and_its_bytes_repeat(run: Run, strip: Path, tmp_path: Path, paper: str) -> None:
    card = tmp_path / "card.pdf"
    words = ("batch", strip, "--size-mm", "70x16x6", "--trim", 2, "--date", "2026-03-14", "--paper", paper)
    said = run(*words, "--card", card).words()
    assert said[-1] == f"{card}: the card, {paper}"
    first = card.read_bytes()
    (page,) = pypdf.PdfReader(io.BytesIO(first)).pages
    assert "14 March 2026" in page.extract_text()
    assert [round(float(page.mediabox.width) / 72 * 25.4)] == [{"A4": 210, "Letter": 216}[paper]]
    run(*words, "--card", card)
    assert card.read_bytes() == first


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the time zone cannot be set here")
def test_the_bytes_of_a_card_are_the_same_in_every_time_zone(
    run: Run, strip: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    cards = set()
    try:
        for zone in ("UTC", "Pacific/Kiritimati", "America/St_Johns"):
            monkeypatch.setenv("TZ", zone)
            time.tzset()
            card = tmp_path / "card.pdf"
            size = ("--size-mm", "70x16x6", "--trim", 2, "--date", "1900-01-01")
            run("batch", strip, *size, "--card", card).words()
            cards.add(card.read_bytes())
    finally:
        monkeypatch.undo()
        time.tzset()
    assert len(cards) == 1


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--size-mm", "180x150"), "--size-mm must be 3 lengths in mm, got '180x150'; write it"),
        (("--size-mm=-1x150x6",), "--size-mm must be 3 lengths"),
        (("--size-mm", "nanx150x6"), "--size-mm must be 3 lengths"),
        (("--size-mm", "500x300x6"), "make it of 2 x 1 tiles of 250 x 300 mm, or take larger plates"),
        ((*SIZE, "--plate-mm", "100x100"), "must fit the plates, up to 100 x 100 mm, got 195.3 x 164.5 mm"),
        ((*SIZE, "--plate-mm", "wide"), "--plate-mm must be 2 lengths in mm, got 'wide'; "),
        ((*SIZE, "--plate-c", "230", "--liner", "silicone"), "the limit of a silicone mat, got 230 °C; "),
        ((*SIZE, "--plate-c", "nan"), "plate_c must be a number"),
        ((*SIZE, "--largest-load-g", "0"), "largest_load_g must be a number from 5 to 100000, got 0; "),
        ((*SIZE, "--tiles", "two"), "--tiles must be two counts, got 'two'; "),
        ((*SIZE, "--tiles", "0x1"), "tiles a side must be a whole number from 1 to 20, got 0; "),
        ((*SIZE, "--closing", "elephant"), "what holds the press shut must be one of those known, got "),
        ((*SIZE, "--melt-index", "0"), "melt index in g/10 min must be a number from 0.01 to 100, got 0; "),
        ((*SIZE, "--fuse", "30"), "the press must bring the whole load above 135 °C, got "),
        ((*SIZE, "--date", "yesterday"), "--date must be a day, got 'yesterday'; "),
        ((*SIZE, "--date", "0001-01-01"), "--date must be in the years 1900 to 2199, got '0001-01-01'; "),
        ((*SIZE, "--date", "9999-12-31"), "--date must be in the years 1900 to 2199, got '9999-12-31'; "),
        ((*SIZE, "--card", "card.toml"), "--card must name a PDF, got 'card.toml'; "),
        ((*SIZE, "--flakes", "missing.csv"), "the file must be there to be read"),
    ],
)
def test_what_cannot_be_pressed_is_refused_in_one_line(
    run: Run, recipe: Path, words: tuple[str, ...], says: str
) -> None:
    assert says in run("batch", recipe, *words).refusal()


def test_a_refusal_leaves_no_card(run: Run, recipe: Path, tmp_path: Path) -> None:
    before = set(tmp_path.iterdir())
    run("batch", recipe, *SIZE, "--plate-c", "300", "--card", tmp_path / "card.pdf").refusal()
    run("batch", recipe, "--size-mm", "900x900x90", "--card", tmp_path / "card.pdf").refusal()
    assert set(tmp_path.iterdir()) == before
    nowhere = tmp_path / "no such folder" / "card.pdf"
    run("batch", recipe, *SIZE, "--card", nowhere).refusal()
