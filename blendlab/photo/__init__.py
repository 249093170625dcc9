"""From a photo of a past sheet back to its recipe."""
