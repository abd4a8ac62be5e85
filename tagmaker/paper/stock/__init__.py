"""Label sheets, rolls and cards as geometry, and how they lie in a printer."""
