"""Infrastructure: compiled loops, scheduling of cores, progress, record tables."""
