"""Vapour cavities: superheat, size and life."""
