"""Kept mixes: kept, renamed, removed, and what cannot be read named."""

import sqlite3
from contextlib import closing
from dataclasses import replace

import pytest

from blendlab.checks import InputError
from blendlab.logbook import database, mixes


@pytest.fixture
def mix(sheet):
    return replace(sheet.recipe, name="winter tiles")


def names(home):
    return [kept.name for kept in mixes.every(home)[0]]


def test_a_mix_is_kept_whole(tmp_path, mix):
    assert mixes.every(tmp_path) == ((), ())
    mixes.keep(tmp_path, mix)
    assert mixes.every(tmp_path) == ((mix,), ())


def test_a_name_is_given_once_unless_the_maker_replaces(tmp_path, mix):
    mixes.keep(tmp_path, mix)
    other = mix.with_folding(folds=1)
    with pytest.raises(InputError, match="a kept mix needs a name of its own, got 'winter tiles'"):
        mixes.keep(tmp_path, other)
    assert mixes.every(tmp_path)[0] == (mix,)
    mixes.keep(tmp_path, other, over=True)
    assert mixes.every(tmp_path)[0] == (other,)


def test_a_mix_is_renamed_and_removed(tmp_path, mix):
    mixes.keep(tmp_path, mix)
    mixes.keep(tmp_path, replace(mix, name="summer tiles"))
    mixes.rename(tmp_path, "winter tiles", " snow ")
    mixes.rename(tmp_path, "snow", "snow")
    assert names(tmp_path) == ["snow", "summer tiles"]
    for new, rule in (("summer tiles", "a name of its own"), ("", "must not be empty")):
        with pytest.raises(InputError, match=rule):
            mixes.rename(tmp_path, "snow", new)
    with pytest.raises(InputError, match="the mix must be kept, got 'gone'"):
        mixes.rename(tmp_path, "gone", "here")
    mixes.remove(tmp_path, "snow")
    assert names(tmp_path) == ["summer tiles"]


def test_a_mix_of_a_newer_version_is_named_and_left_alone(tmp_path, mix):
    mixes.keep(tmp_path, mix)
    with closing(sqlite3.connect(tmp_path / database.FILE)) as connection, connection:
        connection.execute("INSERT INTO mixes VALUES ('later', 'glitter = 1')")
    found, rest = mixes.every(tmp_path)
    assert found == (mix,)
    assert [unread.what for unread in rest] == ["mix 'later'"]
