"""The pages, by the names of their files, which are their addresses too."""

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
