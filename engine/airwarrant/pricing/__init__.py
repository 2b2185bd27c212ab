"""Prices: what each line and each offer costs under the policy's book. No rule, check or prediction is read, and none reads a price."""
