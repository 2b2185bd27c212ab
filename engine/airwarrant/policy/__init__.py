"""Policy files: reading, composing, checking, showing."""
