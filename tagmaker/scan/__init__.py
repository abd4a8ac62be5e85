"""Pages for the phone: what a scanned code leads to."""
