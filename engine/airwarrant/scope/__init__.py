"""From votes to a scope: one state a line, in order, with what was left out and why."""
