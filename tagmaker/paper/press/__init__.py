"""Drawing and setting type: knows no lot."""
