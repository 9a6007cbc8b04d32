"""Bands and labels at true size: their symbols, their sheets."""
