"""One cell at a time: what a grower wrote, and what it means."""
