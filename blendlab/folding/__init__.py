"""Folding and pressing as exact point maps, and the charge they move."""
