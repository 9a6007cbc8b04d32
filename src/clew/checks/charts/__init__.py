"""Control charts: limits, signals, run rules and how long a chart runs before it calls."""
