"""The service: what is due, made once, handed over once, and accounted for."""
