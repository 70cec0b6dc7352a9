"""Show me: gears, trains, brackets, threads and charts, our own SVG, each with its description and its table."""
