"""Past jobs under two policies: which jobs a change can touch at all, and what becomes of those."""
