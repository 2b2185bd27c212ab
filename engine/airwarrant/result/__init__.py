"""The result file: written once from a run, read by everything that explains or prints it."""
