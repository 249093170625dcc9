"""The surfaces that `sheet` draws."""

import pytest

from blendlab.cli.surface_options import profile
from blendlab.look.faces import FACES


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--face", "sawn", "--at-mm", "900,0", "--angle-deg", "90"], "must pass through the slab"),
        (["--face", "sawn", "--at-mm", "here"], "--at-mm must be 2 numbers"),
        (["--face", "planed", "--depth-mm", "60"], "depth_mm planed off must be a number from 0 to"),
        (["--face", "turned", "--profile", "egg:20"], "the shape of --profile must be one of those known"),
        (["--face", "turned", "--profile", "ball:200"], "a turned blank must fit in the slab"),
        (["--face", "turned", "--profile", "0,2;10,-3"], "radius of a profile must be a number from 0"),
    ],
)
def test_an_impossible_surface_is_refused(run, strip, options, says):
    ran = run("sheet", strip, "--folds", "2", "--out", strip.with_name("x.png"), *options)
    assert ran.status == 2
    assert ran.out == ""
    assert says in ran.err
    assert ran.err.count("\n") == 1
    assert not strip.with_name("x.png").exists()


@pytest.mark.parametrize("face", FACES)
def test_every_face_gives_a_picture_and_its_shares(run, strip, face):
    out = strip.with_name("x.png")
    words = ("--folds", "1", "--face", face, "--px-per-mm", "1", "--samples", "1", "--out", out, "--json")
    found = run("sheet", strip, *words).only_object()
    assert out.exists()
    assert sum(found["percent"].values()) == pytest.approx(100, abs=0.1)


@pytest.mark.parametrize(("earlier", "present"), [("sphere:25", "ball:25"), ("cylinder:40,4", "rod:40,4")])
def test_earlier_names_of_shapes_are_accepted_with_a_note(capsys, earlier, present):
    assert profile(earlier) == profile(present)
    said = capsys.readouterr().err
    name = present.partition(":")[0]
    assert (
        said
        == f"blendlab: the shape {earlier.partition(':')[0]} is now called {name}; write --profile {name}:…\n"
    )


def test_a_profile_is_a_shape_or_a_list_of_points():
    assert profile("spindle:40,4").length_mm == 40
    assert profile("0,1;8,2").radius_mm == 2
