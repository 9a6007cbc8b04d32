"""Balls into bags, bags into cases, cases onto pallets."""
