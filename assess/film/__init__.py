"""Films and tracks of a lesson or a run: what was recorded, read safely and said with its limits."""
