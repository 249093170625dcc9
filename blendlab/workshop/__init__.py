"""Weighing, pressing, cooling and remembering: the hot work planned, printed and logged."""
