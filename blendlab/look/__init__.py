"""From a folded slab to what an eye sees of it."""
