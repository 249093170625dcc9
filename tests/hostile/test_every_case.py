"""Reading any file ends in an answer or in one sentence; tests/bench runs more cases."""

import pytest

from .kinds import KINDS, Kind, tried

CASES = 250


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_every_hostile_file_ends_in_an_answer_or_one_sentence(kind: Kind) -> None:
    said = []
    for number in range(CASES):
        try:
            said.append(tried(kind, kind.case(number)).said)
        except Exception as error:
            pytest.fail(f"{kind.name}, number {number}: {error!r:.500}")
    # Both ends are met, and the refusals are no single one: the cases reach past the first check.
    assert said.count(None) >= CASES / 10
    assert len({sentence.partition(", got ")[0] for sentence in said if sentence}) >= 5


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_a_case_is_the_same_every_time(kind: Kind) -> None:
    assert kind.case(7) == kind.case(7)
