"""The workbench: pages and JSON that arrange what the rooms work out."""
