"""The readings of a teaching session, each on its own: what was found, how it was treated, how safe it was, what changed."""
