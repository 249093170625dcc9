"""Help texts, their examples, and the errors for words that are not a command."""

import argparse
import re
import shlex
from pathlib import Path

import pytest

from blendlab import cli

from .running import Run, process

ROOT = Path(__file__).resolve().parents[2]
COMMANDS = ("blend", "target", "ladder", "sheet", "match", "like", "batch", "app")


def examples(text: str) -> list[list[str]]:
    """Commands shown in a help's last part, each as its words after the program's name."""
    lines = re.findall(r"^  blendlab (.*)$", text.replace("\\\n", ""), re.MULTILINE)
    return [shlex.split(line) for line in lines]


def test_the_help_names_every_command_the_units_and_the_exit_status(run: Run) -> None:
    text = "\n".join(run("--help").words())
    for words in (*COMMANDS, "mm", "masses in g", "°C", "exit status is 0", "130", "141", "COMMAND --help"):
        assert words in text
    assert examples(text)


@pytest.mark.parametrize("command", COMMANDS)
def test_each_help_says_what_it_prints_and_gives_examples_that_parse(run: Run, command: str) -> None:
    text = "\n".join(run(command, "--help").words())
    assert "Prints " in text or "Writes " in text
    shown = examples(text)
    assert shown
    for words in shown:
        assert words[0] == command
        assert isinstance(cli._arguments(words), argparse.Namespace)
        assert [name for name in words if name.startswith("swatches/") and not (ROOT / name).is_file()] == []


@pytest.mark.parametrize("command", COMMANDS)
def test_every_option_is_explained(run: Run, command: str) -> None:
    text = "\n".join(run(command, "--help").words())
    options = cli._arguments(examples(text)[0]).of._actions
    assert len(options) > 1
    assert [option.dest for option in options if not option.help] == []


@pytest.mark.parametrize("command", ["like", "match"])
def test_long_searches_say_how_long_they_take(run: Run, command: str) -> None:
    assert "takes half a minute to two minutes, by machine" in " ".join(run(command, "--help").out.split())


def test_like_says_how_it_takes_colours_and_where_a_photo_of_a_sheet_belongs(run: Run) -> None:
    text = " ".join(run("like", "--help").out.split())
    assert "Colours are taken as the picture shows them" in text
    assert "a photo of a pressed sheet belongs to `match`" in text


@pytest.mark.parametrize("command", ["blend", "target"])
def test_an_example_of_the_help_does_what_it_says(
    run: Run, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    monkeypatch.chdir(ROOT)
    text = "\n".join(run(command, "--help").words())
    for words in examples(text):
        assert "#" in run(*words).words()[0]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("bake", "invalid choice: 'bake' (choose from "),
        ("blend", "the following arguments are required: RECIPE; see blendlab blend --help"),
        ("blend R --zap", "unrecognized arguments: --zap; see blendlab blend --help"),
        ("--zap", "a command must be given"),
    ],
)
def test_an_unknown_command_is_refused_with_a_pointer_to_the_help(run: Run, words: str, says: str) -> None:
    assert says in run(*words.split()).refusal()


def test_help_can_be_read_on_any_console() -> None:
    ran = process("batch", "--help", env={"PYTHONIOENCODING": "ascii", "PYTHONPATH": str(ROOT)})
    assert (ran.status, ran.err) == (0, "")
    assert r"temperature in \xb0C" in ran.out
