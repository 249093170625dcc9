"""What the rest runs on: compiled loops, turns on the cores, progress, record tables."""
