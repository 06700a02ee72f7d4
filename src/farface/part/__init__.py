"""From a drawing to passes that reach a depth."""
