"""The readings of a teaching session, each on its own: found, treated, safe, changed."""
