"""Many hostile files of every kind, read one after the other; run by hand:

    nice -n 5 python -m tests.bench.hostile [cases of each kind] [kind ...]

Each must end in an answer or in a refusal of one sentence. What does not is printed by its number, with
which `KINDS` makes the same file again. A case that takes longer than `STUCK_S` ends the run, with where it
stood; one that takes longer than `SLOW_S` is counted.
"""

import faulthandler
import resource
import sys
import time
import traceback
import warnings

from tests.hostile.kinds import KINDS, Kind, tried

SLOW_S, STUCK_S = 2.0, 60.0
MAX_TOLD = 5  # faults of one kind that are printed whole


def run(kind: Kind, cases: int) -> int:
    """Try a kind; print its line of the table, and return how many cases were faults."""
    answered, faults, slowest, slow = 0, [], (0.0, 0), 0
    start = time.perf_counter()
    for number in range(cases):
        content = kind.case(number)
        faulthandler.dump_traceback_later(STUCK_S, exit=True)
        try:
            ended = tried(kind, content)
        except Exception:
            faults.append((number, traceback.format_exc()))
            continue
        finally:
            faulthandler.cancel_dump_traceback_later()
        answered += ended.said is None
        slow += ended.seconds > SLOW_S
        slowest = max(slowest, (ended.seconds, number))
    spent, refused = time.perf_counter() - start, cases - answered - len(faults)
    print(
        f"{kind.name:12}{cases:8}{answered:10}{refused:10}{len(faults):8}{slow:6}{spent:9.1f}"
        f"   {slowest[0]:.2f} s, number {slowest[1]}",
        flush=True,
    )
    for number, said in faults[:MAX_TOLD]:
        print(f"--- number {number}\n{said[:600]}\n … \n{said[-900:]}")
    if faults:
        print("all faults:", *(number for number, _ in faults))
    return len(faults)


def main(cases: int = 10_000, *wanted: str) -> int:
    """Try every kind; return the exit status."""
    warnings.simplefilter("error")
    print("kind           cases  answered   refused  faults  slow  seconds   slowest case")
    faults = sum(run(kind, cases) for kind in KINDS if not wanted or kind.name in wanted)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:.0f} MiB")
    return int(faults > 0)


if __name__ == "__main__":
    sys.exit(main(int((sys.argv[1:] or [10_000])[0]), *sys.argv[2:]))
