"""The house as an air path: what a scope would do to its readings."""
