"""From a photo of a past sheet back to its recipe, and from any picture to sheets like it."""
