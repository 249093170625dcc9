"""One file a page of the app."""
