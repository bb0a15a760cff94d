"""Pages, charts and reports on the published history. Reads it, never writes it."""
