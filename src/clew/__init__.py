"""Clew: the workbench of the person who runs a put-up line in a craft-yarn mill."""

__version__ = "0.1.0"
