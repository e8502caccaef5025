"""Documents that leave the tool: one family of pages, made from records and results, the same bytes each time."""
