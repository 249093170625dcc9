"""What goes into the press and how it is folded and pressed."""
