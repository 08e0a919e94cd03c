"""Rule tables: rows in sentences, and the interpreter that runs them."""
