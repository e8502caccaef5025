"""From scores to outcomes: folding ledgers into sheets, values, two markers, bands, outcomes, reach, flips."""
