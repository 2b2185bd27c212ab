"""Judging checks and firing rules: the engine, its reference evaluator and the trace."""
