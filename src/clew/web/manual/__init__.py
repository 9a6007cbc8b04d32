"""The manual, read and searched offline."""
