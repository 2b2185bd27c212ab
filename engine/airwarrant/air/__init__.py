"""Physics of home air systems: pure functions, SI in and out, no units at the edge, nothing read or written."""
