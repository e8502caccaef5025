"""What is written down: frozen models, kinds of facts, ids, times and errors."""
