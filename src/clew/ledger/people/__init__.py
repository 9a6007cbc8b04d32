"""Who may do what: people, their passwords and sessions, machines and their tokens."""
