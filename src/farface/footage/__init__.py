"""What a high-speed film shows."""
