"""Who marks whom, when: what a plan is asked for in, the plan out, or what stands in the way."""
