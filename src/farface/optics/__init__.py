"""Light from the lens to the far face and into the bath."""
