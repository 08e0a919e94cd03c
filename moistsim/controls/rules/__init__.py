"""Rule tables: rows in sentences, and what runs them."""
