"""The owner's figures: what a company's kept jobs say together, counted from result and acceptance documents alone."""
