"""Colour: spectra, Kubelka-Munk blending, CIELAB."""
