"""The job record: its words, its shape, its readings."""
