"""How alike assessors mark, and whether the result would repeat: arrays in, frozen results out."""
