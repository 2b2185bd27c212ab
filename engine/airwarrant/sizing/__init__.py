"""Sizes of lines: from policy and from physics, both kept."""
