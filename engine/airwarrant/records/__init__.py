"""The archive of a company's jobs: nothing lost, nothing changed unseen, everything derivable again."""
