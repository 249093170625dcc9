from pathlib import Path

from blendlab.workshop.cautions import cautions
from blendlab.workshop.properties import hdpe, heat


def text_of(key):
    (found,) = [caution.text for caution in cautions() if caution.key == key]
    return found


def test_local_rules_come_first():
    assert cautions()[0].key == "rules"
    assert "Local codes" in cautions()[0].text


def test_every_hazard_has_a_caution():
    wanted = {
        "plastic": ("PVC", "unknown"),
        "float": ("PP", "fillers"),
        "burns": ("gloves", "sleeves", "eye protection", "plenty of", "do not peel", "medical help"),
        "fumes": ("ventilation", f"{hdpe()['breakdown_c']['value']:g} °C"),
        "liners": tuple(f"{liner['limit_c']:g} °C" for liner in heat()["liner"].values()),
        "crush": ("Clamps store energy", "spring", "A jack can burst a plate"),
        "power": ("maker's instructions",),
        "dust": ("mask",),
        "use": ("not food-safe", "not load-rated"),
    }
    for key, words in wanted.items():
        assert [word for word in words if word not in text_of(key)] == [], key


def test_cautions_fit_a_card_and_name_each_thing_once():
    keys = [caution.key for caution in cautions()]
    assert len(set(keys)) == len(keys)
    assert max(len(caution.text) for caution in cautions()) <= 200
    assert not any("{" in caution.text for caution in cautions())
    assert not any("\n" in caution.text for caution in cautions())


def test_the_readme_prints_them_all():
    printed = "".join(f"- **{caution.title}.** {caution.text}\n" for caution in cautions())
    assert printed in (Path(__file__).parents[2] / "README.md").read_text("utf-8")
