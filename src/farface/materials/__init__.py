"""Glasses, liquids and absorbers, with their sources."""

from farface.materials.absorber import Absorber
from farface.materials.reader import absorber, absorber_names, glass, glass_names, liquid, liquid_names
from farface.materials.substance import Glass, Liquid

__all__ = [
    "Absorber",
    "Glass",
    "Liquid",
    "absorber",
    "absorber_names",
    "glass",
    "glass_names",
    "liquid",
    "liquid_names",
]
