"""Storage life and dates: pure calculation on the standard library."""
