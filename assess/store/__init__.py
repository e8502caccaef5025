"""Files: ledgers that only grow, YAML that people edit, courses on disk."""
