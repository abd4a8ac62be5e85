"""The pack sheet: what leaves for a departure, read in the hand on the way through the coolers."""
