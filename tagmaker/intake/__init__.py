"""Files in: the lot sheet, the settings and a starter folder."""
