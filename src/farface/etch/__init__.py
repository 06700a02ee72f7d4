"""The etching model: from a setting to what the far face does."""
