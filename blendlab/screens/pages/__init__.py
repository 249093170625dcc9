"""The pages, by the names of their files, which are their addresses too."""

from pathlib import Path

SHOWN = {
    "make": "Make",
    "shed": "My flakes",
    "log": "Log",
    "more": "More",
}  # in the navigation
REACHED = {  # from these
    "wanted": "From a colour",
    "photo": "From a photo",
    "like": "From a picture",
    "blanks": "Blanks",
    "compare": "Compare",
    "sources": "Sources",
}
TITLES = {**SHOWN, **REACHED}
FIRST = "make"
MOVED = ("flakes", "folds", "batch")  # addresses of what stands on the first page by now


def file_of(name: str) -> str:
    """Return the file of a page: links by it hold wherever the app's script is."""
    return str(Path(__file__).with_name(f"{name}.py"))
