"""Glasses, liquids and absorbers, with their sources."""
