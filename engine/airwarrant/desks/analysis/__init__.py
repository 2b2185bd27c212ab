"""What `policy check` finds beyond the shape of the files: rules that never fire, values nobody reads, gaps, look-alikes."""
