"""The season plan on paper: what is proposed, what does not fit, and the room of every cooler day by day."""
