"""What a person can do with a course: one class or function per act, no printing, no widgets."""
