"""Plan, predict and learn the etching of the far face of glass with a pulsed laser and an absorbing bath."""

__version__ = "0.1.0"
