"""The local server's settings: closed to the outside, readable in both themes."""

import tomllib
from itertools import product
from pathlib import Path
from typing import Any

import pytest

CONFIG = tomllib.loads((Path(__file__).parents[1] / ".streamlit/config.toml").read_text("utf-8"))


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2 (W3C 2023), its threshold as corrected in 2021."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_runs_from_1_to_21() -> None:
    assert contrast("#ffffff", "#000000") == pytest.approx(21)  # the ends WCAG 2.2 states
    assert contrast("#8a4b16", "#8a4b16") == 1


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_text_reads_on_both_backgrounds(theme: str) -> None:
    """At least 4.5 : 1 for text and 3 : 1 for the outline of a field (WCAG 2.2, 1.4.3 and 1.4.11)."""
    colours: dict[str, Any] = CONFIG["theme"][theme]
    grounds = colours["backgroundColor"], colours["secondaryBackgroundColor"]
    for text, ground in product((colours["textColor"], colours["linkColor"]), grounds):
        assert contrast(text, ground) >= 4.5
    for kind in ("red", "yellow", "green", "blue"):  # boxes of error, warning, success and remark
        assert contrast(colours[f"{kind}TextColor"], colours[f"{kind}BackgroundColor"]) >= 4.5
    assert contrast("#ffffff", colours["primaryColor"]) >= 4.5  # a button's label
    assert contrast(colours["primaryColor"], colours["backgroundColor"]) >= 3
    assert contrast(colours["borderColor"], colours["backgroundColor"]) >= 3


def test_the_server_is_the_maker_s_own() -> None:
    server = CONFIG["server"]
    assert server["address"] == "127.0.0.1"
    assert set(server["allowedHosts"]) == {"localhost", "127.0.0.1"}
    assert server["enableCORS"] is True
    assert server["enableXsrfProtection"] is True
    assert server["maxUploadSize"] == 25
    assert CONFIG["browser"]["gatherUsageStats"] is False
    assert CONFIG["client"]["showErrorDetails"] == "none"
