"""Pictures drawn from records, and the pages that carry them."""
