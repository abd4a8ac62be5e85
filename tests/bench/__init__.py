"""How fast the papers are made, against a floor and a naive way: `python -m tests.bench`."""
