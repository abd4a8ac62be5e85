"""What buyers want: the sheet Orders, from its cells to written orders."""
