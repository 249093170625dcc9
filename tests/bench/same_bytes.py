"""Whether a change left every picture, answer and card as it was, byte for byte.

    python -m tests.bench.same_bytes record FILE     before the change
    python -m tests.bench.same_bytes compare FILE    after it: names what differs

Every command runs in this process through `blendlab.cli.main`, the program's own contract, so a digest taken
from one arrangement of the code holds for another. `--quick` takes one recipe and a few fold counts.
"""

import argparse
import contextlib
import hashlib
import io
import json
import re
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from pypdf import PdfReader

from blendlab.cli import main

SWATCHES = Path(__file__).resolve().parents[2] / "swatches"
RECIPES = ("harbour", "bollard", "oat-field", "wet-cobbles")
FACES = ("top", "bottom", "front", "right", "back", "left", "planed", "sawn", "block", "turned", "unrolled")
MOVES = ("half", "edges-in", "thirds", "corners-in", "cut-and-stack", "roll", "twist:90")
PX_PER_MM = "0.4"


def cases(quick: bool) -> Iterator[tuple[str, ...]]:
    """Command lines; OUT stands for a file of the case, MOVE=… for the harbour tile worked so."""
    recipes = RECIPES[:1] if quick else RECIPES
    for name in recipes:
        recipe = str(SWATCHES / f"{name}.toml")
        yield "blend", recipe, "--json"
        yield "batch", recipe, "--size-mm", "150x150x5", "--json"
        yield "batch", recipe, "--size-mm", "150x150x5", "--card", "OUT.pdf", "--date", "2026-03-14"
        for folds in (0, 4) if quick else range(11):
            sheet = ("sheet", recipe, "--folds", str(folds), "--px-per-mm", PX_PER_MM, "--out", "OUT.png")
            yield (*sheet, "--json")
    harbour = str(SWATCHES / "harbour.toml")
    for face in FACES:
        yield (
            "sheet",
            harbour,
            "--folds",
            "3",
            "--px-per-mm",
            PX_PER_MM,
            "--face",
            face,
            "--out",
            "OUT.png",
            "--json",
        )
    for move in MOVES:
        for folds in ("2",) if quick else ("1", "3", "6"):
            yield (
                "sheet",
                f"MOVE={move}",
                "--folds",
                folds,
                "--px-per-mm",
                PX_PER_MM,
                "--out",
                "OUT.png",
                "--json",
            )
    flakes = str(SWATCHES / "flakes.csv")
    for mean in ("full", "area"):
        yield "target", "#7a8f5a", "--flakes", flakes, "--mean", mean, "--json"
    yield "ladder", harbour, "--folds", "0-4", "--tries", "1", "--out", "OUT.png", "--json"
    if not quick:
        for name in RECIPES:
            yield "ladder", str(SWATCHES / f"{name}.toml"), "--json"
        only = "milk-cap white,harbour blue,marigold,coal"
        photo = str(SWATCHES / "past-sheet.jpg")
        yield "match", photo, "--flakes", flakes, "--size-mm", "200x200", "--only", only, "--json"


def digest(case: tuple[str, ...]) -> str:
    """Digest of all that a command prints and writes; of a card its text, as a PDF carries its own dates."""
    with tempfile.TemporaryDirectory() as folder:
        argv = [str(Path(folder) / part) if part.startswith("OUT.") else part for part in case]
        for place, part in enumerate(argv):
            if part.startswith("MOVE="):
                text = (SWATCHES / "harbour.toml").read_text("utf-8")
                text = re.sub(r"(?m)^move = .*\n", "", text)
                argv[place] = str(Path(folder) / "moved.toml")
                moved = text.replace("[folding]", f'[folding]\nmove = "{part.removeprefix("MOVE=")}"')
                Path(argv[place]).write_text(moved, "utf-8")
        printed = io.StringIO()
        with contextlib.redirect_stdout(printed):
            status = main(argv)
        found = hashlib.sha256(f"{status} {printed.getvalue().replace(folder, '')}".encode())
        for path in sorted(Path(folder).glob("OUT.*")):
            if path.suffix == ".pdf":
                found.update("".join(page.extract_text() for page in PdfReader(path).pages).encode())
            else:
                found.update(path.read_bytes())
    return found.hexdigest()[:20]


def run() -> int:
    """Record digests, or compare with those recorded; the exit status is how many differ, 99 at most."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("action", choices=("record", "compare"))
    parser.add_argument("file", type=Path)
    parser.add_argument("--quick", action="store_true")
    args = parser.parse_args()
    found = {}
    for case in cases(args.quick):
        name = " ".join(part.replace(f"{SWATCHES}/", "") for part in case)
        found[name] = digest(case)
    if args.action == "record":
        args.file.write_text(json.dumps(found, indent=1), "utf-8")
        print(f"{len(found)} digests recorded")
        return 0
    before = json.loads(args.file.read_text("utf-8"))
    differ = [name for name in found if found[name] != before.get(name)]
    for name in differ:
        print(f"differs: {name}")
    print(f"{len(found) - len(differ)} of {len(found)} the same")
    return min(len(differ), 99)


if __name__ == "__main__":
    sys.exit(run())
